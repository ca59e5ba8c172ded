"""armsim new."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from armsim.commands.options import Overwrite
from armsim.commands.speaking import say


def new(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="File to write.")], overwrite: Overwrite = False
) -> None:
    """Write a scenario to start from; it runs as it is."""
    from armsim.report.files import write_new
    from armsim.scenario import starter

    write_new(path, starter(), overwrite)
    say(str(path), sys.stdout)
    say(f"Edit it, then: armsim run {path}", sys.stderr)
