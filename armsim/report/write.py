"""Writing a report folder: whole or not at all, and never over older files unless told so."""

import json
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
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


def check_target(folder: Path, overwrite: bool = False, names: Sequence[str] = NAMES) -> None:
    """Raise WriteError where a report of such files could not be written, before anything is computed."""
    standing = folder
    while not os.path.lexists(standing) and standing != standing.parent:
        standing = standing.parent
    if not standing.is_dir():
        raise WriteError(f"{standing} is not a folder; nothing was written. Give --output another name.")
    if not os.access(standing, os.W_OK | os.X_OK):
        raise WriteError(f"no permission to write in {standing}; nothing was written.")
    if standing == folder and not overwrite:
        older = [name for name in names if (folder / name).exists()]
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
    with workplace_in(folder) as workplace:
        _write_files(scenario, assessment, workplace)
        if html:
            write_page(scenario.title, workplace)
        return move_in(workplace, folder, NAMES)


@contextmanager
def workplace_in(folder: Path) -> Iterator[Path]:
    """A hidden folder on the same disk, gone afterwards whatever happens, and with it any parent made for it.

    Raises WriteError where what is done in it meets a fault of the disk.
    """
    made = [p for p in (folder, *folder.parents) if not p.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        try:
            with tempfile.TemporaryDirectory(prefix=".armsim-", dir=folder, ignore_cleanup_errors=True) as workplace:
                yield Path(workplace)
        except BaseException:
            for parent in made:
                with suppress(OSError):  # never one that something else has been put in
                    parent.rmdir()
            raise
    except OSError as fault:
        raise WriteError(f"cannot write the report to {folder}: {fault.strerror or fault}") from fault


def _write_files(scenario: "Scenario", assessment: Assessment, workplace: Path) -> None:
    drawn = draw(drawings(assessment), workplace)
    write_text(workplace / "report.md", report(scenario, assessment, drawn))
    result = json.dumps(as_json(scenario, assessment), indent=2, allow_nan=False)
    write_text(workplace / "result.json", result + "\n")
    if assessment.run is not None:
        write_text(workplace / "series.csv", series(assessment.run))
        if scenario.plan.repeat > 1:
            write_text(workplace / "cycles.csv", cycles_csv(assessment.run))


def write_page(title: str, workplace: Path, changed: Callable[[str], str] = str) -> None:
    """The finished report.md of a folder, changed as that says, and its drawings as one page."""
    from armsim.report.html import page

    drawn = {f"{path.stem}.png": path.read_text(encoding="utf-8") for path in sorted(workplace.glob("*.svg"))}
    text = changed((workplace / "report.md").read_text(encoding="utf-8"))
    write_text(workplace / "report.html", page(text, title, drawn))


def write_text(path: Path, text: str) -> None:
    """A text file that has the same bytes on every system."""
    path.write_text(text, encoding="utf-8", newline="\n")


def draw(pictures: Iterable[Picture], workplace: Path) -> list[Picture]:
    """Write every picture as PNG and SVG."""
    drawn = []
    for picture in pictures:
        _write_png(picture, workplace / f"{picture.name}.png")
        write_text(workplace / f"{picture.name}.svg", svg(picture))
        drawn.append(picture)
    return drawn


def drawings(assessment: Assessment) -> Iterator[Picture]:
    """Every figure of a report, to be written before the next one is drawn."""

    def pictures() -> Iterator[Picture]:
        from armsim.report.figures import pictures

        return pictures(assessment)

    return in_house_style(pictures)


def in_house_style(pictures: Callable[[], Iterable[Picture]]) -> Iterator[Picture]:
    """What `pictures` gives, which is called once matplotlib can be imported and may do so."""
    # we use Figure objects only: no backend is needed, and a wrong one in the environment would stop the import
    backend = os.environ.pop("MPLBACKEND", None)
    try:
        from armsim.report.drawing import house_style
    finally:
        if backend is not None:
            os.environ["MPLBACKEND"] = backend
    with house_style():
        yield from pictures()


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


def move_in(workplace: Path, folder: Path, names: Sequence[str]) -> list[Path]:
    """Move finished files to their place and older ones out of it; put everything back if one cannot be moved."""
    fresh = [name for name in names if (workplace / name).exists()]
    older = workplace / "older"
    older.mkdir()
    try:
        for name in names:
            if (folder / name).exists():
                _move(folder / name, older / name)
        for name in fresh:
            _move(workplace / name, folder / name)
    except BaseException:
        for name in fresh:
            if not (workplace / name).exists():
                (folder / name).unlink(missing_ok=True)
        for name in names:
            if (older / name).exists():
                _move(older / name, folder / name)
        raise
    shutil.rmtree(older, ignore_errors=True)
    return [folder / name for name in fresh]


def _move(here: Path, there: Path) -> None:
    there.parent.mkdir(parents=True, exist_ok=True)
    os.replace(here, there)
