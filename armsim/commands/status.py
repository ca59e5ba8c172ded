"""Exit statuses of every command."""

from enum import IntEnum
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from armsim.checks.assessment import Assessment


class Status(IntEnum):
    """How a command ended."""

    DONE = 0
    NOT_MET = 1
    WRONG_INPUT = 2
    NO_SOLUTION = 3
    CANNOT_WRITE = 4
    SOME_FAILED = 5
    OUR_FAULT = 70
    INTERRUPTED = 130


EXIT_HELP = """\b
Exit status:
    0  done
    1  --strict was given and the verdict is fail
    2  the scenario or the command line is wrong
    3  the solver gave up, or its result cannot be trusted
    4  a file cannot be written, or would be overwritten
    5  some of many failed
   70  a fault of armsim itself
  130  interrupted
"""


def leave(assessment: "Assessment", strict: bool) -> None:
    """End with a status of its own where the verdict is to be heard by a shell."""
    if strict and assessment.verdict == "fail":
        raise typer.Exit(Status.NOT_MET)
