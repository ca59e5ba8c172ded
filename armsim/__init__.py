"""armsim: will this motor raise this arm, how fast, with what current, and how sure is that."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from armsim.api import (
        Comparison,
        Result,
        Scenario,
        ScenarioError,
        SolverError,
        Study,
        WriteError,
        changed,
        compare,
        limits,
        load,
        loads,
        run,
        size,
        spread,
        sweep,
    )

__version__ = "0.1.0"

#: what people use from Python; api/ has it, and is imported when the first of it is asked for
__all__ = [
    "Comparison",
    "Result",
    "Scenario",
    "ScenarioError",
    "SolverError",
    "Study",
    "WriteError",
    "changed",
    "compare",
    "limits",
    "load",
    "loads",
    "run",
    "size",
    "spread",
    "sweep",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'armsim' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module("armsim.api"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
