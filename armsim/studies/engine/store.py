"""A folder that keeps a study: its plan, and a file of columns for each chunk that is done."""

import errno
import json
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from armsim.studies.engine.files import DamagedFile, read_columns, write_columns, write_whole
from armsim.studies.engine.plan import Columns, Plan

PLAN = "plan.json"
LEFT_AFTER = 3600.0  #: a file that is so long in the writing was left by a process that is no more [s]


class StoreError(Exception):
    """Results cannot be kept where they are to be kept."""

    exit_status = 4


class Store:
    """The chunks of one plan in a folder.

    Made by `Store.opened`. What is in it is good for its plan and no other; a chunk that is there is whole.
    """

    def __init__(self, folder: Path, plan: Plan) -> None:
        self.folder = folder
        self.plan = plan
        self.finished: set[int] = set()  #: chunks that are kept
        self.damaged: list[int] = []  #: chunks found torn or short, to be calculated anew

    @classmethod
    def opened(cls, folder: Path, plan: Plan, *, overwrite: bool = False) -> "Store":
        """The store of this plan in a folder, which is made if it is not there.

        Every file is read whole, so that what a power cut tore is known and calculated anew. With `overwrite` the
        chunks of another plan are taken away. Raises StoreError where the folder holds anything else.
        """
        store = cls(folder, plan)
        with store._faults_told():
            folder.mkdir(parents=True, exist_ok=True)
            if overwrite and (folder / PLAN).exists() and plan.differences(written_plan(folder) or {}):
                store._clear()
            store._claim()
            for chunk in range(plan.chunks):
                store._look_at(chunk)
        return store

    def put(self, chunk: int, columns: Columns) -> None:
        """Keep the columns of a chunk. Raises StoreError; chunks kept before stay."""
        with self._faults_told():
            write_columns(self._path(chunk), columns, self.plan.form)
        self.finished.add(chunk)

    def chunks(self, names: Sequence[str] | None = None) -> Iterator[Columns]:
        """These columns (or all) of every chunk that is kept, in the order of rows; one chunk in memory at a time."""
        for chunk in sorted(self.finished):
            with self._faults_told():
                columns = read_columns(self._path(chunk), names)
            yield columns

    def numbered(self, names: Sequence[str] | None = None) -> Iterator[tuple[int, Columns]]:
        """The same, each with the number of its first row."""
        for chunk, columns in zip(sorted(self.finished), self.chunks(names), strict=True):
            yield self.plan.span(chunk)[0], columns

    def _path(self, chunk: int) -> Path:
        return self.folder / f"chunk-{chunk:06d}.{self.plan.form}"

    def _claim(self) -> None:
        """Make the folder this plan's, or find that it is."""
        there = written_plan(self.folder)
        if there is None:
            others = [path.name for path in sorted(self.folder.iterdir()) if not path.name.startswith(".")]
            if others and others != [PLAN]:
                raise StoreError(f"{self.folder} holds {others[0]} and no plan of a study; nothing was calculated.")
            text = json.dumps(self.plan.as_json(), indent=2) + "\n"
            write_whole(self.folder / PLAN, lambda file: file.write(text.encode()))
        elif different := self.plan.differences(there):
            lines = "".join(f"\n  {line}" for line in different)
            raise StoreError(
                f"{self.folder} keeps results of another study, and nothing was calculated:{lines}\n"
                "Give --output another name, or add --overwrite to begin anew."
            )
        for left in self.folder.glob(".chunk-*"):
            if time.time() - left.stat().st_mtime > LEFT_AFTER:
                left.unlink(missing_ok=True)

    def _look_at(self, chunk: int) -> None:
        path = self._path(chunk)
        if not path.exists():
            return
        start, stop = self.plan.span(chunk)
        try:
            whole = all(len(column) == stop - start for column in read_columns(path).values())
        except DamagedFile:
            whole = False
        if whole:
            self.finished.add(chunk)
        else:
            self.damaged.append(chunk)

    def _clear(self) -> None:
        for path in (self.folder / PLAN, *self.folder.glob("chunk-*"), *self.folder.glob(".chunk-*")):
            path.unlink(missing_ok=True)

    @contextmanager
    def _faults_told(self) -> Iterator[None]:
        """What goes wrong with the disk, in a line."""
        try:
            yield
        except DamagedFile as fault:
            raise StoreError(f"a file changed after it was written: {fault}; run the same command again.") from fault
        except OSError as fault:
            what = "the disk is full" if fault.errno in (errno.ENOSPC, errno.EDQUOT) else fault.strerror or str(fault)
            kept = (
                f"{len(self.finished)} of {self.plan.chunks} chunks are kept, and the same command goes on from there."
            )
            raise StoreError(
                f"cannot keep results in {self.folder}: {what}." + (f" {kept}" if self.finished else "")
            ) from fault


def written_plan(folder: Path) -> dict[str, object] | None:
    """The plan that a folder keeps, as written; None where there is none that can be read."""
    try:
        plan = json.loads((folder / PLAN).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return None
    return plan if isinstance(plan, dict) else None
