"""A process of armsim: `armsim` and `python -m armsim` are the same."""

import signal
import sys


def start() -> int:
    """Run the command line, and be interrupted at any moment with nothing but the status of it."""
    try:
        from armsim.cli import main

        status = main()
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # what is done is done: leaving takes no more interruptions
    except KeyboardInterrupt:
        return 128 + signal.SIGINT  # as a shell tells it
    return status


if __name__ == "__main__":
    sys.exit(start())
