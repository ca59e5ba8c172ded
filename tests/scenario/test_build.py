"""From the text of a scenario to the numbers of its machine, against sums done by hand."""

import math
import subprocess
import sys

import pytest

from armsim.dynamics.plan import Hold, Rest, Travel
from armsim.scenario import loads, starter
from tests.scenario.texts import SECTIONS, read, refused

BATTERY = "battery: {open_circuit_voltage: 25 V, internal_resistance: 40 mohm}"


def assumed(scenario, key):
    return next(assumption for assumption in scenario.assumptions if assumption.key == key)


def test_a_catalogue_row_gives_its_constants():
    motor = read().machine.motor
    assert motor.resistance == pytest.approx(24 / 26)
    assert motor.back_emf_constant == pytest.approx(24 * (1 - 1.4 / 26) / (2600 * math.tau / 60))
    assert motor.breakaway_torque == motor.coulomb_torque
    assert assumed(read(), "motor.resistance").origin == "derived"


def test_constants_are_taken_as_they_are():
    motor = read(
        motor="{count: 2, torque_constant: 54 mN*m/A, resistance: 0.5 ohm, "
        "coulomb_friction: 10 mN*m, breakaway_friction: 15 mN*m}"
    ).machine.motor
    assert (motor.count, motor.torque_constant, motor.back_emf_constant, motor.resistance) == (2, 0.054, 0.054, 0.5)
    assert (motor.coulomb_torque, motor.breakaway_torque, motor.viscous_drag) == (0.01, 0.015, 0.0)


def test_what_a_motor_sheet_leaves_out_is_assumed_and_listed():
    scenario = read(motor="{torque_constant: 54 mN*m/A, resistance: 0.5 ohm}")
    assert scenario.machine.motor.inductance == pytest.approx(0.5e-3 * 0.5)
    assert scenario.machine.motor.rotor_inertia == pytest.approx(0.012 * 0.054**2 / 0.5)
    assert assumed(scenario, "motor.rotor_inertia").origin == "default"
    assert "typical for iron-core rotors" in assumed(scenario, "motor.rotor_inertia").text


def test_a_torque_constant_below_the_back_emf_constant_is_a_loss():
    machine = read(motor="{torque_constant: 50 mN*m/A, back_emf_constant: 54 mV*s/rad, resistance: 0.5 ohm}").machine
    stall_per_ampere = machine.motor.torque_constant * math.prod(
        stage.law.static()[0] for stage in machine.stages if stage.kind != "gearbox"
    )
    assert stall_per_ampere == pytest.approx(0.050)


def test_ten_gauge_wire_of_the_trade_has_its_resistance_both_ways():
    scenario = read(supply=f"{{{BATTERY}, wiring: {{gauge: 10 AWG, length: 30 ft, joints: 4 mohm}}}}")
    assert scenario.machine.wiring_resistance == pytest.approx(0.05993 + 0.004, abs=2e-5)


def test_a_battery_table_starts_at_its_state_of_charge():
    battery = read(
        supply="{battery: {open_circuit_voltage: [[0, 23.6 V], [50 %, 24.6 V], [1, 25.7 V]], "
        "internal_resistance: 40 mohm, capacity: 12 A*h, state_of_charge: 80%}}"
    ).machine.battery
    assert battery.charge_points == (0.0, 0.5, 1.0)
    assert battery.voltage_points == (23.6, 24.6, 25.7)
    assert (battery.capacity, battery.state_of_charge) == (43200.0, 0.8)


def test_a_known_breaker_comes_with_both_edges_of_its_band():
    (device,) = read(
        supply=f"{{{BATTERY}, protection: [{{kind: thermal-auto-reset, rating: 30 A}}]}}"
    ).machine.protection
    assert (device.rating, device.resets_itself, device.opens_at_earliest) == (30.0, True, False)
    assert sum(device.earliest.weights) == pytest.approx(1.0, abs=1e-4)
    (other,) = read(
        supply=f"{{{BATTERY}, protection: [{{kind: thermal-auto-reset, rating: 30 A, "
        "resets: manual, opens_at: earliest}]}"
    ).machine.protection
    assert (other.resets_itself, other.opens_at_earliest) == (False, True)


