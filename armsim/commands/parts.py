"""armsim parts."""

import sys
from typing import Annotated

import typer

from armsim.commands.options import AsJson
from armsim.commands.speaking import say, show_json


def _kinds(incomplete: str) -> list[str]:
    from armsim.data.catalogue import KINDS

    return [kind for kind in KINDS if kind.startswith(incomplete)]


def parts(
    kind: Annotated[
        str | None,
        typer.Argument(metavar="[KIND]", help="Table to print; without it, which there are.", autocompletion=_kinds),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the generic parts and materials that armsim knows."""
    from armsim.data.catalogue import KINDS, table
    from armsim.report import catalogue as shown

    if kind is None:
        tables = [table(name) for name in KINDS]
        if as_json:
            show_json(shown.overview_json(tables))
        else:
            say(shown.overview(tables), sys.stdout)
        return
    asked = table(kind)
    if as_json:
        show_json(shown.table_json(asked))
    else:
        say(shown.text(asked), sys.stdout)
