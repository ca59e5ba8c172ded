"""Worms that lock: how surely at rest, shaken and in motion, against worked answers and other ways to get there."""

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from armsim.checks.assessment import Level
from armsim.checks.holding import hold_statically
from armsim.checks.locking import lock_loss_speed, locks_shaken, worm_holds
from armsim.dynamics.plan import Plan, Travel
from armsim.parts.worm import worm_stage
from armsim.studies.single import assess_machine, check_machine

from .machines import ARM, GRAVITY, LIFT, MOTOR, TC, machine, stage

DEG, RPM = math.pi / 180.0, math.tau / 60.0
CALM = replace(MOTOR, coulomb_torque=0.0, breakaway_torque=0.0, viscous_drag=0.0)
NEED = 6.0 * GRAVITY * 0.45  # N*m at the horizontal


def worm(starts=1, wheel=43, module=1.25e-3, diameter=20e-3, **others):
    settings = {"friction": None, "static_friction": None, **others}
    settings.setdefault("lead_angle", math.atan(starts * module / diameter))
    return worm_stage(
        starts=starts, wheel=wheel, pressure_angle=20.0 * DEG, diameter=diameter, module=None, density=7850.0,
        wheel_density=8800.0, hand=1, name="worm", **settings,
    )  # fmt: skip


def only(machine, code):
    (item,) = [item for item in check_machine(machine, LIFT).findings if item.code == code]
    return item


def codes(machine):
    return {item.code for item in check_machine(machine, LIFT).findings}


def test_a_worm_at_rest_has_friction_and_friction_angle_in_hand():
    (held,) = worm_holds(machine(stages=(stage(5.0, 0.97), worm())))
    # lead 3.57633 deg, tan of it 0.0625; 0.150 is 9.06942 deg of friction angle, 0.0868 is 5.27747
    assert held.threshold == pytest.approx(0.0625 * math.cos(20 * DEG), rel=1e-9)
    assert held.friction == 0.150
    assert held.margin == pytest.approx(2.55402, rel=1e-5)
    assert held.angle_in_hand / DEG == pytest.approx(9.06942 - 3.57633, abs=1e-5)
    # friction 30 % off either way, 0.105 and 0.195: 6.37571 and 11.7233 deg
    low, high = (math.atan(mu / math.cos(20 * DEG)) / DEG for mu in (0.105, 0.195))
    assert [angle / DEG for angle in held.band] == pytest.approx([low - 3.57633, high - 3.57633], abs=1e-5)
    assert held.vibration_friction == pytest.approx(0.7 * 0.124)
    assert held.vibration_margin == pytest.approx(0.0868 / 0.0587308, rel=1e-5)
    assert held.vibration_angle_in_hand / DEG == pytest.approx(5.27747 - 3.57633, abs=1e-5)


def test_the_speed_from_which_a_worm_no_longer_locks_is_that_of_sliding_worm_and_motor():
    (held,) = worm_holds(machine(stages=(stage(5.0, 0.97), worm(), stage(3.0, 0.95))))
    assert held.lock_loss_sliding_speed == pytest.approx(0.406522, rel=1e-5)
    assert held.lock_loss_motor_speed / RPM == pytest.approx(5.0 * 387.444, rel=1e-5)


@pytest.mark.parametrize(("lead", "locks", "shaken"), [(4.8, True, True), (5.2, True, True), (5.35, True, False),
                                                       (9.0, True, False), (9.1, False, False)])  # fmt: skip
def test_thresholds_at_rest_and_shaken(lead, locks, shaken):
    # friction of 0.150 locks up to 9.06942 deg, of 0.0868 up to 5.27747 deg
    (held,) = worm_holds(machine(stages=(worm(lead_angle=lead * DEG),)))
    assert (held.margin >= 1.0, held.angle_in_hand >= 0.0) == (locks, locks)
    assert (held.vibration_margin >= 1.0, held.vibration_angle_in_hand >= 0.0) == (shaken, shaken)


def test_what_vibration_leaves_is_given_or_a_share_of_the_friction_in_motion_and_never_more_than_at_rest():
    left = [
        worm_holds(machine(stages=(worm(**given),)))[0].vibration_friction
        for given in (
            {"friction": 0.08},
            {"friction": 0.08, "static_friction": 0.12},
            {"friction": 0.08, "static_friction": 0.12, "vibration_friction": 0.03},
            {"static_friction": 0.06},
        )
    ]
    assert left == pytest.approx([0.056, 0.056, 0.03, 0.06])


# ---------------------------------------------------------------------------------------------------- findings


