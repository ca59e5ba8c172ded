"""What is printed: the answer first, plain, aligned, and no longer than a screen."""

import io
import re
from dataclasses import replace

import pytest

from armsim.report.terminal import check_summary, coloured, dressed, summary
from tests.report import sample


@pytest.fixture(params=["lifting", "stalling", "looped", "repeated"])
def case(request):
    return getattr(sample, request.param)()


def test_the_first_line_says_whether_it_lifts(case):
    assert re.match(r"(LIFTS|DOES NOT LIFT): ", summary(*case).splitlines()[0])


def test_it_is_ascii_without_markup_and_short(case):
    text = summary(*case)
    assert text.isascii()
    assert "\x1b" not in text
    assert len(text.splitlines()) <= 55


def test_a_check_is_ascii_and_says_that_nothing_was_simulated():
    text = check_summary(*sample.checked())
    assert text.isascii()
    assert "not simulated" in text.splitlines()[0]
    for word in ("Torque at the arm", "static margin", "Shafts", "Stages", "holds without power", "when stalled"):
        assert word in text


def test_a_check_tells_what_fits_the_three_weakest_and_the_play():
    text = check_summary(*sample.checked())
    title, *fit = text.split("\nFit: ")[1].split("\n\n")[0].splitlines()
    assert title.startswith(("yes, by", "NO, by"))
    assert any("to judge the rest: give" in line for line in fit)
    weakest = text.split("\nStrength, weakest first\n")[1].split("\n\n")[0].splitlines()[1:]
    safety = [float(line.split()[-1]) for line in weakest]
    assert len(safety) == 3
    assert safety == sorted(safety)
    assert "\nPlay\n  Free play is not known: no backlash is given for first pair" in text
    for told in ("Fit: ", "Strength, weakest first", "Play\x1b"):
        assert f"\x1b[1m{told}" in coloured(text)


def test_a_run_tells_fit_and_strength_in_a_line_each():
    text = summary(*sample.lifting())
    assert len(re.findall(r"^  parts fit  +(?:yes|NO), by", text, re.M)) == 1
    assert len(re.findall(r"^  weakest part  .*, safety [\d.]+$", text, re.M)) == 1


def test_errors_are_told_whatever_room_they_take():
    scenario, assessment = sample.stalling()
    crowded = [f for f in assessment.findings if f.level == "error"] * 20
    text = summary(scenario, replace(assessment, findings=(*crowded, *assessment.findings)))
    told = text.split("Findings\n")[1]
    assert len(re.findall(r"^  error", told, re.M)) == 21 * len(crowded) / 20
    assert len(re.findall(r"^  warning", told, re.M)) == len(scenario.warnings)


def test_the_numbers_are_the_ones_of_the_run():
    scenario, assessment = sample.lifting()
    text = summary(scenario, assessment)
    assert f"{assessment.lift.time:.4g} s to 70 deg" in text
    assert f"peak {abs(assessment.run.peaks.motor_current.value):.4g} A" in text
    assert "reduction                 60.92:1" in text
    assert re.search(r"FAIL   holds unpowered +no +yes", text)


def test_holding_is_told_with_what_is_short():
    text = check_summary(*sample.checked())
    # friction holds 4.40107 N*m of 58.8399 N*m
    assert "NO, friction holds 7.48 % of the load at 0 deg: 54.4 N*m short" in text
    assert "starts to sink            even without a payload" in text


def test_values_stand_in_one_column():
    text = summary(*sample.lifting())
    block = text.split("Numbers\n")[1].split("\n\n")[0].splitlines()
    assert len({re.match(r"  .+?(?= {3,})( +)", line).end() for line in block}) == 1


def test_a_breaker_that_opens_again_and_again_takes_one_line():
    text = summary(*sample.stalling())
    assert len(re.findall(r"breaker opens", text)) == 1
    assert re.search(r"breaker opens: thermal-auto-reset \(\d+ times, last at", text)


def test_errors_come_before_warnings_and_a_mend_is_told_once():
    text = summary(*sample.stalling()).split("Findings\n")[1]
    levels = re.findall(r"^  (error|warning|note)\b", text, re.M)
    assert levels == sorted(levels, key=["error", "warning", "note"].index)
    assert " ".join(text.split()).count("Fit a brake or a lock") == 1


def test_a_title_cannot_drive_the_terminal():
    scenario, assessment = sample.lifting()
    text = summary(replace(scenario, title="Tipper\x1b]0;pwned\x07\nLIFTS: no"), assessment)
    assert "\x1b" not in text
    assert "\x07" not in text
    assert text.splitlines()[1].startswith("Tipper ]0;pwned LIFTS: no")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize(
    ("stream", "environment", "painted"),
    [
        (Terminal(), {}, True),
        (io.StringIO(), {}, False),
        (Terminal(), {"NO_COLOR": "1"}, False),
        (Terminal(), {"TERM": "dumb"}, False),
    ],
)
def test_colour_only_for_a_terminal_whose_owner_has_not_said_no(monkeypatch, stream, environment, painted):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert ("\x1b[" in dressed("LIFTS: reaches 70 deg", stream)) is painted


def test_paint_changes_no_word():
    text = summary(*sample.stalling())
    painted = coloured(text)
    assert "\x1b[31mFAIL\x1b[0m" in painted
    assert re.sub(r"\x1b\[\d+m", "", painted) == text


def test_events_that_always_come_together_take_one_line_and_cycles_left_out_are_told():
    text = summary(*sample.repeated())
    assert text.isascii()
    assert len(text.splitlines()) <= 55
    block = text.split("What happened, cycles 1, 2 and 200\n")[1].split("\n\n")[0]
    assert re.search(r"-30 deg  reached: lower; rest \(3 times, last at 4600 s\)$", block, re.M)
    assert "\x1b[1mWhat happened, cycles 1, 2 and 200\x1b[0m" in coloured(text)
