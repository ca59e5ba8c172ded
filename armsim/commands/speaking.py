"""What commands say: results on stdout, talk on stderr."""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from armsim.commands.status import Status

if TYPE_CHECKING:
    from armsim.checks.assessment import Assessment
    from armsim.scenario import Scenario


class OutputError(Exception):
    """Stdout or stderr takes no more."""

    exit_status = Status.CANNOT_WRITE


def loaded(file: Path, warn: bool) -> "Scenario":
    """A scenario; its warnings are told where no summary will."""
    from armsim.scenario import load

    scenario = load(file)
    for warning in scenario.warnings if warn else ():
        say(f"warning: {warning.key}: {warning.text}", sys.stderr)
    return scenario


@contextmanager
def progress(text: str, quiet: bool) -> Iterator[Callable[[str], object]]:
    """A moving sign on stderr while someone watches; what is given back changes its text."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield str
        return
    from rich.console import Console

    with Console(stderr=True, markup=False, emoji=False, highlight=False).status(text) as status:
        yield status.update


def show(text: str) -> None:
    """A summary on stdout, in colour where somebody looks."""
    from armsim.report.terminal import dressed

    if sys.stdout is not None:
        say(dressed(text, sys.stdout), sys.stdout)


def show_json(record: dict[str, Any]) -> None:
    """A result on stdout for programs."""
    say(json.dumps(record, indent=2, allow_nan=False), sys.stdout)


def show_result(scenario: "Scenario", assessment: "Assessment") -> None:
    from armsim.report.contract import as_json

    show_json(as_json(scenario, assessment))


def say_where(output: Path | None, report: str, as_json: bool, quiet: bool) -> None:
    """Where the report is, or how to get one."""
    if output is not None:
        if not quiet:
            say(f"Report: {output / report}", sys.stderr if as_json else sys.stdout)
    elif not (as_json or quiet):
        say("No report written; add --output DIR for one with figures.", sys.stderr)


def say(text: str, stream: TextIO | None) -> None:
    """Print text; a reader that has left is no fault, a full disk is."""
    if stream is None:
        return
    try:
        stream.write(text.rstrip("\n") + "\n")
        stream.flush()
    except BrokenPipeError:
        _silence(stream)
    except OSError as fault:
        _silence(stream)
        raise OutputError(f"cannot write to standard output: {fault.strerror}") from fault


def _silence(stream: TextIO) -> None:
    """Send what is left in the buffer nowhere, so that the interpreter does not complain as it ends."""
    with suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