def test_a_flat_worm_holds_shaken_too_and_a_steeper_one_until_shaken():
    flat, steep = machine(stages=(worm(),)), machine(stages=(worm(lead_angle=6.5 * DEG),))
    assert (locks_shaken(flat), locks_shaken(steep)) == (True, False)
    note = only(flat, "holds-when-shaken")
    assert note.level is Level.NOTE
    assert "2.55 times the friction it needs to lock: 0.150 against 0.0587, 5.5 deg in hand" in note.text
    assert "leave it 0.0868: 1.48 times, 1.7 deg in hand, it still locks." in note.text
    warning = only(steep, "holds-until-shaken")
    assert warning.level is Level.WARNING
    assert "0.811 times, 1.2 deg short, it no longer locks" in warning.text
    assert not {"holds-until-shaken", "holds-when-shaken"} & codes(machine())


def test_a_shaken_arm_hangs_on_what_other_friction_is_left():
    # shaken, tan(l - p)/tan(l) with p = atan(0.0868/cos 20 deg); the motor's drag holds 43 times itself over that
    phi = math.atan(0.0868 / math.cos(20.0 * DEG))
    reverse = math.tan(6.5 * DEG - phi) / math.tan(6.5 * DEG)
    steep = machine(stages=(worm(lead_angle=6.5 * DEG),))
    held = hold_statically(steep, LIFT)
    assert held.hold_margin is None
    assert held.shaken_margin == pytest.approx(43.0 * TC / reverse / NEED, rel=1e-6)
    assert held.shaken_margin < 1.0
    assert "0.341 times the load: it gives way." in only(steep, "holds-until-shaken").text
    light = replace(ARM, first_moment=0.2 * ARM.first_moment)
    assert "vibration lowers that too" in only(replace(steep, arm=light), "holds-until-shaken").text


def test_a_worm_that_does_not_lock_holds_by_friction_and_less_so_shaken():
    light = replace(ARM, first_moment=0.05 * ARM.first_moment)
    m = machine(stages=(worm(lead_angle=12.0 * DEG),), arm=light)

    def margin(friction):
        phi = math.atan(friction / math.cos(20.0 * DEG))
        return 43.0 * TC * math.tan(12.0 * DEG) / math.tan(12.0 * DEG - phi) / (0.05 * NEED)

    held = hold_statically(m, LIFT)
    assert (held.hold_margin, held.shaken_margin) == pytest.approx((margin(0.150), margin(0.0868)), rel=1e-6)
    assert held.locks_shaken is None
    assert "With worm shaken, " in only(m, "holds-by-friction").text
    assert hold_statically(machine(), LIFT).shaken_margin is None  # no worm


def test_another_stage_that_locks_leaves_open_what_vibration_does():
    steep, box = worm(lead_angle=6.5 * DEG), stage(10.0, 0.4, -0.5)
    assert locks_shaken(machine(stages=(steep, box))) is None
    assert locks_shaken(machine(stages=(box,))) is None
    assert locks_shaken(machine(stages=(worm(), box))) is True


# ---------------------------------------------------------------------------------------------------- in motion


def searched(m, k):
    """The arm speed at which a stage's reverse efficiency in motion turns positive, by halving."""
    law, turns, slow, fast = m.stages[k].law, m.shaft_turns[k], 0.0, m.no_load_speed

    def locked(speed):
        worm_speed = speed * turns
        return law.running(worm_speed, sum(1 for edge in law.speed_edges if worm_speed > edge))[1] <= 0.0

    if not law.static()[1] <= 0.0 or locked(fast):
        return None
    for _ in range(80):
        middle = 0.5 * (slow + fast)
        slow, fast = (middle, fast) if locked(middle) else (slow, middle)
    return fast


@given(
    lead=st.floats(1.0, 12.0),
    friction=st.none() | st.floats(0.02, 0.2),
    rest=st.floats(1.0, 2.0),
    outer=st.floats(1.0, 5.0),
)
def test_the_closed_form_is_where_the_reverse_efficiency_in_motion_changes_sign(lead, friction, rest, outer):
    static = None if friction is None else friction * rest
    turning = worm(lead_angle=lead * DEG, friction=friction, static_friction=static)
    m = machine(stages=(stage(2.0, 0.95), turning, stage(outer, 0.95)))
    assume(abs(math.tan(lead * DEG) * math.cos(20 * DEG) - (friction or 0.15)) > 1e-9)
    found, wanted = lock_loss_speed(m, 1), searched(m, 1)
    assert (found is None) == (wanted is None)
    if wanted is not None:
        assert found == pytest.approx(wanted, rel=1e-6, abs=1e-12)