@pytest.mark.parametrize(
    ("keys", "ambient", "in_force"),
    [
        ("kind: thermal-auto-reset", "-10 degC", 40 / 0.84),  # a cold morning
        ("kind: thermal-auto-reset", "50 degC", 40 / 1.16),  # the hottest hour
        ("kind: thermal-auto-reset", "25 degC", 40.0),
        ("kind: thermal-magnetic-c", "50 degC", 40 / 1.19),
        ("kind: hydraulic-magnetic-short", "50 degC", 40.0),
        ("kind: blade-fuse, ambient: 60 degC", "0 degC", 40 * ((420 - 60) / (420 - 25)) ** 0.5),
        ("kind: hydraulic-magnetic-short, ambient_effect: thermal", "50 degC", 40 / 1.16),
    ],
)
def test_warmth_settles_what_a_rating_is_worth(keys, ambient, in_force):
    scenario = read(supply=f"{{{BATTERY}, protection: [{{{keys}, rating: 40 A}}]}}", ambient=ambient)
    (device,) = scenario.machine.protection
    assert device.rating == 40.0
    assert device.in_force == pytest.approx(in_force)
    told = [note.text for note in scenario.assumptions if note.key == "supply.protection[0].ambient"]
    assert len(told) == (in_force != 40.0)


def test_warmth_leaves_an_own_curve_as_given_unless_told_what_it_does():
    curve = "curve: [[1.35, 10 s, never], [2, 5 s, 40 s], [3, 2 s, 15 s]]"
    plain, told = f"kind: own-curve, rating: 30 A, {curve}", "ambient_effect: thermal"
    devices = f"[{{{plain}}}, {{{told}, {plain}}}]"
    scenario = read(supply=f"{{{BATTERY}, protection: {devices}}}", ambient="40 degC")
    assert [device.in_force for device in scenario.machine.protection] == [30.0, pytest.approx(30 / 1.08)]
    assert "not known" in assumed(scenario, "supply.protection[0].ambient").text


def test_a_breaker_by_its_own_curve_encloses_every_row():
    from armsim.parts.protection import trip_time

    curve = "[[1.35, 10 s, never], [2, 5 s, 40 s], [3, 2 s, 15 s], [6, 0.5 s, 4 s]]"
    scenario = read(supply=f"{{{BATTERY}, protection: [{{kind: own-curve, rating: 30 A, curve: {curve}}}]}}")
    (device,) = scenario.machine.protection
    for multiple, early, late in ((2, 5, 40), (3, 2, 15), (6, 0.5, 4)):
        assert trip_time(device.earliest, multiple) <= early * (1 + 1e-9)
        assert trip_time(device.latest, multiple) >= late * (1 - 1e-9)
    assert assumed(scenario, "supply.protection[0].curve").origin == "fitted"


def test_stages_come_from_their_teeth_and_sheets():
    scenario = read(
        transmission="""
        - gears: {driver: 14, driven: 56, idlers: [20], module: 1.25 mm, face_width: 12 mm}
        - chain: {number: "40", driver: 13, driven: 44, centre_distance: 310 mm}
        - worm: {starts: 1, wheel: 30, lead_angle: 4.8 deg, friction: 0.07}
        - gearbox: {reduction: 71:1, efficiency: 0.73, reverse_efficiency: 0.6, input_inertia: 3e-6 kg*m^2,
                    drag: 4 mN*m, sense: opposite, name: head}
        """
    )
    gears, chain, worm, box = (stage for stage in scenario.machine.stages if stage.kind != "rotor loss")
    assert [stage.reduction for stage in (gears, chain, worm, box)] == [4.0, 44 / 13, 30.0, 71.0]
    assert gears.law.static()[0] == pytest.approx(0.97**2)
    assert gears.driver_radius == pytest.approx(0.00875)
    assert (gears.sense, chain.sense, worm.sense, box.sense) == (1, 1, None, -1)
    assert worm.law.static()[0] == pytest.approx(
        math.tan(math.radians(4.8)) / math.tan(math.radians(4.8) + math.atan(0.07 / math.cos(math.radians(20))))
    )
    assert (box.name, box.drag, box.input_inertia) == ("head", 0.004, 3e-6)
    assert box.law.static() == (0.73, 0.6)
    assert assumed(scenario, "transmission[0].gears.efficiency").text.startswith("0.97 a mesh")


