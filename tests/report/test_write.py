"""A report folder is written whole or not at all, and never over an older one."""

import base64
import csv
import errno
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from armsim.report import write
from armsim.report.drawing import house_style
from armsim.report.figures import torques
from armsim.report.write import COORDINATES, DPI, FINER, WriteError, check_target, write_report
from tests.report import sample

ROOT = Path(__file__).parents[2]
STEMS = ("motion", "currents", "trips", "temperatures", "torques", "motor", "schematic", "energy", "power-loss")
ALL = sorted(["report.md", "result.json", "series.csv", *(f"{s}.{kind}" for s in STEMS for kind in ("png", "svg"))])


def tree(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    target = tmp_path_factory.mktemp("reports") / "deep" / "tipper"
    paths = write_report(*sample.lifting(), target)
    assert sorted(path.name for path in paths) == ALL
    return target


def test_the_folder_holds_exactly_the_report(folder):
    assert sorted(p.name for p in folder.iterdir()) == ALL
    assert [p.name for p in folder.parent.iterdir()] == ["tipper"]


def test_every_picture_the_report_shows_is_there(folder):
    text = (folder / "report.md").read_text(encoding="utf-8")
    for stem in STEMS:
        assert f"]({stem}.png)" in text
        assert (folder / f"{stem}.png").read_bytes().startswith(b"\x89PNG")
        assert (folder / f"{stem}.svg").read_text(encoding="utf-8").rstrip().endswith("</svg>")


def test_pictures_carry_every_pixel_drawn_and_neither_alpha_nor_the_name_of_a_program(folder):
    drawn = io.BytesIO()
    with house_style():
        torques(sample.lifting()[1]).figure.savefig(drawn, format="png", dpi=DPI)
    with Image.open(drawn) as raw, Image.open(folder / "torques.png") as kept:
        assert (raw.mode, kept.mode) == ("RGBA", "RGB")
        assert np.array_equal(np.asarray(raw)[..., :3], np.asarray(kept))
        assert np.min(np.asarray(raw)[..., 3]) == 255
        assert "Software" not in kept.info


def test_the_json_file_is_the_contract(folder):
    assert json.loads((folder / "result.json").read_text(encoding="utf-8"))["lift"]["reached"] is True


def test_the_series_reads_back_with_units_in_its_heads(folder):
    with (folder / "series.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    run = sample.lifting()[1].run
    assert len(rows) == run.time.size
    assert all(name.endswith(")") for name in rows[0])
    assert float(rows[-1]["time (s)"]) == pytest.approx(run.time[-1], rel=1e-8)
    middle = len(rows) // 3
    assert float(rows[middle]["arm angle (deg)"]) == pytest.approx(np.degrees(run.angle[middle]), rel=1e-7, abs=1e-7)
    assert float(rows[middle]["supply current (A)"]) == pytest.approx(run.supply_current[middle], rel=1e-7, abs=1e-7)


def test_an_unknown_value_is_an_empty_cell():
    run = sample.stalling()[1].run
    text = write.series(run)
    assert "nan" not in text
    assert ",," in text


def test_the_same_run_gives_the_same_bytes(folder, tmp_path):
    write_report(*sample.lifting(), tmp_path / "again")
    assert tree(tmp_path / "again") == tree(folder)


def test_a_check_makes_a_report_without_series(tmp_path):
    paths = write_report(*sample.checked(), tmp_path / "check")
    assert sorted(p.name for p in paths) == ["report.md", "result.json", "torques.png", "torques.svg"]


def test_a_page_stands_beside_the_report_with_each_of_its_drawings_inside(tmp_path):
    paths = write_report(*sample.checked(), tmp_path, html=True)
    assert [p.name for p in paths] == ["report.md", "report.html", "result.json", "torques.png", "torques.svg"]
    text = (tmp_path / "report.html").read_text(encoding="utf-8")
    drawing = base64.b64encode((tmp_path / "torques.svg").read_bytes()).decode()
    assert text.count("<img") == text.count(drawing) == 1
    assert "<title>Crate tipper | gears *and* a chain</title>" in text
    before = tree(tmp_path)
    write_report(*sample.checked(), tmp_path, overwrite=True, html=True)
    assert tree(tmp_path) == before


def test_a_page_of_an_older_report_does_not_outlive_it(tmp_path):
    (tmp_path / "report.html").write_text("old")
    with pytest.raises(WriteError, match=r"report\.html exists"):
        check_target(tmp_path)
    write_report(*sample.checked(), tmp_path, overwrite=True)
    assert not (tmp_path / "report.html").exists()


def test_an_older_report_is_never_replaced_unasked(tmp_path):
    (tmp_path / "report.md").write_text("mine")
    with pytest.raises(WriteError, match="--overwrite") as refusal:
        check_target(tmp_path)
    assert refusal.value.exit_status == 4
    with pytest.raises(WriteError):
        write_report(*sample.checked(), tmp_path)
    assert tree(tmp_path) == {"report.md": b"mine"}


def test_overwriting_replaces_the_report_and_leaves_other_files_alone(tmp_path):
    (tmp_path / "report.md").write_text("old")
    (tmp_path / "motion.png").write_text("stale: a check draws none")
    (tmp_path / "notes.txt").write_text("mine")
    write_report(*sample.checked(), tmp_path, overwrite=True)
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "notes.txt",
        "report.md",
        "result.json",
        "torques.png",
        "torques.svg",
    ]
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_target_that_is_a_file_or_lies_under_one_is_refused(tmp_path):
    file = tmp_path / "report"
    file.write_text("a file")
    for target in (file, file / "below"):
        with pytest.raises(WriteError, match="not a folder"):
            check_target(target, overwrite=True)


def test_a_dangling_link_is_refused(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path / "nowhere")
    with pytest.raises(WriteError, match="not a folder"):
        check_target(tmp_path / "link")


def test_a_folder_without_permission_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != tmp_path)
    with pytest.raises(WriteError, match="no permission"):
        check_target(tmp_path / "new")


