"""armsim schema."""

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from armsim.commands.options import Overwrite, need_output
from armsim.commands.speaking import say


def schema(
    output: Annotated[
        Path | None, typer.Option("--output", metavar="FILE", help="Write it there in place of printing it.")
    ] = None,
    overwrite: Overwrite = False,
) -> None:
    """Print the JSON Schema of scenarios, for an editor to complete, explain and check them."""
    from armsim.scenario.json_schema import json_schema

    need_output(output, {"--overwrite": overwrite})
    text = json.dumps(json_schema(), indent=1) + "\n"
    if output is None:
        say(text, sys.stdout)
        return
    from armsim.report.files import write_new

    write_new(output, text, overwrite)
    say(str(output), sys.stdout)
    say(f"First line of a scenario: # yaml-language-server: $schema={output}", sys.stderr)
