"""What processes are given to do in tests."""

import os
import signal
import time
from pathlib import Path

from armsim.studies.proposal import Entrant, Failure, Keep, Proposal, judged


def squared(x: int) -> int:
    return x * x


def squared_or_killed(x: int) -> int:
    if x == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return x * x


def killed_once(mark: Path) -> str:
    """Killed the first time that it is asked."""
    if not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return mark.name


def surrounding(name: str) -> str | None:
    return os.environ.get(name)


def slept(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def judged_or_killed(entrant: Entrant, keep: Keep | None = None) -> Proposal | Failure:
    """Killed at a scenario whose name says so."""
    if "killed" in entrant.label:
        os.kill(os.getpid(), signal.SIGKILL)
    return judged(entrant, keep)
