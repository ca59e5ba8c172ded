"""A spread study as people and programs get it."""

import csv
import io
import json
import re

import numpy as np
import pytest

from armsim.report import spread_words as words
from armsim.report.spread_contract import spread_csv, spread_json
from armsim.report.spread_markdown import spread_report
from armsim.report.spread_terminal import spread_text
from armsim.report.spread_write import OWN, check_spread_target, write_spread
from armsim.report.write import WriteError
from armsim.scenario import load, loads
from armsim.studies.shares import chance
from armsim.studies.spread import study
from tests.scenario import texts

SECTIONS = {
    "start": "0 deg",
    "moves": "[{lift: {to: 10 deg}}]",
    "uncertainty": "{payload: {uniform: [4 kg, 12 kg]}, motor_resistance: 10 %}",
    "requirements": "{static_margin: {min: 2.2}, lift_time: {max: 20 s}, winding_temperature: {max: 90 degC}}",
}


@pytest.fixture(scope="module")
def found():
    return study(texts.read(**SECTIONS), count=64)


@pytest.fixture(scope="module")
def folder(found, tmp_path_factory):
    folder = tmp_path_factory.mktemp("spread") / "out"
    write_spread(found, folder, html=True)
    return folder


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "0 %"), (1.0, "100 %"), (0.987, "98.7 %"), (0.9991, "99.91 %"), (0.00012, "0.01 %"), (0.999988, "99.999 %")],
)
def test_shares_get_the_digits_that_their_distance_from_none_and_all_asks(share, told):
    assert words.percent(share) == told


def test_a_share_never_reads_as_all_or_none_of_them_when_it_is_not():
    for share in np.concatenate([np.geomspace(1e-7, 0.4, 60), 1.0 - np.geomspace(1e-7, 0.4, 60)]):
        assert float(words.percent(share).removesuffix(" %")) not in (0.0, 100.0)


def test_the_first_sentence_has_the_share_what_fails_and_what_matters(found):
    head, *rest = words.conclusion(found)
    together = found.together
    assert head.startswith(
        f"{100.0 * together.share:.1f} % ({100.0 * together.low:.1f} to {100.0 * together.high:.1f})"
    )
    assert "what fails most is static margin" in head
    assert "payload matters most" in head
    assert any("Not judged" in line and "winding temperature" in line for line in rest)


def test_a_sample_without_a_failure_says_how_little_that_proves():
    assert words.sure(chance("together", 64, 64)).startswith("100 % (94.4 to 100")


def test_the_terminal_has_every_requirement_input_and_measure(found):
    text = spread_text(found)
    assert text.isascii()
    assert max(map(len, text.splitlines())) < 160
    for name in ("static margin", "lift time", "winding temperature", "payload", "motor resistance", "all together"):
        assert name in text
    assert "put this into the scenario" not in text


def test_usual_tolerances_come_as_a_section_to_paste():
    plain = study(texts.read(**{**SECTIONS, "uncertainty": ""}), count=16)
    text = spread_text(plain)
    section = text[text.index("uncertainty:") :]
    again = loads(texts.scenario_text(**{**SECTIONS, "uncertainty": ""}) + section)
    assert [one.name for one in again.uncertainty] == [one.name for one in plain.inputs]


def test_json_and_csv_tell_the_same(found):
    result = json.loads(json.dumps(spread_json(found), allow_nan=False))
    rows = list(csv.DictReader(io.StringIO("".join(spread_csv(found)))))
    assert len(rows) == result["sample"]["count"] == 64
    assert sum(row["meets all (1)"] == "1" for row in rows) == result["together"]["met"]
    times = sorted(float(row["lift time (s)"]) for row in rows)
    (lift,) = [row for row in result["percentiles"] if row["name"] == "lift_time_s"]
    assert lift["p50"] == pytest.approx((times[31] + times[32]) / 2.0, rel=1e-5)
    payloads = [float(row["payload (kg)"]) for row in rows]
    assert min(payloads) >= 4.0
    assert max(payloads) <= 12.0
    assert result["requirements"][1]["name"] == "winding_temperature"
    assert result["requirements"][1]["share"] is None


def test_the_folder_has_all_that_the_report_names_and_the_worst_machine_runs(found, folder):
    text = (folder / "report.md").read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert (folder / target).exists(), target
    assert {path.name for path in folder.iterdir()} <= set(OWN)
    assert load(folder / "worst.yaml").machine.arm.payload_mass == found.worst.values[0]
    assert "data:image" in (folder / "report.html").read_text(encoding="utf-8")


def test_a_report_that_is_there_is_kept(found, folder):
    with pytest.raises(WriteError):
        check_spread_target(folder)
    with pytest.raises(WriteError):
        write_spread(found, folder)


def test_the_report_says_how_to_get_it_again(found):
    text = spread_report(found, [])
    assert "--count 64 --seed 1" in text
    assert found.scenario.sha256 in text


def test_lifts_that_never_arrive_are_told_in_words_and_drawn():
    weak = {**SECTIONS, "uncertainty": "{payload: {uniform: [10 kg, 60 kg]}, motor_resistance: 10 %}"}
    found = study(texts.read(**weak), count=64)
    assert 0 < found.lifting.met < 64
    assert "do not arrive at all" in " ".join(words.conclusion(found))
    assert "never" in spread_text(found)
    from armsim.report.spread_figures import pictures

    drawn = {picture.name: picture for picture in pictures(found)}
    assert "never arrive" in drawn["lift-times"].text
    labels = [label.get_text() for label in drawn["each-alone-lift-time"].figure.axes[0].texts]
    assert any("never" in label for label in labels)


def test_a_worm_that_follows_the_mean_curve_is_told_to_keep_its_friction():
    from types import SimpleNamespace

    from armsim.report.spread_words import assumption_rows

    def told(friction):
        worm = f"{{starts: 1, wheel: 40, module: 2 mm, lead_angle: 5 deg{friction}}}"
        arm = "{length: 0.6 m, mass: 5 kg, pivot_friction: {coulomb: 0.6 N*m}}"
        scenario = texts.read(
            arm=arm, transmission=f"[{{worm: {worm}}}]", uncertainty="{friction: 30 %, arm.mass: 5 %}"
        )
        return assumption_rows(SimpleNamespace(inputs=scenario.uncertainty, scenario=scenario))[1:]

    given, mass = told(", friction: 0.07")
    assert given[2] == "70 % to 130 %, evenly"
    curve, same = told("")
    assert curve[2] == "70 % to 130 %, evenly; not of worm 1-40, whose friction is the mean curve"
    assert same == mass
