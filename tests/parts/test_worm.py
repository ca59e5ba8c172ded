"""Worm gearing against worked answers: geometry, friction, efficiencies, locking at rest and at speed."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.parts.stage import reverse_of
from armsim.parts.worm import (
    SLOW_EDGE,
    WormLaw,
    efficiencies,
    friction_angle,
    lock_loss_sliding_speed,
    mean_friction,
    sliding_radius,
    worm_stage,
)
from tests.parts.rounded import six_digits

RPM, DEG = math.tau / 60.0, math.pi / 180.0


def worm(starts=1, wheel=43, module=1.25e-3, diameter=20e-3, pressure_angle=20.0, **others):
    settings = {"friction": None, "static_friction": None, **others}
    if "lead_angle" not in settings:
        settings["lead_angle"] = math.atan(starts * module / diameter)
    return worm_stage(
        starts=starts,
        wheel=wheel,
        pressure_angle=pressure_angle * DEG,
        diameter=diameter,
        module=module,
        density=7850.0,
        wheel_density=8800.0,
        hand=1,
        name="worm",
        **settings,
    )


CASES = [
    # starts, teeth, module, diameter, alpha, rpm, lead angle, sliding speed, running pair, pair at rest
    (1, 43, 1.25e-3, 20e-3, 20.0, 2750, 3.57633, 2.88541, (0.681694, 0.534757), (0.278564, -1.53868)),
    (2, 31, 1.5e-3, 18e-3, 20.0, 1900, 9.46232, 1.81541, (0.817264, 0.779075), (0.497199, 0.0411454)),
    (4, 39, 2.0e-3, 28e-3, 20.0, 1450, 15.9454, None, (0.888233, 0.876514), (0.612303, 0.422058)),
    (1, 57, 0.8e-3, 16e-3, 14.5, 5200, 2.86241, 4.36178, (0.683483, 0.537974), (0.242090, -2.08257)),
]


@pytest.mark.parametrize(
    ("starts", "teeth", "module", "diameter", "alpha", "rpm", "lead", "sliding", "running", "resting"), CASES
)
def test_worms_have_their_lead_angle_and_both_efficiencies(
    starts, teeth, module, diameter, alpha, rpm, lead, sliding, running, resting
):
    stage = worm(starts, teeth, module, diameter, alpha)
    assert stage.reduction == pytest.approx(teeth / starts)
    assert stage.details["lead_angle"] / DEG == six_digits(lead)
    if sliding is not None:
        assert rpm * RPM * sliding_radius(diameter, lead * DEG) == pytest.approx(sliding, rel=3e-6)
    assert stage.law.running(rpm * RPM, 1) == (six_digits(running[0]), six_digits(running[1]))
    assert stage.law.static() == (six_digits(resting[0]), six_digits(resting[1]))


def test_geometry_and_friction_angles_of_a_single_start_worm():
    details = worm().details
    assert details["axial_pitch"] * 1e3 == six_digits(3.92699)
    assert details["centre_distance"] * 1e3 == six_digits(36.8750)
    assert mean_friction(2.88541, 1) == six_digits(0.0272671)
    assert friction_angle(0.0272671, 20 * DEG) / DEG == pytest.approx(1.66209, rel=1e-5)
    assert details["static_friction_angle"] / DEG == six_digits(9.06942)


def test_friction_while_running_by_speed_of_the_worm():
    assert mean_friction(1.81541, 1) == six_digits(0.0338674)
    steep = math.atan(4 * 2.0 / 28.0)
    assert mean_friction(1450 * RPM * sliding_radius(28e-3, steep), 1) == six_digits(0.0309401)
    assert friction_angle(0.10, 20 * DEG) / DEG == six_digits(6.07443)


def test_the_rule_of_one_mesh_is_near_for_a_running_worm_and_wrong_for_one_at_the_threshold():
    running, resting = worm().law.running(2750 * RPM, 1), worm(2, 31, 1.5e-3, 18e-3).law.static()
    assert reverse_of(running[0]) == six_digits(0.533066)
    assert reverse_of(resting[0]) == pytest.approx(-0.0112687, abs=5e-8)
    assert resting[1] > 0.0  # the threads themselves do not lock


FRICTION = [
    (0.01, 0, 0.110582),
    (0.0508, 0, 0.0894398),
    (0.050801, 1, 0.0875451),
    (0.1, 1, 0.0796451),
    (0.5, 1, 0.0552613),
    (2.0, 1, 0.0324089),
    (10.0, 1, 0.0156508),
]


@pytest.mark.parametrize(("sliding", "regime", "friction"), FRICTION)
def test_friction_falls_with_sliding_speed(sliding, regime, friction):
    assert mean_friction(sliding, regime) == six_digits(friction)


THRESHOLDS = [
    (0.08, {14.5: 4.72373, 20.0: 4.86610, 25.0: 5.04444}),
    (0.15, {14.5: 8.80710, 20.0: 9.06942, 25.0: 9.39764}),
]


@pytest.mark.parametrize(("friction", "angles"), THRESHOLDS)
def test_a_worm_locks_below_its_friction_angle_and_not_above(friction, angles):
    for alpha, threshold in angles.items():
        assert friction_angle(friction, alpha * DEG) / DEG == six_digits(threshold)
        assert efficiencies((threshold - 1e-4) * DEG, alpha * DEG, friction)[1] < 0.0
        assert efficiencies((threshold + 1e-4) * DEG, alpha * DEG, friction)[1] > 0.0


@pytest.mark.parametrize(("lead", "forward"), [(3.0, 0.499), (8.0, 0.490), (20.0, 0.434)])
def test_at_the_threshold_efficiency_is_a_little_under_one_half(lead, forward):
    friction = math.tan(lead * DEG) * math.cos(20 * DEG)
    assert efficiencies(lead * DEG, 20 * DEG, friction)[0] == pytest.approx(forward, abs=5e-4)
    assert efficiencies(lead * DEG, 20 * DEG, friction)[0] == pytest.approx((1 - math.tan(lead * DEG) ** 2) / 2)


@given(lead=st.floats(0.5, 40.0), alpha=st.floats(14.0, 30.0), friction=st.floats(0.005, 0.3))
def test_both_forms_of_the_efficiencies_agree(lead, alpha, friction):
    angle, phi = lead * DEG, friction_angle(friction, alpha * DEG)
    forward, reverse = efficiencies(angle, alpha * DEG, friction)
    assert forward == pytest.approx(math.tan(angle) / math.tan(angle + phi), rel=1e-9)
    assert reverse == pytest.approx(math.tan(angle - phi) / math.tan(angle), rel=1e-9, abs=1e-9)


def test_constant_friction_of_a_tenth_locks_at_any_speed():
    law = worm(friction=0.10).law
    assert law.running(0.0, 0) == law.running(300.0, 0) == law.static()
    assert law.running(0.0, 0) == (six_digits(0.367542), six_digits(-0.698042))
    assert law.speed_edges == ()
    assert law.lock_loss_speed() is None


V_STAR = [(2.0, 1.946), (3.0, 0.712), (4.0, 0.264), (5.0, 0.0814), (6.0, 0.0290), (8.0, 0.0), (9.0, 0.0)]


@pytest.mark.parametrize(("lead", "speed"), V_STAR)
def test_above_some_sliding_speed_a_worm_no_longer_locks(lead, speed):
    found = lock_loss_sliding_speed(lead * DEG, 20 * DEG)
    if speed == 0.0:
        assert found == 0.0
        assert efficiencies(lead * DEG, 20 * DEG, 0.150)[1] < 0.0  # it locks at rest only
    else:
        assert found == pytest.approx(speed, rel=2e-3)


def test_a_worm_too_flat_to_be_driven_at_any_speed_has_no_such_speed():
    assert lock_loss_sliding_speed(0.5 * DEG, 20 * DEG) is None


def test_a_worm_loses_its_lock_with_motion_where_friction_in_motion_is_too_low_and_never_where_it_never_had_one():
    steep = worm(module=None, lead_angle=8.0 * DEG).law
    assert (steep.lock_loss_sliding_speed(), steep.lock_loss_speed()) == (0.0, 0.0)
    assert worm(module=None, lead_angle=9.5 * DEG).law.lock_loss_speed() is None  # 0.150 locks up to 9.06942 deg
    # tan(5 deg) cos(20 deg) = 0.08221
    assert worm(module=None, lead_angle=5.0 * DEG, friction=0.082, static_friction=0.09).law.lock_loss_speed() == 0.0
    assert worm(module=None, lead_angle=5.0 * DEG, friction=0.083, static_friction=0.09).law.lock_loss_speed() is None


def test_under_vibration_a_worm_has_less_friction_at_rest_and_in_motion():
    law = worm().law.shaken
    assert law.static() == law.running(300.0, 0)
    # 0.0868 against tan(l) cos(alpha) = 0.0587308: (c t - mu)/(t (c + mu t)) = -0.0280692/(0.0625 * 0.945118)
    assert law.static()[1] == pytest.approx(-0.475190, rel=1e-5)
    assert worm(vibration_friction=0.03).law.shaken.static()[1] > 0.0
    assert law.threshold == pytest.approx(0.0587308, rel=1e-6)


def test_between_the_pieces_of_the_friction_curve_the_edge_itself_is_where_locking_is_lost():
    friction = 0.0885  # between 0.0894 and 0.0875
    assert lock_loss_sliding_speed(math.atan(friction / math.cos(20 * DEG)), 20 * DEG) == SLOW_EDGE


def test_the_speed_trap_of_a_single_start_worm():
    stage = worm()
    assert lock_loss_sliding_speed(stage.details["lead_angle"], 20 * DEG) == six_digits(0.406522)
    assert stage.law.lock_loss_speed() / RPM == six_digits(387.444)
    assert stage.details["worm_speed_above_which_it_no_longer_locks"] / 43.0 == six_digits(0.943559)
    for arm_speed, reverse in ((0.5, -0.171932), (1.2, 0.0684526), (2.0, 0.216015)):
        assert stage.law.running(arm_speed * 43.0, 1)[1] == six_digits(reverse)


def test_a_worm_at_rest_holds_a_load_over_a_window_of_motor_torque():
    forward, reverse = worm().law.static()
    assert 9.0 * reverse / 43.0 == six_digits(-0.322048)
    assert 9.0 / (43.0 * forward) == six_digits(0.751362)


def test_the_friction_curves_pieces_meet_at_its_edge_and_stay_finite_beyond_it():
    law = worm().law
    (edge,) = law.speed_edges
    assert edge * sliding_radius(20e-3, math.atan(0.0625)) == pytest.approx(SLOW_EDGE, rel=1e-12)
    assert law.running(edge, 0)[0] == pytest.approx(law.running(edge, 1)[0], rel=0.02)
    for regime in (0, 1):
        assert all(math.isfinite(value) for value in law.running(0.0, regime))


def test_bearings_cost_in_every_direction():
    bare, borne = worm().law, worm(bearing_efficiency=0.95).law
    assert borne.static()[0] == pytest.approx(0.95 * bare.static()[0])
    assert borne.static()[1] == pytest.approx(bare.static()[1] / 0.95)  # locked: harder to drive down
    assert borne.running(2750 * RPM, 1)[1] == pytest.approx(0.95 * bare.running(2750 * RPM, 1)[1])


def test_friction_at_rest_is_what_is_given_else_the_running_one_else_the_curves():
    assert worm(friction=0.07, static_friction=0.11).details["static_friction"] == 0.11
    assert worm(friction=0.07).details["static_friction"] == 0.07
    assert worm().details["static_friction"] == 0.150
    assert worm(static_friction=0.11).details["static_friction"] == 0.11


def test_module_gives_the_diameter_and_the_diameter_the_module():
    lead = math.atan(0.0625)
    by_module = worm(diameter=None, lead_angle=lead)
    by_diameter = worm_stage(
        starts=1, wheel=43, lead_angle=lead, pressure_angle=20 * DEG, friction=None, static_friction=None,
        diameter=20e-3, module=None, density=7850.0, wheel_density=8800.0, hand=-1, name="worm",
    )  # fmt: skip
    assert by_module.details["worm_diameter"] == pytest.approx(20e-3, rel=1e-12)
    assert by_diameter.details["axial_module"] == pytest.approx(1.25e-3, rel=1e-12)
    assert by_diameter.details["hand"] == "left"
    assert by_diameter.driver_radius == pytest.approx(10e-3)


def test_worm_and_wheel_carry_their_inertia():
    stage = worm(face_width=12e-3)
    # wheel: 8800 kg/m3, 12 mm, 53.75 mm; worm: 7850 kg/m3, 20 mm, threads over 2 sqrt(2*53.75*1.25) mm
    assert stage.output_inertia == pytest.approx(math.pi / 32 * 8800 * 0.012 * 0.05375**4, rel=1e-12)
    assert stage.input_inertia == pytest.approx(math.pi / 32 * 7850 * 23.184e-3 * 0.02**4, rel=1e-4)
    assert worm(input_inertia=4.2e-5).input_inertia == 4.2e-5


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="needs the worm's diameter"):
        WormLaw(lead_angle=0.06, pressure_angle=0.35, static_friction=0.15)
    with pytest.raises(ValueError, match="cannot turn the wheel"):
        WormLaw(lead_angle=1.4, pressure_angle=0.35, friction=0.3, static_friction=0.3)
    with pytest.raises(ValueError, match="between 0 and 90"):
        WormLaw(lead_angle=0.0, pressure_angle=0.35, friction=0.1, static_friction=0.1)
    with pytest.raises(ValueError, match=r"module of 1\.25 mm, not 2 mm"):
        worm(module=2.0e-3, lead_angle=math.atan(0.0625))
