"""Writing a report folder: whole or not at all, and never over older files unless told so."""

import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import BytesIO, StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from armsim.checks.assessment import Assessment
from armsim.report.contract import as_json
from armsim.report.cycles import cycles_csv
from armsim.report.files import WriteError as WriteError
from armsim.report.markdown import report
from armsim.report.picture import Picture
from armsim.report.series import series

if TYPE_CHECKING:
    from armsim.scenario import Scenario

STEMS = (
    "motion",
    "currents",
    "trips",
    "temperatures",
    "cycles",
    "torques",
    "motor",
    "schematic",
    "energy",
    "power-loss",
)
NAMES = (
    "report.md",
    "report.html",
    "result.json",
    "series.csv",
    "cycles.csv",
    *(f"{stem}.{kind}" for stem in STEMS for kind in ("png", "svg")),
)
DPI = 110
COORDINATES = re.compile(r'\b(?:d|x|y|transform)="[^"]*"')  #: attributes of an SVG that are nothing else
FINER = re.compile(r"(\d\.\d\d)\d+")  #: digits beyond a hundredth


def check_target(folder: Path, overwrite: bool = False) -> None:
    """Raise WriteError where a report could not be written, before anything is computed."""
    standing = folder
    while not os.path.lexists(standing) and standing != standing.parent:
        standing = standing.parent
    if not standing.is_dir():
        raise WriteError(f"{standing} is not a folder; nothing was written. Give --output another name.")
    if not os.access(standing, os.W_OK | os.X_OK):
        raise WriteError(f"no permission to write in {standing}; nothing was written.")
    if standing == folder and not overwrite:
        older = [name for name in NAMES if (folder / name).exists()]
        if older:
            raise WriteError(f"{folder / older[0]} exists; nothing was written. Add --overwrite to replace the report.")


def write_report(
    scenario: "Scenario", assessment: Assessment, folder: Path, overwrite: bool = False, *, html: bool = False
) -> list[Path]:
    """Write report.md, figures, result.json, series.csv and (of a repeated plan) cycles.csv; give their paths.

    With `html` report.html stands beside report.md: the same in one file. Raises WriteError. Everything is written
    beside its place first and moved there at the end, so that a full disk or an interruption leaves the folder as it
    was.
    """
    check_target(folder, overwrite)
    try:
        with _workplace(folder) as workplace:
            _write_files(scenario, assessment, workplace)
            if html:
                _write_page(scenario.title, workplace)
            return _move_in(workplace, folder)
    except OSError as fault:
        raise WriteError(f"cannot write the report to {folder}: {fault.strerror or fault}") from fault


@contextmanager
def _workplace(folder: Path) -> Iterator[Path]:
    """A hidden folder on the same disk, gone afterwards whatever happens, and with it any parent made for it."""
    made = [p for p in (folder, *folder.parents) if not p.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        with tempfile.TemporaryDirectory(prefix=".armsim-", dir=folder, ignore_cleanup_errors=True) as workplace:
            yield Path(workplace)
    except BaseException:
        for parent in made:
            with suppress(OSError):  # never one that something else has been put in
                parent.rmdir()
        raise


def _write_files(scenario: "Scenario", assessment: Assessment, workplace: Path) -> None:
    pictures = _draw(assessment, workplace)
    _write_text(workplace / "report.md", report(scenario, assessment, pictures))
    result = json.dumps(as_json(scenario, assessment), indent=2, allow_nan=False)
    _write_text(workplace / "result.json", result + "\n")
    if assessment.run is not None:
        _write_text(workplace / "series.csv", series(assessment.run))
        if scenario.plan.repeat > 1:
            _write_text(workplace / "cycles.csv", cycles_csv(assessment.run))


def _write_page(title: str, workplace: Path) -> None:
    """The finished report and its drawings as one page."""
    from armsim.report.html import page

    drawn = {f"{path.stem}.png": path.read_text(encoding="utf-8") for path in sorted(workplace.glob("*.svg"))}
    _write_text(workplace / "report.html", page((workplace / "report.md").read_text(encoding="utf-8"), title, drawn))


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _draw(assessment: Assessment, workplace: Path) -> list[Picture]:
    drawn = []
    for picture in drawings(assessment):
        _write_png(picture, workplace / f"{picture.name}.png")
        _write_text(workplace / f"{picture.name}.svg", svg(picture))
        drawn.append(picture)
    return drawn


def drawings(assessment: Assessment) -> Iterator[Picture]:
    """Every figure of a report, to be written before the next one is drawn."""
    # we use Figure objects only: no backend is needed, and a wrong one in the environment would stop the import
    backend = os.environ.pop("MPLBACKEND", None)
    try:
        from armsim.report.drawing import house_style
        from armsim.report.figures import pictures
    finally:
        if backend is not None:
            os.environ["MPLBACKEND"] = backend
    with house_style():
        yield from pictures(assessment)


def _write_png(picture: Picture, path: Path) -> None:
    """Without the alpha channel that matplotlib adds and nothing here uses: the same pixels, a seventh smaller."""
    from PIL import Image

    drawn = BytesIO()
    picture.figure.savefig(drawn, format="png", dpi=DPI, pil_kwargs={"compress_level": 0})
    with Image.open(drawn) as image:
        image.convert("RGB").save(path, format="png", dpi=(DPI, DPI), optimize=True)


def svg(picture: Picture) -> str:
    """With coordinates to a hundredth of a point, which no eye or printer tells apart: a third smaller."""
    drawn = StringIO()
    facts = {"Date": None, "Creator": None, "Title": picture.heading}
    picture.figure.savefig(drawn, format="svg", metadata=facts)
    return COORDINATES.sub(lambda found: FINER.sub(r"\1", found.group()), drawn.getvalue())


def _move_in(workplace: Path, folder: Path) -> list[Path]:
    """Move finished files to their place and older ones out of it; put everything back if one cannot be moved."""
    fresh = [name for name in NAMES if (workplace / name).exists()]
    older = workplace / "older"
    older.mkdir()
    try:
        for name in NAMES:
            if (folder / name).exists():
                os.replace(folder / name, older / name)
        for name in fresh:
            os.replace(workplace / name, folder / name)
    except BaseException:
        for name in fresh:
            if not (workplace / name).exists():
                (folder / name).unlink(missing_ok=True)
        for name in NAMES:
            if (older / name).exists():
                os.replace(older / name, folder / name)
        raise
    shutil.rmtree(older, ignore_errors=True)
    return [folder / name for name in fresh]
