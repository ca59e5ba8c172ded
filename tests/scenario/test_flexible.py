"""Chains and belts from their keys: numbers read out, lengths and play filled in, what contradicts itself refused."""

import math

import pytest

from armsim.drivetrain.senses import turnings
from armsim.report.tables import detail_text
from armsim.scenario.chain_numbers import find_chain
from armsim.studies.single import check
from tests.parts.rounded import six_digits
from tests.scenario.texts import read, refused, understood

NUMBERS = [
    ("40", "40", 12.7, "pitch 4/8 in (12.7 mm), standard proportions"),
    ("#40", "40", 12.7, "pitch 4/8 in (12.7 mm), standard proportions"),
    ("ANSI 40-1", "40", 12.7, "pitch 4/8 in (12.7 mm), standard proportions"),
    ("08A", "40", 12.7, "pitch 4/8 in (12.7 mm), standard proportions"),
    ("41", "41", 12.7, "pitch 4/8 in (12.7 mm), narrow and light"),
    ("25", "25", 6.35, "pitch 2/8 in (6.35 mm), bushes without rollers"),
    ("06C", "35", 9.525, "pitch 3/8 in (9.525 mm), bushes without rollers"),
    ("40-2", "40-2", 12.7, "pitch 4/8 in (12.7 mm), standard proportions, two strands"),
    ("60H", "60H", 19.05, "pitch 6/8 in (19.05 mm), standard proportions, heavy plates"),
    ("40H-2", "40H-2", 12.7, "pitch 4/8 in (12.7 mm), standard proportions, heavy plates, two strands"),
    ("40-2H", "40H-2", 12.7, "pitch 4/8 in (12.7 mm), standard proportions, heavy plates, two strands"),
    ("2040", "2040", 25.4, "the parts of 40 at twice its pitch (25.4 mm)"),
    ("C2050", "2050", 31.75, "the parts of 50 at twice its pitch (31.75 mm)"),
    ("208B", "208B", 25.4, "the parts of 08B at twice its pitch (25.4 mm)"),
    ("ISO 08B-2", "08B-2", 12.7, "pitch 08/16 in (12.7 mm), European series, two strands"),
    ("05B", "05B", 8.0, "pitch 8 mm, which the number does not say, European series"),
    ("083", "083", 12.7, "pitch 08/16 in (12.7 mm), narrow, European series"),
]


@pytest.mark.parametrize(("typed", "number", "pitch", "words"), NUMBERS)
def test_chain_numbers_are_read_out(typed, number, pitch, words):
    size = find_chain(typed)
    assert (size.number, size.words) == (number, words)
    assert size.pitch * 1e3 == pytest.approx(pitch)


@pytest.mark.parametrize("typed", ["99", "40-5", "40-0", "25H", "2041", "2040H", "08C", "4O", "", "40-2-2"])
def test_other_numbers_are_unknown(typed):
    assert find_chain(typed) is None


def test_heavy_plates_weigh_and_are_not_taken_to_be_stronger():
    plain, heavy = find_chain("40"), find_chain("40H")
    assert heavy.plate == pytest.approx(find_chain("50").plate)
    assert heavy.mass_per_length > plain.mass_per_length
    assert (heavy.tensile_strength, heavy.family) == (plain.tensile_strength, "40")


def test_every_pair_of_wheels_turns_its_way():
    machine = read(
        transmission="""
        - chain: {number: 40, driver: 11, driven: 41}
        - flat_belt: {driver: 23 mm, driven: 67 mm, crossed: yes}
        - gears: {driver: 15, driven: 49}
        """
    ).machine
    assert machine.reduction * turnings(machine)[0].sense == six_digits(35.4685)


def test_a_wheel_on_the_back_is_told_by_its_section():
    scenario = read(transmission='[{chain: {number: "40", driver: 13, driven: {teeth: 21, outside: yes}, links: 90}}]')
    stage = scenario.machine.stages[-1]
    assert stage.sense / stage.reduction == six_digits(-0.619048)
    assert understood(scenario, "transmission[0].chain.number").startswith("40: pitch 4/8 in")
    belt = read(transmission="[{belt: {profile: 5M, driver: 18, driven: {teeth: 30, outside: yes}}}]")
    assert belt.machine.stages[-1].sense == -1


