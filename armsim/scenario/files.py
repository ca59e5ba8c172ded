"""Scenario files as a person names them: a file, a folder, or a pattern that no shell has spelled out."""

import os
from collections.abc import Sequence
from glob import glob, has_magic
from pathlib import Path

ENDINGS = (".yaml", ".yml")


class NoFiles(FileNotFoundError):
    """What was named holds no scenarios."""

    exit_status = 2


def scenario_files(names: Sequence[str | Path]) -> list[Path]:
    """The files in the order given, each once; those of a folder and of a pattern by name. Raises NoFiles.

    A file that does not exist is given back as it is: reading it tells what is wrong.
    """
    found: dict[str, Path] = {}
    for name in names:
        for path in _files(str(name)):
            found.setdefault(os.path.realpath(path), path)
    return list(found.values())


def _files(name: str) -> list[Path]:
    path = Path(name)
    if path.is_dir():
        inside = sorted(p for p in path.iterdir() if p.suffix in ENDINGS and not p.name.startswith(".") and p.is_file())
        if not inside:
            raise NoFiles(f"{name} has no scenario in it (a file that ends in .yaml or .yml)")
        return inside
    if has_magic(name) and not path.exists():
        matching = sorted(p for p in map(Path, glob(name)) if p.is_file())
        if not matching:
            raise NoFiles(f"no file is named like {name}")
        return matching
    return [path]
