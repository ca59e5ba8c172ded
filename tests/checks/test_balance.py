"""Counterbalances judged: the best strength by calculus and by an independent minimiser, slack by the cosine rule."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from armsim.checks.assessment import Level
from armsim.checks.balance import balance_findings, best_factor, best_torsion_spring, rises_unpowered
from armsim.checks.lifting import torque_curves
from armsim.dynamics.plan import Plan, Travel
from armsim.parts.arm import Friction
from armsim.parts.counterbalance import ConstantForceSpring, ExtensionSpring, GasSpring, Span, TorsionSpring
from armsim.studies.single import assess_machine, check_machine

from .machines import ARM, GRAVITY, LIFT, MOTOR, TC, machine, stage

DEG = math.pi / 180.0
PEAK = 6.0 * 0.45 * GRAVITY  # 26.478 N*m with the arm level
LOW = Plan(start=0.0, moves=(Travel(to=10.0 * DEG),))
QUARTER = Plan(start=0.0, moves=(Travel(to=90.0 * DEG),))
# least squares of cos(a) by level + slope * a over a quarter turn, worked out by hand
SLOPE = (math.pi / 4.0 - 1.0) * 12.0 / (math.pi / 2.0) ** 3
LEVEL = 2.0 / math.pi - SLOPE * math.pi / 4.0
BEST = TorsionSpring(rate=-SLOPE * PEAK, relaxed_at=-LEVEL / SLOPE)
BACK_DRIVEN = TC * 120.0 / (2.0 - 1.0 / 0.70)  # 8.247 N*m at the arm turn the unpowered motor
ABOVE = Span(on_arm=0.3, anchor_x=0.0, anchor_y=0.4)  # length squared: 0.25 - 0.24 sin(a)
BELOW = Span(on_arm=0.3, anchor_x=0.0, anchor_y=-0.4)  # 0.25 + 0.24 sin(a)
STRUT = GasSpring(span=BELOW, force=60.0, rate=80.0, extended_length=0.75)
AHEAD = Span(on_arm=0.3, anchor_x=0.4, anchor_y=0.0)  # 0.25 - 0.24 cos(a)


def with_springs(*helpers, **changes):
    return machine(arm=replace(ARM, counterbalances=helpers, **changes))


def constant(torque):
    return ConstantForceSpring(force=torque / 0.1, radius=0.1)


def said(of_machine, plan=LIFT):
    found = list(balance_findings(of_machine, plan))
    by_code = {item.code: item for item in found}
    assert len(by_code) == len(found)
    return by_code


# the best strength


def test_the_best_torsion_spring_of_a_quarter_turn_is_the_one_by_hand():
    angle = np.linspace(0.0, 90.0 * DEG, 181)
    spring = best_torsion_spring(angle, PEAK * np.cos(angle))
    assert spring is not None
    assert spring.rate == pytest.approx(BEST.rate, rel=5e-5)
    assert spring.relaxed_at == pytest.approx(BEST.relaxed_at, rel=5e-5)


def test_the_spring_that_would_help_is_named_with_rate_angle_and_rest():
    found = said(machine(), QUARTER)["balance-would-help"]
    # 17.593 N*m/rad, 1.7435 rad; the line misses the cosine most at the start, by 0.15847 of its peak
    assert found.level is Level.NOTE
    assert "up to 26.5 N*m" in found.text
    assert "a torsion_rate of 0.307 N*m/deg, relaxed at 99.9 deg" in found.text
    assert "leave 4.20 N*m." in found.text


@pytest.mark.parametrize(
    ("plan", "helps"),
    [
        (QUARTER, True),
        (Plan(start=-80.0 * DEG, moves=(Travel(to=-10.0 * DEG),)), False),  # gravity grows all the way
        (Plan(start=10.0 * DEG, moves=(Travel(to=10.9 * DEG),)), False),  # hardly a travel
    ],
)
def test_a_torsion_spring_is_offered_only_where_gravity_falls_as_the_arm_rises(plan, helps):
    assert ("balance-would-help" in said(machine(), plan)) is helps


def test_no_gravity_in_the_plane_needs_no_spring():
    assert said(machine(arm=replace(ARM, gravity=0.0)), QUARTER) == {}


@pytest.mark.parametrize("factor", [0.5, 2.0, 3.7])
def test_a_spring_of_another_strength_is_told_the_best_one(factor):
    found = said(with_springs(replace(BEST, rate=factor * BEST.rate)), QUARTER)["balance"]
    assert found.mend.startswith("a torsion_rate of 0.307 N*m/deg would flatten it best (least squares)")
    assert found.mend.endswith("leave 4.20 N*m at most")


def test_the_best_strength_is_not_bettered():
    found = said(with_springs(BEST), QUARTER)["balance"]
    # least where sin(a) = 0.66444, by 0.0718 of the peak to the other side; most at the horizontal, below the line
    line, turn = LEVEL + SLOPE * math.asin(-SLOPE), math.sqrt(1.0 - SLOPE * SLOPE)
    assert (
        f"leaves {PEAK * (1.0 - LEVEL):.2f} to {PEAK * (turn - line):.2f} N*m between 0.0 deg and 90.0 deg"
        in found.text
    )
    assert found.text.endswith("No other strength flattens it better (least squares).")
    assert found.mend == ""


@pytest.mark.parametrize(
    ("helper", "words"),
    [
        (ExtensionSpring(span=ABOVE, rate=150.0, free_length=0.15, initial_tension=4.0), "a rate of {0:.3f} N/mm with"),
        (
            STRUT,
            "a force of {1:.1f} N with a rate of {0:.3f}",
        ),
        (constant(5.0), "a force of {1:.0f} N would"),
    ],
    ids=lambda helper: type(helper).__name__,
)
def test_the_best_strength_is_the_one_an_independent_minimiser_finds(helper, words):
    low, high = LIFT.start, LIFT.moves[0].to

    def squares(factor):
        return quad(lambda a: (PEAK * math.cos(a) - factor * helper.torque(a)) ** 2, low, high, epsabs=1e-12)[0]

    factor = minimize_scalar(squares, bounds=(0.0, 20.0), method="bounded", options={"xatol": 1e-9}).x
    angle = np.linspace(low, high, 181)
    helped = np.array([helper.torque(a) for a in angle])
    assert best_factor(PEAK * np.cos(angle), helped) == pytest.approx(factor, rel=1e-4)
    bought = (factor * getattr(helper, "rate", 0.0) / 1e3, factor * getattr(helper, "force", 0.0))
    assert said(with_springs(helper))["balance"].mend.startswith(words.format(*bought))


def test_an_exact_balance_leaves_nothing():
    exact = ExtensionSpring(span=ABOVE, rate=PEAK / 0.12, free_length=0.0)
    assert "the counterbalance leaves 0 to 0 N*m" in said(with_springs(exact))["balance"].text


def test_a_spring_that_gives_nothing_has_no_best_strength():
    found = said(with_springs(ExtensionSpring(span=ABOVE, rate=100.0, free_length=1.0)))["balance"]
    assert "leaves 13.2 to 26.5 N*m" in found.text
    assert found.mend == ""


# slack


@pytest.mark.parametrize(
    ("helper", "ranges"),
    [
        # 0.16 = 0.25 - 0.24 sin(a): 22.02 deg
        (ExtensionSpring(span=ABOVE, rate=100.0, free_length=0.4), "slack between 22.0 deg and 60.0 deg"),
        # 0.2054 long at 60 deg
        (ExtensionSpring(span=ABOVE, rate=100.0, free_length=0.205), None),
        (ExtensionSpring(span=ABOVE, rate=100.0, free_length=0.206), "slack between 59.9 deg and 60.0 deg"),
        # 0.16 = 0.25 + 0.24 sin(a): -22.02 deg
        (GasSpring(span=BELOW, force=50.0, rate=0.0, extended_length=0.4), "length between -22.0 deg and 60.0 deg"),
        # 0.6766 long at 60 deg
        (GasSpring(span=BELOW, force=50.0, rate=0.0, extended_length=0.677), None),
        # 0.04 = 0.25 - 0.24 cos(a): 28.96 deg on either side
        (
            GasSpring(span=AHEAD, force=50.0, rate=0.0, extended_length=0.2),
            "length between -30.0 deg and -29.0 deg and between 29.0 deg and 60.0 deg",
        ),
        (TorsionSpring(rate=5.0, relaxed_at=0.2), None),
        (constant(5.0), None),
    ],
)
def test_where_a_spring_carries_nothing_is_told_by_the_cosine_rule(helper, ranges):
    found = said(with_springs(helper)).get("spring-idle")
    if ranges is None:
        assert found is None
    else:
        assert found is not None
        assert found.level is Level.WARNING
        assert ranges in found.text


def test_a_spring_that_relaxes_at_the_very_end_is_not_slack():
    end = ABOVE.length(60.0 * DEG)
    assert "spring-idle" not in said(with_springs(ExtensionSpring(span=ABOVE, rate=100.0, free_length=end)))


# rising by itself


@pytest.mark.parametrize(
    ("torque", "state", "at"),
    [
        (BACK_DRIVEN * 0.999, None, ""),
        (BACK_DRIVEN * 1.001, "Unpowered and with the payload off", "-30.0"),  # nothing else is on this arm
        (PEAK / 2.0 + BACK_DRIVEN * 0.999, "Unpowered and with the payload off", "-30.0"),
        (PEAK / 2.0 + BACK_DRIVEN * 1.001, "Unpowered", "60.0"),  # where half the load is left
    ],
)
def test_an_arm_rises_once_its_springs_beat_load_and_friction(torque, state, at):
    found = said(with_springs(constant(torque))).get("rises-by-itself")
    if state is None:
        assert found is None
    else:
        assert found is not None
        assert found.text == f"{state} the counterbalance raises the arm by itself, as at {at} deg."


@pytest.mark.parametrize("share", [0.999, 1.001])
def test_a_counterweight_raises_the_arm_whose_payload_is_taken_off(share):
    moment = share * BACK_DRIVEN / GRAVITY  # on the far side, level
    found = said(machine(arm=replace(ARM, first_moment=ARM.first_moment - moment))).get("rises-by-itself")
    assert (found is not None) is (share > 1.0)
    if found is not None:
        assert found.text.endswith("as at 0.0 deg.")


def test_a_self_locking_stage_keeps_any_spring_down():
    worm = replace(with_springs(constant(500.0)), stages=(stage(120.0, 0.4, -0.5),))
    assert "rises-by-itself" not in said(worm)


def test_rising_is_told_by_height_on_both_sides_of_upright():
    free = {"motor": replace(MOTOR, coulomb_torque=0.0, breakaway_torque=0.0), "stages": (stage(10.0, 1.0, 1.0),)}
    to_upright = replace(with_springs(TorsionSpring(rate=100.0, relaxed_at=90.0 * DEG)), **free)
    over = Plan(start=60.0 * DEG, moves=(Travel(to=120.0 * DEG),))
    for angle in (60.0, 89.0, 91.0, 120.0):
        assert rises_unpowered(to_upright, angle * DEG)
        assert not rises_unpowered(machine(**free), angle * DEG)  # falls to its side
    assert "rises-by-itself" in said(to_upright, over)
    assert "rises-by-itself" not in said(machine(**free), over)
    # a push on towards the far side raises only until upright
    pushed = replace(with_springs(constant(1.0)), **free)
    assert rises_unpowered(pushed, 89.0 * DEG)
    assert not rises_unpowered(pushed, 91.0 * DEG)
    found = said(pushed, over)["rises-by-itself"]
    assert found.text == "Unpowered the counterbalance raises the arm by itself, as at 90.0 deg."


# in the whole


def test_the_findings_reach_an_assessment_with_and_without_a_run():
    strong = with_springs(constant(30.0))
    for judge in (check_machine, assess_machine):
        codes = {found.code for found in judge(strong, LIFT).findings}
        assert {"balance", "rises-by-itself"} <= codes
        assert "balance-would-help" not in codes
        assert "balance-would-help" in {found.code for found in judge(machine(), LIFT).findings}


def test_an_arm_thrown_up_by_its_spring_is_not_said_to_come_down():
    # cut at 60 deg, where it pushes with 31.4 N*m against 13.2 of gravity and 8.2 of friction
    found = assess_machine(with_springs(TorsionSpring(rate=60.0, relaxed_at=90.0 * DEG)), LIFT)
    (item,) = [item for item in found.findings if item.code == "falls-unpowered"]
    assert "the arm rises to 90.4 deg, at up to " in item.text
    assert found.holding.coasting.final_angle > found.holding.coasting.at
    (slowed,) = [item for item in found.findings if item.code == "shorted-creeps"]
    assert "the arm rises to " in slowed.text
    stopped = replace(ARM, upper_stop=80.0 * DEG, counterbalances=(TorsionSpring(rate=60.0, relaxed_at=90.0 * DEG),))
    (item,) = [x for x in assess_machine(machine(arm=stopped), LIFT).findings if x.code == "falls-unpowered"]
    assert "the arm rises to its stop in " in item.text


def test_friction_is_compared_with_the_load_that_the_springs_leave():
    # 5 N*m less of 26.478 N*m at the level: 8.247/21.478 does not hold, 20 N*m less: 8.247/6.478 does
    (item,) = [x for x in check_machine(with_springs(constant(20.0)), LOW).findings if x.code == "holds-by-friction"]
    assert f"{BACK_DRIVEN / (PEAK - 20.0):.2f} times the load at 0.0 deg" in item.text
    assert "gravity" not in item.text
    weak = check_machine(with_springs(constant(5.0)), LOW)
    assert "holds-by-friction" not in {x.code for x in weak.findings}


@pytest.mark.parametrize("breakaway", [0.1, 0.7, 2.5])
def test_friction_of_the_pivot_is_not_taken_for_a_counterbalance(breakaway):
    rubbed = machine(arm=replace(ARM, friction=Friction(breakaway=breakaway)))
    curves = torque_curves(rubbed, LIFT)
    assert np.array_equal(curves.gravity, curves.load)
    assert curves.needed - curves.load == pytest.approx(breakaway, rel=1e-12)


def test_the_load_curve_is_gravity_less_the_springs():
    curves = torque_curves(with_springs(constant(5.0)), LIFT)
    assert curves.gravity == pytest.approx(PEAK * np.cos(curves.angle), rel=1e-12)
    assert curves.gravity - curves.load == pytest.approx(5.0, rel=1e-12)