def test_diametral_pitch_is_a_module():
    stage = read(transmission="[{gears: {driver: 16, driven: 32, diametral_pitch: 16 DP}}]").machine.stages[-1]
    assert stage.driver_radius == pytest.approx(0.0254 / 2)


def test_gears_without_a_size_have_no_inertia_and_say_so():
    scenario = read(transmission="[{gears: {driver: 16, driven: 32}}]")
    assert scenario.machine.stages[-1].output_inertia == 0.0
    assert "is not known" in assumed(scenario, "transmission[0].gears.inertia").text


def test_a_lead_angle_follows_from_module_and_diameter():
    stage = read(transmission="[{worm: {starts: 2, wheel: 40, module: 2 mm, diameter: 20 mm}}]").machine.stages[-1]
    assert stage.details["lead_angle"] == pytest.approx(math.atan(0.2))


def test_friction_of_a_worm_under_vibration_is_assumed_from_that_in_motion_unless_given():
    scenario = read(transmission="[{worm: {starts: 1, wheel: 30, lead_angle: 4.8 deg, friction: 0.1}}]")
    assert scenario.machine.stages[-1].law.vibration_friction == pytest.approx(0.07)
    assert assumed(scenario, "transmission[0].worm.vibration_friction").text.startswith("0.07, 0.7 of the friction in")
    given = read(
        transmission="[{worm: {starts: 1, wheel: 30, lead_angle: 4.8 deg, friction: 0.1, vibration_friction: 0.05}}]"
    )
    assert given.machine.stages[-1].law.vibration_friction == 0.05
    assert not [a for a in given.assumptions if a.key.endswith("vibration_friction")]


def test_backlash_is_an_angle_at_the_output_or_a_length_along_the_pitch_circle():
    scenario = read(
        transmission="""
        - gears: {driver: 17, driven: 53, module: 1 mm, backlash: 0.0762661 mm}
        - gears: {driver: 16, driven: 20, idlers: [30], diametral_pitch: 16, backlash: 0.004 in}
        - chain: {number: "40", driver: 16, driven: 45, backlash: 0.32 mm}
        - worm: {starts: 1, wheel: 40, lead_angle: 4.8 deg, friction: 0.07, module: 1.5 mm, backlash: 0.1 mm}
        - worm: {starts: 2, wheel: 30, lead_angle: 10 deg, friction: 0.07, diameter: 20 mm, backlash: 0.1 mm}
        - gearbox: {reduction: 71:1, efficiency: 0.73, backlash: 15 arcmin}
        - gearbox: {reduction: 71:1, efficiency: 0.73}
        """
    )
    # 0.0716667 mm normal is 0.0762661 mm along the circle; 2 meshes of 4 thou on 1.25 in; 0.32 mm on 182.062 mm;
    # 0.1 mm on 60 mm; 20 mm tan(10 deg)/2 is a module of 1.763270 mm, 30 teeth of it 52.8981 mm
    wanted = [0.164895, math.degrees(2 * 0.004 / 0.625), 0.201411, math.degrees(0.1 / 30), math.degrees(0.2 / 52.8981)]
    *angles, missing = (stage.backlash for stage in scenario.machine.stages if stage.kind != "rotor loss")
    assert [math.degrees(angle) for angle in angles] == pytest.approx([*wanted, 0.25], rel=5e-6)
    assert missing is None


def test_no_transmission_is_direct_drive():
    assert read(transmission="").machine.reduction == 1.0


def test_a_uniform_pole_with_a_weight_at_its_end_needs_the_known_torque():
    arm = read(arm="{length: 9 ft, mass: 20 lb, payload: {mass: 8 lb}}").machine.arm
    pound_foot = 1.3558179483314004
    assert arm.first_moment * arm.gravity == pytest.approx(162 * pound_foot, rel=1e-9)
    assert arm.inertia == pytest.approx((20 / 3 + 8) * 81 * 0.45359237 * 0.3048**2, rel=1e-9)


def test_masses_stand_in_place_of_mass_and_centre():
    arm = read(arm="{length: 0.6 m, masses: [{mass: 2 kg, at: 0.1 m}, {mass: 1 kg, at: 0.5 m}]}").machine.arm
    assert (arm.first_moment, arm.inertia) == (pytest.approx(0.7), pytest.approx(0.27))


