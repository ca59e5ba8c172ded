"""What is said when a command fails."""

import errno
import sys
from pathlib import Path
from typing import Any

from armsim import __version__
from armsim.commands.speaking import say, show_json
from armsim.commands.status import Status


def tell(failure: Exception, *, as_json: bool, debug: bool) -> int:
    """Say what went wrong, on stderr and with --json as one object on stdout, and give the exit status."""
    usage = hasattr(failure, "format_message")  # typer's own complaint about the command line
    status = Status.WRONG_INPUT if usage else getattr(failure, "exit_status", Status.OUR_FAULT)
    if isinstance(failure, OSError) and failure.errno == errno.ENOSPC:
        status = Status.CANNOT_WRITE
    text = failure.format_message() if usage else str(failure)  # type: ignore[attr-defined]
    if status == Status.OUR_FAULT:
        text = f"a fault of armsim itself: {type(failure).__name__}: {text}"
    if usage:
        failure.show(file=sys.stderr)  # type: ignore[attr-defined]
    else:
        say(text if status == Status.WRONG_INPUT else f"armsim: {text}", sys.stderr)
    if status == Status.OUR_FAULT and not debug:
        say("Please report it with the scenario; add --debug for the traceback.", sys.stderr)
    if as_json:
        problems = [_problem(problem) for problem in getattr(failure, "problems", ())]
        error = {"status": int(status), "text": text, "problems": problems}
        show_json({"armsim": __version__, "error": error})
    return int(status)


def _problem(problem: Any) -> dict[str, Any]:
    fields = ("file", "line", "column", "code", "key", "text", "hint")
    row = {name: getattr(problem, name, None) for name in fields}
    return {name: str(value) if isinstance(value, Path) else value for name, value in row.items()}
