"""Generic tables of parts and materials as YAML, none of them a maker's; catalogue.py lists them for people."""

from functools import cache
from importlib import resources
from typing import Any, cast


@cache
def read_table(name: str) -> dict[str, Any]:
    """A shipped table as its file has it."""
    import yaml

    text = resources.files(__name__).joinpath(name).read_text(encoding="utf-8")
    return cast(dict[str, Any], yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)))
