"""Writing one new file: whole or not at all, and never over an older one unless told so."""

import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path


class WriteError(Exception):
    """Something cannot be written, or would replace something older."""

    exit_status = 4


def check_new(path: Path, overwrite: bool) -> None:
    """Raise WriteError where a file could not be written, before what is to be in it is computed."""
    if path.is_dir() or not path.parent.is_dir():
        why = "it is a folder" if path.is_dir() else f"there is no folder {path.parent}"
        raise WriteError(f"cannot write {path}: {why}; nothing was written.")
    if path.exists() and not overwrite:
        raise WriteError(f"{path} exists; nothing was written. Add --overwrite to replace it.")


def write_new(path: Path, text: str | Iterable[str], overwrite: bool) -> Path:
    """Write a text, or its pieces as they come, and give back its path. Raises WriteError."""
    check_new(path, overwrite)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("w", encoding="utf-8", newline="\n") as file:
            file.writelines([text] if isinstance(text, str) else text)
        beside.replace(path)
    except OSError as fault:
        raise WriteError(f"cannot write {path}: {fault.strerror or fault}") from fault
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
    return path
