"""Arguments and options that several commands share."""

import os
from contextlib import suppress
from pathlib import Path
from typing import Annotated

import typer


def scenario_paths(incomplete: str) -> list[str]:
    """YAML files and folders that begin so, for a shell to offer; of a lone folder what is in it."""
    head, name = os.path.split(incomplete)
    begin = incomplete.removesuffix(name)
    files, folders = [], []
    with suppress(OSError):
        for path in sorted(Path(head or ".").iterdir()):
            if path.name.startswith(name) and (name or not path.name.startswith(".")):
                if path.is_dir():
                    folders.append(f"{begin}{path.name}/")
                elif path.suffix in (".yaml", ".yml"):
                    files.append(f"{begin}{path.name}")
    return scenario_paths(folders[0]) if len(folders) == 1 and not files else files + folders


ScenarioFile = Annotated[
    Path, typer.Argument(metavar="FILE", help="Scenario to read (YAML).", autocompletion=scenario_paths)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object, also on failure, and nothing else.")]
Strict = Annotated[bool, typer.Option("--strict", help="Exit with 1 when the verdict is fail.")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace what is there.")]


def need_output(output: Path | None, options: dict[str, bool]) -> None:
    for option in [name for name, given in options.items() if given and output is None]:
        raise typer.BadParameter("needs --output", param_hint=f"'{option}'")