@pytest.mark.parametrize(
    ("plane", "share"), [("vertical", 1.0), ("horizontal", 0.0), ("{tilt: 30 deg}", math.sqrt(3) / 2)]
)
def test_gravity_acts_by_the_plane_of_motion(plane, share):
    arm = read(arm=f"{{length: 0.6 m, mass: 2 kg, plane: {plane}}}").machine.arm
    assert arm.gravity == pytest.approx(9.80665 * share)


def test_moves_and_power_cut_become_the_plan():
    plan = read(
        moves="[{lift: {to: 70 deg, patience: 30 s}}, {hold: {for: 2 s}}, "
        "{lower: {to: 0 deg, duty: 40%}}, {rest: {for: 1 min}}]",
        repeat="3",
        power_cut="{at: 60 deg}",
    ).plan
    lift, hold, lower, rest = plan.moves
    assert lift == Travel(to=math.radians(70), duty=1.0, patience=30.0)
    assert hold == Hold(duration=2.0)
    assert isinstance(lower, Travel)
    assert lower.duty == -0.4
    assert rest == Rest(duration=60.0)
    assert (plan.repeat, plan.power_cut.angle, plan.power_cut.time) == (3, pytest.approx(math.pi / 3), None)
    assert read(power_cut="{at: 0.42 s}").plan.power_cut.time == pytest.approx(0.42)


def test_requirements_become_wishes_in_si():
    wishes = read(
        requirements="{lift_time: {max: 0.1 min}, tip_speed: {max: 5 ft/s}, static_margin: {min: 1.5}, "
        "winding_temperature: {max: 212 F}, breaker_trips: no}"
    ).requirements
    assert {(w.name, w.dimension, w.sense): w.limit for w in wishes} == {
        ("lift_time", "time", "max"): 6.0,
        ("winding_temperature", "temperature", "max"): pytest.approx(100.0),
        ("static_margin", "ratio", "min"): 1.5,
        ("tip_speed", "velocity", "max"): pytest.approx(1.524),
        ("breaker_trips", "flag", "is"): False,
    }


def test_the_parts_list_is_kept():
    (row,) = read(parts_list="[{item: chain, quantity: 2, unit_price: 12.5, mass: 900 g, source: invented}]").parts_list
    assert (row.item, row.quantity, row.unit_price, row.mass, row.source) == ("chain", 2.0, 12.5, 0.9, "invented")


def test_every_typed_value_is_echoed():
    scenario = read()
    keys = [entry.key for entry in scenario.entries]
    assert len(keys) == len(set(keys)) == 15
    entry = next(entry for entry in scenario.entries if entry.key == "arm.length")
    assert (entry.typed, entry.value, entry.understood, entry.place.line) == ("0.6 m", 0.6, "0.6 m", 5)


def test_a_default_ambient_is_listed_and_a_given_one_is_not():
    assert assumed(read(), "ambient").origin == "default"
    assert not [a for a in read(ambient="30 degC").assumptions if a.key == "ambient"]


def test_a_unit_changes_nothing():
    metric = read(arm="{length: 609.6 mm, mass: 4.5359237 kg}").machine.arm
    imperial = read(arm="{length: 2 ft, mass: 10 lb}").machine.arm
    assert imperial.first_moment == pytest.approx(metric.first_moment, rel=1e-14)


def test_faults_of_a_section_do_not_hide_those_of_another():
    problems = refused(
        arm="{length: 3 kg, mass: 5 kg}",
        motor=SECTIONS["motor"].replace("1.4 A", "30 A"),
        moves="[{lift: {to: -5 deg}}, {}]",
    )
    assert [problem.code for problem in problems] == ["SCN121", "SCN111", "SCN122"]
    assert [problem.line for problem in problems] == sorted(problem.line for problem in problems)


def test_the_starter_loads_without_a_warning_and_lifts():
    from armsim.studies.single import assess

    scenario = loads(starter())
    assert scenario.warnings == ()
    assert assess(scenario).verdict == "pass"


def test_reading_brings_in_neither_scipy_nor_matplotlib():
    code = (
        "import sys; from armsim.scenario import loads, starter; loads(starter());"
        "print([m for m in ('scipy', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
