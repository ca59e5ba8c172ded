"""One file of columns: written whole or not at all, and known when it is damaged."""

import errno
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO
from zipfile import ZipFile

import numpy as np

from armsim.studies.engine.plan import Columns

FORMS = ("npz", "parquet")


class DamagedFile(Exception):
    """A file of columns is short, torn or none of ours."""


class NoParquet(Exception):
    """Parquet is asked for, and what it takes is not installed."""

    exit_status = 2

    def __init__(self) -> None:
        super().__init__('Parquet files need pyarrow: python -m pip install "armsim[parquet]", or take --format npz')


def write_columns(path: Path, columns: Columns, form: str) -> None:
    """Write columns in the form; the file is there when all of it is on the disk. Raises OSError, NoParquet."""
    write = _write_parquet if form == "parquet" else _write_npz
    write_whole(path, lambda file: write(file, columns))


def write_whole(path: Path, write: Callable[[BinaryIO], object]) -> None:
    """Write a file beside its place and move it there once it is on the disk."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("wb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def read_columns(path: Path, names: Sequence[str] | None = None) -> Columns:
    """These columns, or all of them, of a file. Raises DamagedFile, and OSError where the disk does.

    Both forms carry check sums of what they hold, and each reader has many ways of saying that a file is none.
    """
    read = _read_parquet if path.suffix == ".parquet" else _read_npz
    with path.open("rb") as file:
        try:
            return read(file, names)
        except (MemoryError, NoParquet):
            raise
        except Exception as fault:
            if isinstance(fault, OSError) and fault.errno not in (None, errno.EINVAL):
                raise
            raise DamagedFile(f"{path}: {fault}") from fault


def _write_npz(file: BinaryIO, columns: Columns) -> None:
    np.savez(file, allow_pickle=False, **columns)


def _read_npz(file: BinaryIO, names: Sequence[str] | None) -> Columns:
    with ZipFile(file) as kept:
        members = kept.namelist() if names is None else [f"{name}.npy" for name in names]
        return {  # read whole before anything in it is believed: only then is the check sum compared
            member.removesuffix(".npy"): np.lib.format.read_array(BytesIO(kept.read(member)), allow_pickle=False)
            for member in members
        }


def _write_parquet(file: BinaryIO, columns: Columns) -> None:
    arrow, parquet = _arrow()
    parquet.write_table(arrow.table(columns), file, compression="zstd", write_page_checksum=True)


def _read_parquet(file: BinaryIO, names: Sequence[str] | None) -> Columns:
    _, parquet = _arrow()
    wanted = None if names is None else list(names)
    table = parquet.read_table(file, columns=wanted, page_checksum_verification=True, use_threads=False)
    return {name: table[name].to_numpy() for name in wanted or table.column_names}


def _arrow() -> tuple[Any, Any]:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError as fault:
        raise NoParquet from fault
    return pyarrow, pyarrow.parquet
