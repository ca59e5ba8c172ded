"""armsim from Python: light to import, one result that holds everything, and shown in a notebook."""

import base64
import csv
import json
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import armsim
from tests.scenario.texts import scenario_text

ROOT = Path(__file__).resolve().parents[1]
SCENARIOS = ROOT / "scenarios"


@pytest.fixture(scope="module")
def result():
    return armsim.run(armsim.load(SCENARIOS / "crate-tipper.yaml"))


def python(script, folder=ROOT):
    return subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=200, check=False, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------------- importing


def test_to_import_it_loads_nothing_heavy_until_something_is_asked_for():
    script = """
import sys
import armsim
before = {"numpy", "yaml", "armsim.api"} & set(sys.modules)
offered = {"load", "run", "changed"} <= set(dir(armsim))
armsim.load
print(before, offered, "armsim.api" in sys.modules)
"""
    done = python(script)
    assert (done.stdout, done.stderr) == ("set() True True\n", "")


def test_every_name_that_is_offered_is_there():
    from armsim import api

    assert sorted(armsim.__all__) == sorted(api.__all__)
    assert all(getattr(armsim, name) is getattr(api, name) for name in armsim.__all__)
    with pytest.raises(AttributeError, match="'armsim' has no attribute 'lode'"):
        armsim.lode  # noqa: B018


# ------------------------------------------------------------------------------------------------------ the result


def test_a_result_holds_series_of_one_length_in_si(result):
    names = (
        "time", "angle", "speed", "motor_current", "supply_current", "bus_voltage", "duty", "motor_torque", "winding",
        "housing",
    )  # fmt: skip
    arrays = [getattr(result, name) for name in names]
    assert {array.shape for array in arrays} == {result.time.shape}
    assert all(isinstance(array, np.ndarray) for array in arrays)
    assert result.time[0] == 0.0
    assert result.angle[0] == pytest.approx(np.radians(-30.0))
    assert result.angle.max() == pytest.approx(np.radians(70.0), abs=0.1)
    assert np.trapezoid(result.speed, result.time) == pytest.approx(result.angle[-1] - result.angle[0], abs=1e-3)


def test_it_judges_as_the_command_does(result):
    assert result.verdict == "pass"
    assert result.headline.startswith("LIFTS: reaches 70.0 deg")
    assert {r.name for r in result.requirements} >= {"lift_time", "static_margin"}
    assert "falls-unpowered" in {finding.code for finding in result.findings}
    assert result.events[0].kind == "start"
    assert result.to_dict()["verdict"] == "pass"
    assert str(result).startswith(result.headline)
    assert repr(result) == f"<Result of 'Crate tipper, gears and a chain': {result.headline}>"


def test_the_table_has_the_columns_of_the_series_file(result, tmp_path):
    path = result.to_csv(tmp_path / "run.csv")
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    table = result.to_table()
    assert head == list(table)
    assert len(rows) == result.time.size
    assert table["arm angle (deg)"] == pytest.approx(np.degrees(result.angle))
    assert [float(row[0]) for row in rows] == pytest.approx(table["time (s)"].tolist())
    with pytest.raises(armsim.WriteError, match="exists; nothing was written"):
        result.to_csv(path)
    assert result.to_csv(path, overwrite=True) == path


def test_a_file_name_is_no_scenario():
    with pytest.raises(TypeError, match=r"run wants a Scenario, not 'a.yaml'; armsim.load gives one"):
        armsim.run("a.yaml")


def test_a_report_is_written_as_by_the_command(result, tmp_path):
    written = {path.name for path in result.report(tmp_path / "report", html=True)}
    assert {"report.md", "report.html", "series.csv", "result.json", "motion.svg"} <= written
    assert (tmp_path / "report" / "series.csv").read_bytes() == result.to_csv(tmp_path / "run.csv").read_bytes()


# ---------------------------------------------------------------------------------------------------- in a notebook


class Reader(HTMLParser):
    """Keeps elements, attributes and text; refuses tags that do not match."""

    VOID = ("img", "br")

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.seen, self.text = [], [], []

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def read(html):
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def test_a_notebook_shows_tables_and_figures_that_need_nothing_else(result):
    html = result._repr_html_()
    found = read(html)
    tags = [tag for tag, _ in found.seen]
    assert set(tags) <= {"div", "p", "strong", "br", "table", "thead", "tbody", "tr", "th", "td", "img"}
    assert tags.count("table") == 3
    assert result.headline in found.text
    assert not re.search(r"https?://", re.sub(r'src="data:[^"]*"', "", html))
    images = [attrs for tag, attrs in found.seen if tag == "img"]
    assert len(images) == 3
    for image in images:
        head, data = image["src"].split(",")
        assert head == "data:image/svg+xml;base64"
        assert ElementTree.fromstring(base64.b64decode(data)).tag.endswith("svg")
        assert len(image["alt"]) > 40
    assert all(attrs.get("scope") == "col" for tag, attrs in found.seen if tag == "th")