def assumed(scenario, key):
    return next(assumption for assumption in scenario.assumptions if assumption.key == f"transmission[0].{key}")


def test_links_settle_the_centre_distance():
    scenario = read(transmission='[{chain: {number: "40", driver: 16, driven: 45, links: 96}}]')
    stage = scenario.machine.stages[-1]
    assert stage.details["centre_distance"] == six_digits(0.411746)
    assert assumed(scenario, "chain.centre_distance").text.startswith("0.411746 m, at which 96 links run taut")
    assert stage.backlash is None


def test_sag_and_slack_become_play():
    sagging = read(transmission='[{chain: {number: "40", driver: 45, driven: 45, centre_distance: 300 mm, sag: 6 mm}}]')
    assert sagging.machine.stages[-1].backlash == six_digits(0.00351529)
    assert assumed(sagging, "chain.backlash").origin == "derived"
    loose = read(transmission='[{chain: {number: "40", driver: 16, driven: 45, links: 96, centre_distance: 410 mm}}]')
    assert loose.machine.stages[-1].backlash == pytest.approx((96 - 95.7279) * 12.7 / 91.031, rel=1e-3)
    given = read(
        transmission='[{chain: {number: "40", driver: 16, driven: 45, centre_distance: 410 mm, links: 96, '
        "backlash: 1 deg}}]"
    )
    assert given.machine.stages[-1].backlash == pytest.approx(math.radians(1.0))


def test_pin_friction_gives_the_efficiency():
    scenario = read(transmission='[{chain: {number: "40", driver: 16, driven: 45, friction: 0.11}}]')
    assert 1.0 - scenario.machine.stages[-1].law.forward == six_digits(0.00914934)


def test_strands_may_stand_in_the_number_or_beside_it():
    beside = read(transmission='[{chain: {number: "40", strands: 2, driver: 16, driven: 45}}]').machine.stages[-1]
    inside = read(transmission="[{chain: {number: 40-2, strands: 2, driver: 16, driven: 45}}]").machine.stages[-1]
    assert beside.hardware.size == inside.hardware.size
    assert beside.hardware.size.strands == 2


def test_belts_assume_and_say_so():
    scenario = read(transmission="[{belt: {profile: 5m, driver: 18, driven: 60, belt_teeth: 122, backlash: 0.1 mm}}]")
    stage = scenario.machine.stages[-1]
    assert stage.details["centre_distance"] * 1e3 == six_digits(204.766)
    assert stage.backlash == pytest.approx(0.1 / (60 * 5 / math.tau))
    assert stage.law.forward == 0.96
    assert assumed(scenario, "belt.efficiency").origin == "default"
    assert assumed(scenario, "belt.inertia").text.startswith("none")
    without = read(transmission="[{belt: {profile: XL, driver: 18, driven: 60}}]")
    assert without.machine.stages[-1].backlash is None
    assert assumed(without, "belt.backlash").text == "not known; usual along the pitch line: 0.1 to 0.3 mm"


def test_shafts_too_close_are_told_with_their_place():
    for belt in (
        "belt: {profile: 5M, driver: 18, driven: 60, centre_distance: 60 mm}",
        "flat_belt: {driver: 40 mm, driven: 120 mm, centre_distance: 80 mm}",
    ):
        (problem,) = refused(transmission=f"[{{{belt}}}]")
        assert "overlap" in str(problem)


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        ("belt: {profile: 5M, driver: 18, driven: 60, belt_teeth: 122}", "5M (ISO 13050, curved teeth, pitch 5 mm)"),
        ("belt: {profile: 5M, driver: 18, driven: 60, belt_teeth: 122}", "centre distance 204.8 mm"),
        ("flat_belt: {driver: 23 mm, driven: 67 mm, centre_distance: 150 mm}", "belt length 444.6 mm"),
        ('chain: {number: "40", driver: 16, driven: 45, centre_distance: 410 mm}', "length in pitches 95.73"),
    ],
)
def test_the_report_tells_the_geometry(stage, words):
    row = check(read(transmission=f"[{{{stage}}}]")).transmission.stages[-1]
    assert words in detail_text(row)