def full_disk(*args, **kwargs):
    raise OSError(errno.ENOSPC, "No space left on device")


def interrupted(*args, **kwargs):
    raise KeyboardInterrupt


@pytest.mark.parametrize(("failure", "raised"), [(full_disk, WriteError), (interrupted, KeyboardInterrupt)])
def test_a_failure_leaves_no_trace(tmp_path, monkeypatch, failure, raised):
    monkeypatch.setattr(write, "series", failure)
    with pytest.raises(raised):
        write_report(*sample.lifting(), tmp_path / "deep" / "new")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("failure", "raised"), [(full_disk, WriteError), (interrupted, KeyboardInterrupt)])
def test_a_failure_leaves_an_older_report_as_it_was(tmp_path, monkeypatch, failure, raised):
    write_report(*sample.checked(), tmp_path)
    before = tree(tmp_path)
    real, calls = os.replace, []

    def breaks_at_the_sixth(source, target):
        calls.append(target)
        if len(calls) == 6:
            failure()
        real(source, target)

    monkeypatch.setattr(os, "replace", breaks_at_the_sixth)
    with pytest.raises(raised):
        write_report(*sample.lifting(), tmp_path, overwrite=True)
    assert len(calls) > 6
    assert tree(tmp_path) == before


def test_the_text_of_the_disk_reaches_the_message(tmp_path, monkeypatch):
    monkeypatch.setattr(write, "series", full_disk)
    with pytest.raises(WriteError, match="No space left on device"):
        write_report(*sample.lifting(), tmp_path / "new")


def test_a_wrong_backend_in_the_environment_does_no_harm(tmp_path):
    program = (
        "from pathlib import Path; from tests.report import sample; from armsim.report.write import write_report; "
        f"write_report(*sample.checked(), Path({str(tmp_path / 'out')!r}))"
    )
    environment = os.environ | {"MPLBACKEND": "nonsense"}
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stderr


def test_dressing_text_and_json_loads_no_drawing_library():
    program = (
        "import sys; import armsim.report.terminal, armsim.report.contract, armsim.report.write; "
        "print([m for m in ('matplotlib', 'scipy', 'yaml', 'pydantic', 'markdown_it') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"


def test_an_svg_loses_digits_of_places_and_keeps_those_of_words():
    text = '<path d="M 1.23456 -7.891"/><text x="3.14159" transform="rotate(-90.12345 1 2)">1.2345 s</text>'
    shorter = COORDINATES.sub(lambda found: FINER.sub(r"\1", found.group()), text)
    assert shorter == '<path d="M 1.23 -7.89"/><text x="3.14" transform="rotate(-90.12 1 2)">1.2345 s</text>'