def test_what_people_typed_is_shown_and_not_obeyed(result):
    title = "<script>alert(1)</script> & |x| *y*"
    odd = replace(result, scenario=replace(result.scenario, title=title))
    found = read(odd._repr_html_())
    assert "script" not in [tag for tag, _ in found.seen]
    assert title in found.text
    line = odd._repr_markdown_().splitlines()[2]
    assert line == r"\<script\>alert(1)\</script\> \& \|x\| \*y\*"


def test_as_markdown_every_row_has_the_cells_of_its_head(result):
    tables = [block.splitlines() for block in result._repr_markdown_().split("\n\n") if block.startswith("|")]
    assert len(tables) == 3
    for rows in tables:
        assert len({len(re.findall(r"(?<!\\)\|", row)) for row in rows}) == 1


# ----------------------------------------------------------------------------------------------------- side by side


@pytest.fixture(scope="module")
def both(result):
    heavy = armsim.changed(result.scenario, {"arm.payload.mass": "30 kg"})
    return armsim.compare({"as it is": result, "heavy": heavy})


def test_a_comparison_takes_results_as_they_are_and_runs_the_others(both, result):
    assert both.results["as it is"] is result
    assert both.results["heavy"].verdict == "fail"
    assert both.choice == ("as it is",)
    assert both.conclusion[0] == "1 of 2 meets every requirement: as it is."
    assert repr(both) == f"<Comparison of as it is, heavy: {both.conclusion[0]}>"
    assert str(both).startswith("Conclusion\n  1 of 2 meets every requirement: as it is.")
    assert both.failures == {}
    assert [row["label"] for row in both.to_dict()["scenarios"]] == ["as it is", "heavy"]


