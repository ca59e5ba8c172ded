"""The house keeps its own rules: floors, links that lead somewhere, tables that match the code, demos that run."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SCENARIOS = sorted((ROOT / "scenarios").glob("*.yaml"))
README = ROOT / "README.md"
PAGES = [README, ROOT / "DEVELOPERS.md"]


def links(page):
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.S)
    return [target for target in re.findall(r"\]\(([^)#\s]+)", text) if "://" not in target]


def test_every_floor_imports_only_from_those_below():
    script = "import sys; from importlinter.cli import lint_imports_command; lint_imports_command()"
    done = subprocess.run(
        [sys.executable, "-c", script, "--no-cache"], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "2 kept, 0 broken" in done.stdout


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_of_the_pages_leads_to_a_file(page):
    found = links(page)
    assert found
    assert [target for target in found if not (ROOT / target).exists()] == []


def test_every_file_that_developers_md_names_is_there():
    named = set(re.findall(r"`([a-z_]+/[\w/]+\.(?:py|md|yaml|toml))`", PAGES[1].read_text(encoding="utf-8")))
    assert len(named) > 10
    assert [name for name in sorted(named) if not ((ROOT / "armsim" / name).exists() or (ROOT / name).exists())] == []


def test_the_readme_has_one_line_that_runs_and_one_that_tests():
    lines = [line for line in README.read_text().splitlines() if line.startswith("python3 -m venv")]
    assert len(lines) == 2
    runs, tests = lines
    assert re.search(r"armsim run scenarios/\S+\.yaml --output \S+", runs)
    assert tests.endswith("-m pytest -q")


def test_the_scenario_in_the_readme_lifts_within_its_requirements():
    from armsim.scenario import loads
    from armsim.studies.single import assess

    (text,) = re.findall(r"```yaml\n(.*?)```", README.read_text(encoding="utf-8"), flags=re.S)
    assert assess(loads(text)).verdict == "pass"


def test_every_key_a_scenario_may_have_is_in_the_readme():
    from armsim.scenario.schema import Keys

    def kinds(model):
        return {model}.union(*map(kinds, model.__subclasses__()))

    rows = re.findall(r"^\| (?:top level|`).*$", README.read_text(encoding="utf-8"), flags=re.M)
    told = set(re.findall(r"`(?:\w+\.)?(\w+)`", " ".join(rows)))
    known = {field.alias or name for model in kinds(Keys) for name, field in model.model_fields.items()}
    assert len(known) > 80
    assert sorted(known - told) == []


def test_every_code_of_problems_and_findings_has_its_row_in_developers_md():
    from armsim.checks.codes import CODES as FINDINGS
    from armsim.scenario.problems import CODES as PROBLEMS

    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `([\w-]+)` \| (.+?) \|$", text, flags=re.M))
    assert {code: rows.get(code) for code in (*PROBLEMS, *FINDINGS)} == {**PROBLEMS, **FINDINGS}


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_demo_loads_and_has_its_sample_report(path):
    from armsim.scenario import load

    scenario = load(path)
    assert "invented" in scenario.about
    report = ROOT / "reports" / path.stem / "report.md"
    assert scenario.sha256 in report.read_text(encoding="utf-8"), "the sample report is of an older scenario"


def test_the_demo_of_a_locking_worm_shows_the_play_behind_it():
    from armsim.scenario import load
    from armsim.studies.single import check

    found = check(load(ROOT / "scenarios" / "press-hatch-worm.yaml"))
    play = 0.28 / 70.0  # backlash over the wheel's pitch radius, half of 40 teeth of 3.5 mm
    assert found.holding.free_play == pytest.approx(play)
    assert found.holding.free_travel == pytest.approx(0.8 * play)
    assert "0.229 deg at the arm, 3.20 mm at its tip" in next(x.text for x in found.findings if x.code == "free-play")


def test_the_sample_reports_stay_small():
    kept = [path for path in (ROOT / "reports").rglob("*") if path.is_file() and path.name != "series.csv"]
    reports = [path for path in kept if path.name == "report.md"]
    # a report has ten figures, each twice, of some 55 kB, and its words and numbers
    assert 0 < sum(path.stat().st_size for path in kept) < 680_000 * len(reports)


def test_the_sample_comparison_is_of_the_scenarios_as_they_are():
    from armsim.scenario import load

    text = (ROOT / "reports" / "compare-press-hatch" / "report.md").read_text(encoding="utf-8")
    for path in (path for path in SCENARIOS if path.stem.startswith("press-hatch-")):
        assert load(path).sha256 in text
        assert f"](runs/{path.stem}/report.md)" in text


@pytest.mark.parametrize("keys", ["reduction", "reduction-payload"])
def test_the_sample_sweeps_are_of_the_tipper_as_it_is(keys):
    from armsim.scenario import load

    text = (ROOT / "reports" / f"sweep-tipper-{keys}" / "report.md").read_text(encoding="utf-8")
    assert load(ROOT / "scenarios" / "crate-tipper.yaml").sha256 in text