def test_a_worm_that_locks_at_rest_only_is_told_with_its_speed():
    m = machine(stages=(worm(),))
    assert lock_loss_speed(m, 0) == pytest.approx(0.943559, rel=1e-5)
    assert "54.1 deg/s" in only(m, "locks-only-at-rest").text  # 0.943559 rad/s
    assert lock_loss_speed(machine(stages=(stage(40.0, 0.4, -0.5),)), 0) is None  # constant friction keeps locking
    assert lock_loss_speed(machine(), 0) is None  # never locked


def test_a_worm_that_locks_at_no_speed_at_all_is_told_so_and_a_run_that_lowers_is_warned_of():
    m = machine(stages=(worm(lead_angle=8.0 * DEG),), motor=CALM)
    assert lock_loss_speed(m, 0) == 0.0
    assert "at no speed at all" in only(m, "locks-only-at-rest").text
    cycle = Plan(start=-0.5, moves=(Travel(to=0.5), Travel(to=-0.5, duty=-0.3)))
    (item,) = [item for item in assess_machine(m, cycle).findings if item.code == "locks-only-at-rest"]
    assert item.level is Level.WARNING


# ---------------------------------------------------------------------------------------------------- free play


def test_what_lies_between_the_locking_stage_and_the_arm_is_free_to_move():
    # 0.4 deg at the wheel and 0.2 deg at the gears behind it, over 3 and 2: 0.4/6 + 0.2/2 + 0.3
    train = (
        stage(5.0, 0.97),
        replace(worm(), backlash=0.4 * DEG),
        stage(3.0, 0.95, backlash=0.2 * DEG),
        stage(2.0, 0.95, backlash=0.3 * DEG),
    )
    m = machine(stages=train)
    held = hold_statically(m, LIFT)
    assert held.locked_by == "worm"
    assert held.free_play / DEG == pytest.approx(0.4 / 6.0 + 0.1 + 0.3)
    assert held.free_travel == pytest.approx(0.5 * (0.4 / 6.0 + 0.4) * DEG)
    assert held.missing_backlash == ()
    note = only(m, "free-play")
    assert note.level is Level.NOTE
    assert "0.467 deg at the arm, 4.07 mm at its tip" in note.text
    found = check_machine(m, LIFT).transmission
    assert found.play is None  # the first gears are not given
    assert found.stages[1].backlash == 0.4 * DEG
    whole = check_machine(replace(m, stages=(replace(train[0], backlash=0.6 * DEG), *train[1:])), LIFT).transmission
    assert whole.play / DEG == pytest.approx(0.6 / 258.0 + 0.4 / 6.0 + 0.4)
    assert whole.tip_play == pytest.approx(0.5 * whole.play)


def test_of_two_stages_that_lock_the_one_nearest_to_the_arm_counts():
    first, last = replace(worm(), backlash=0.01), stage(10.0, 0.4, -0.5, name="box", backlash=0.004)
    held = hold_statically(machine(stages=(first, last)), LIFT)
    assert (held.locked_by, held.free_play) == ("box", 0.004)


def test_play_that_is_not_given_is_said_to_be_unknown():
    m = machine(stages=(replace(worm(), backlash=0.6 * DEG), stage(3.0, 0.95, name="last pair")))
    held = hold_statically(m, LIFT)
    assert (held.free_play, held.free_travel, held.missing_backlash) == (None, None, ("last pair",))
    note = only(m, "free-play")
    assert "how far is not known, since that of last pair is not given" in note.text
    assert "the others leave 0.200 deg at the arm" in note.text
    assert "backlash" in note.mend


def test_without_play_or_without_a_lock_nothing_is_said_of_it():
    tight = machine(stages=(replace(worm(), backlash=0.0),))
    assert "free-play" not in codes(tight)
    assert hold_statically(tight, LIFT).free_play == 0.0
    loose = machine(stages=(stage(120.0, 0.7, backlash=0.1),))
    assert "free-play" not in codes(loose)
    assert hold_statically(loose, LIFT).free_play is None
    assert hold_statically(machine(), LIFT).missing_backlash == ("gears",)


@given(place=st.integers(0, 3), play=st.lists(st.floats(0.0, 0.02), min_size=4, max_size=4))
def test_a_locking_stage_anywhere_holds_and_what_is_before_it_adds_no_play(place, play):
    train = [stage(2.0, 0.95, backlash=angle) for angle in play]
    train[place] = stage(2.0, 0.4, -0.5, name="lock", backlash=play[place])
    held = hold_statically(machine(stages=tuple(train)), LIFT)
    assert held.unpowered_holds
    assert held.locked_by == "lock"
    turned = 0.0
    for angle in play[place:]:
        turned = turned / 2.0 + angle
    assert held.free_play == pytest.approx(turned)