def test_its_table_has_the_columns_of_its_file(both, result, tmp_path):
    table = both.to_table()
    with both.to_csv(tmp_path / "both.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    assert head == list(table)
    assert len(rows) == 2
    assert table["label"] == ["as it is", "heavy"]
    lifted = next(event.time for event in result.events if event.kind == "reached")
    assert table["lift_time_s"] == [pytest.approx(lifted), None]
    column = [row[head.index("lift_time_s")] for row in rows]
    assert [float(cell) if cell else None for cell in column] == table["lift_time_s"]
    with pytest.raises(armsim.WriteError):
        both.to_csv(tmp_path / "both.csv")


def test_it_writes_the_report_of_the_command_and_tells_every_file(both, tmp_path):
    folder = tmp_path / "compared"
    paths = both.report(folder, html=True)
    assert sorted(paths) == sorted(path for path in folder.rglob("*") if path.is_file())
    assert {"report.md", "report.html", "compare.csv", "courses.png", "runs/heavy/report.html"} <= {
        path.relative_to(folder).as_posix() for path in paths
    }


def test_a_notebook_shows_a_comparison_with_tables_and_figures_that_need_nothing_else(both):
    html = both._repr_html_()
    found = read(html)
    tags = [tag for tag, _ in found.seen]
    assert set(tags) <= {"div", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "img"}
    assert tags.count("table") == 2
    for first in ("measure", "input"):
        assert found.text[found.text.index(first) :][1:3] == ["as it is", "heavy"]
    row = found.text.index("arm.payload.mass")
    assert [text.replace("\u00a0", " ") for text in found.text[row : row + 3]] == ["arm.payload.mass", "12 kg", "30 kg"]
    images = [attrs["src"] for tag, attrs in found.seen if tag == "img"]
    assert len(images) >= 2
    assert all(source.startswith("data:image/svg+xml;base64,") for source in images)
    assert not re.search(r"https?://", re.sub(r'src="data:[^"]*"', "", html))
    text = both._repr_markdown_()
    assert text.startswith("- 1 of 2 meets every requirement: as it is.\n")
    assert "| arm.payload.mass | 12 kg | 30 kg |" in text


def test_what_cannot_be_run_becomes_its_failure_and_stops_no_other(result, tmp_path):
    odd = tmp_path / "odd.yaml"
    odd.write_text("titel: x\n", encoding="utf-8")
    found = armsim.compare([odd, result])
    assert list(found.failures) == ["odd"]
    assert "SCN102 titel: unknown key" in found.failures["odd"]
    assert list(found.results) == ["crate-tipper"]
    assert found.to_table()["verdict"] == [None, "pass"]
    nothing = armsim.compare([odd, tmp_path / "none.yaml"])
    assert nothing.report(tmp_path / "empty") == []
    assert not (tmp_path / "empty").exists()
    assert "None could be judged" in nothing._repr_html_()


def test_what_cannot_be_compared_is_refused_at_once(result, tmp_path):
    with pytest.raises(TypeError, match="compare wants a list"):
        armsim.compare("scenarios")
    with pytest.raises(TypeError, match="files, Scenarios and Results, not 7"):
        armsim.compare([result, 7])
    with pytest.raises(ValueError, match="two scenarios or more"):
        armsim.compare([result])
    with pytest.raises(ValueError, match=r"names want letters.*: \.\./up$"):
        armsim.compare({"../up": result, "b": result})
    with pytest.raises(ValueError, match="no two alike: a, A"):
        armsim.compare({"a": result, "A": result})
    with pytest.raises(FileNotFoundError, match="has no scenario in it"):
        armsim.compare([tmp_path])


# ---------------------------------------------------------------------------------------------------------- studies

TEXT = scenario_text(
    start="0 deg", moves="[{lift: {to: 10 deg}}]", requirements="{static_margin: {min: 1.5}, lift_time: {max: 20 s}}"
)
STUDIES = {
    "sweep": lambda: armsim.sweep(armsim.loads(TEXT), {"reduction": "40:90:3", "arm.payload.mass": ["6 kg", "9 kg"]}),
    "spread": lambda: armsim.spread(armsim.loads(f"{TEXT}\nuncertainty: {{payload: 10 %}}\n"), count=16),
    "size": lambda: armsim.size(armsim.loads(TEXT)),
    "limits": lambda: armsim.limits(armsim.loads(TEXT), ["efficiency"]),
}


@pytest.fixture(scope="module", params=list(STUDIES))
def study(request):
    return request.param, STUDIES[request.param]()


def test_a_study_tells_what_its_command_tells(study, tmp_path, capsys):
    from armsim.cli import main

    name, found = study
    assert repr(found).startswith(f"<Study, {name} of ")
    assert str(found).split()
    file = tmp_path / "scenario.yaml"
    file.write_text(TEXT + ("\nuncertainty: {payload: 10 %}\n" if name == "spread" else ""), encoding="utf-8")
    words = {
        "sweep": ["sweep", str(file), "--vary", "reduction=40:90:3", "--vary", "arm.payload.mass=6 kg,9 kg"],
        "spread": ["spread", str(file), "--count", "16", "--workers", "1"],
        "size": ["size", str(file)],
        "limits": ["size", str(file), "--least", "efficiency", "--workers", "1"],
    }[name]
    assert main([*words, "--json"]) == 0
    told, own = json.loads(capsys.readouterr().out), found.to_dict()
    for record in (told, own):
        record.pop("inputs_sha256")
        record.pop("scenario")  # one was read from a file
    assert told == json.loads(json.dumps(own))


def test_the_table_of_a_study_has_the_columns_of_its_file(study, tmp_path):
    _, found = study
    table = found.to_table()
    with found.to_csv(tmp_path / "rows.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    assert head == list(table)
    assert {len(column) for column in table.values()} == {len(rows)}
    for name, column in table.items():
        for cell, value in zip([row[head.index(name)] for row in rows], column, strict=True):
            if isinstance(value, float) and not np.isnan(value):
                assert float(cell) == pytest.approx(value, rel=1e-6)
    with pytest.raises(armsim.WriteError):
        found.to_csv(tmp_path / "rows.csv")


def test_a_study_is_shown_and_written_with_its_figures(study, tmp_path):
    name, found = study
    html = read(found._repr_html_())
    tags = [tag for tag, _ in html.seen]
    assert set(tags) <= {"div", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td", "img"}
    assert found.conclusion[0][:20] in "".join(html.text).replace("\u00a0", " ")
    assert tags.count("table") == {"sweep": 1, "spread": 3, "size": 2, "limits": 1}[name]
    assert (tags.count("img") > 0) is (name != "limits")
    assert found._repr_markdown_().startswith("- ")
    written = {path.name for path in found.report(tmp_path / "report")}
    assert {"report.md", "result.json"} <= written


def test_what_cannot_be_studied_is_told():
    plain = armsim.loads(TEXT)
    with pytest.raises(armsim.ScenarioError, match="reductoin"):
        armsim.sweep(plain, {"reductoin": "20:200:6"})
    with pytest.raises(ValueError, match="count is 3, it has to be 16 to"):
        armsim.spread(plain, count=3)
    with pytest.raises(Exception, match="did you mean efficiency"):
        armsim.limits(plain, ["efficency"])
    made = replace(plain, document=None)
    with pytest.raises(ValueError, match="made in code has no keys to vary"):
        armsim.sweep(made, {"reduction": "20:200:6"})
    with pytest.raises(ValueError, match="made in code"):
        armsim.size(made)


# ------------------------------------------------------------------------------------------------------- the README


def test_what_the_readme_shows_from_python_runs(tmp_path):
    blocks = re.findall(r"```python\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), flags=re.S)
    assert len(blocks) == 5
    shutil.copytree(SCENARIOS, tmp_path / "scenarios")
    done = python("\n".join(blocks), tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("LIFTS: reaches 70.0 deg")
    assert re.search(r"^9 kg LIFTS: ", done.stdout, flags=re.M)
    assert re.search(r"^30 kg DOES NOT LIFT: ", done.stdout, flags=re.M)
    assert "SCN110 arm.payload.mass: needs a unit: one of kg, g, lb, oz" in done.stdout
    assert (tmp_path / "tipper.csv").exists()
    assert (tmp_path / "tipper-report" / "report.md").exists()
    assert "All requirements met from 60 to 68" in done.stdout
    assert (tmp_path / "tipper-swept.csv").exists()
    assert "of such machines meet all requirements" in done.stdout
    assert "('as it is',) All 2 meet every requirement: as it is and 56 teeth." in done.stdout
    assert (tmp_path / "tipper-compared" / "runs" / "as it is" / "report.md").exists()
