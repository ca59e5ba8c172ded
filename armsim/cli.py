"""The command line: which commands there are, and how each of them ends."""

import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from typing import Annotated

import typer

from armsim import __version__
from armsim.commands.check import check
from armsim.commands.choose import choose
from armsim.commands.compare import compare
from armsim.commands.failure import tell
from armsim.commands.new import new
from armsim.commands.parts import parts
from armsim.commands.run import run
from armsim.commands.schema import schema
from armsim.commands.size import size
from armsim.commands.speaking import say
from armsim.commands.spread import spread
from armsim.commands.status import EXIT_HELP, Status
from armsim.commands.sweep import sweep

COMMANDS = (  #: as the help lists them
    run,
    check,
    compare,
    size,
    sweep,
    spread,
    choose,
    new,
    schema,
    parts,
)

app = typer.Typer(
    name="armsim",
    help="Will this motor raise this arm, how fast, with what current, and does it stay up without power?",
    epilog=EXIT_HELP,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=True,
)
for command in COMMANDS:
    app.command()(command)


def _show_version(wanted: bool) -> None:
    if wanted:
        say(f"armsim {__version__}", sys.stdout)
        raise typer.Exit()


@app.callback(invoke_without_command=True)
def common(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Print the version and leave.")
    ] = False,
    debug: Annotated[bool, typer.Option("--debug", help="Show the traceback of a failure; works anywhere.")] = False,
) -> None:
    if context.invoked_subcommand is None:
        say(context.get_help(), sys.stdout)
        raise typer.Exit(Status.WRONG_INPUT)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and give back its exit status."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    debug = "--debug" in words
    for stream in (sys.stdout, sys.stderr):
        with suppress(AttributeError):  # a closed or replaced stream cannot be told
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status = app(args=[word for word in words if word != "--debug"], prog_name="armsim", standalone_mode=False)
    except KeyboardInterrupt:
        status = Status.INTERRUPTED
    except SystemExit:  # typer leaves like this only when the reader of its help has gone
        status = Status.DONE
    except Exception as failure:
        if debug:
            traceback.print_exc()
        status = tell(failure, as_json="--json" in words, debug=debug)
    return int(status or Status.DONE)
