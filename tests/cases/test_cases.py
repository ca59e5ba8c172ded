"""Practitioners' questions with known answers, each as a scenario; ranges are those of the answers."""

from pathlib import Path

import numpy as np
import pytest

from armsim.checks.assessment import Assessment
from armsim.checks.judged_parts import Fit
from armsim.checks.lifting import available_torque
from armsim.dynamics.run import Kind, Run
from armsim.parts.gears import GearPath
from armsim.scenario import Scenario, loads
from armsim.studies.single import assess, check

HERE = Path(__file__).parent
POUND_FORCE_INCH = 0.112984829
OUNCE_FORCE_INCH = POUND_FORCE_INCH / 16.0
POUND_FORCE = 4.4482216


def scenario(name: str, *changes: tuple[str, str]) -> Scenario:
    """A case's scenario, with texts replaced."""
    text = (HERE / f"{name}.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return loads(text, name=f"{name}.yaml")


def ran(assessment: Assessment) -> Run:
    assert assessment.run is not None
    return assessment.run


class TestHatchOnTwoMotors:
    def test_torque_share_of_stall_current_and_time(self) -> None:
        result = assess(scenario("hatch-two-motors"))
        run = ran(result)
        assert 17.2 <= result.curves.needed[0] <= 17.6
        assert result.lift.static_margin is not None
        assert 0.38 <= 1.0 / result.lift.static_margin <= 0.50
        # the arm is still near level after its first tenth of a second, and the inrush is over
        early = np.interp(0.3, run.time, run.motor_current)
        assert 2.0 <= early <= 2.6
        assert result.lift.reached
        assert result.lift.time is not None
        assert 2.6 <= result.lift.time <= 4.0


class TestLeverOnAChain:
    def test_torque_at_arm_and_motor(self) -> None:
        result = check(scenario("lever-on-a-chain"))
        assert 594 <= result.curves.gravity[0] / POUND_FORCE_INCH <= 606
        motor, arm = result.transmission.shafts[0], result.transmission.shafts[-1]
        assert 594 <= arm.torque / POUND_FORCE_INCH <= 606
        assert 297 <= motor.torque / POUND_FORCE_INCH <= 320

    def test_chain_pull_times_sprocket_radius_is_the_arm_torque(self) -> None:
        result = check(scenario("lever-on-a-chain"))
        force = result.transmission.stages[0].contact_force
        assert force is not None
        radius = 24 * 6.35e-3 / (2.0 * np.pi)
        # on a sprocket of one inch radius this is the 600 lbf of the question
        assert 590 <= force * radius / 0.0254 / POUND_FORCE <= 610


class TestPickingPole:
    def test_torque_at_level_and_at_forty_five_degrees(self) -> None:
        result = check(scenario("picking-pole"))
        gravity = np.interp(np.radians([0.0, 45.0]), result.curves.angle, result.curves.gravity)
        assert 217 <= gravity[0] <= 222
        assert 160 <= gravity[0] / POUND_FORCE_INCH / 12.0 <= 164
        assert 113 <= gravity[1] / POUND_FORCE_INCH / 12.0 <= 116

    def test_work_to_raise_it(self) -> None:
        curves = check(scenario("picking-pole")).curves
        assert 217 <= np.trapezoid(curves.gravity, curves.angle) <= 222


class TestLongLead:
    @pytest.mark.parametrize(
        ("gauge", "ohms", "at_10", "at_23"),
        [
            ("14 AWG", (0.145, 0.165), (1.45, 1.65), (3.3, 3.8)),
            ("12ga", (0.092, 0.104), (0.92, 1.04), (2.1, 2.4)),
            ("AWG 10", (0.058, 0.066), (0.58, 0.66), (1.33, 1.52)),
        ],
    )
    def test_drop_out_and_back(self, gauge, ohms, at_10, at_23) -> None:
        loop = scenario("long-lead", ("14 AWG", gauge)).machine.wiring_resistance
        assert ohms[0] <= loop <= ohms[1]
        assert at_10[0] <= 10.0 * loop <= at_10[1]
        assert at_23[0] <= 23.0 * loop <= at_23[1]


class TestStalledLiftsOnOneBattery:
    @pytest.mark.parametrize(
        ("count", "milliohm", "amps", "volts"),
        [("2", "20", (186, 196), (8.6, 8.9)), ("4", "20", (285, 300), (6.6, 6.85)), ("4", "28", None, (5.5, 6.3001))],
    )
    def test_current_and_voltage(self, count, milliohm, amps, volts) -> None:
        changes = (("count: 2", f"count: {count}"), ("20 mohm", f"{milliohm} mohm"))
        run = ran(assess(scenario("stalled-lifts-on-one-battery", *changes)))
        if amps:
            assert amps[0] <= run.peaks.supply_current.value <= amps[1]
        assert volts[0] <= run.peaks.bus_voltage.value <= volts[1]
        assert (run.first(Kind.UNDERVOLTAGE) is not None) == (milliohm == "28")

    def test_the_poor_battery_without_a_reset(self) -> None:
        changes = (("count: 2", "count: 4"), ("20 mohm", "28 mohm"), ("  undervoltage: 6.3 V\n", ""))
        run = ran(assess(scenario("stalled-lifts-on-one-battery", *changes)))
        assert 5.5 <= run.peaks.bus_voltage.value <= 5.8

    def test_voltage_at_two_hundred_amperes(self) -> None:
        changes = (("undervoltage: 6.3 V", "other_loads: 200 A"), ("- lift: {to: 45 deg}", "- rest: {for: 1 s}"))
        run = ran(assess(scenario("stalled-lifts-on-one-battery", *changes)))
        assert 8.55 <= run.bus_voltage[0] <= 8.65


class TestBrushlessLever:
    def test_torque_constant_from_the_speed_constant(self) -> None:
        assert 0.0117 <= scenario("brushless-lever").machine.motor.torque_constant <= 0.0122

    def test_current_direct_and_through_gears(self) -> None:
        direct = check(scenario("brushless-lever")).holding.holding_current
        gears = "transmission:\n  - gears: {driver: 20, driven: 40, efficiency: 1.0}"
        geared = check(scenario("brushless-lever", ("transmission: []", gears))).holding.holding_current
        assert direct is not None
        assert geared is not None
        assert 69 <= direct <= 73
        assert 34.5 <= geared <= 39
        assert 118 <= geared**2 * 0.1 <= 152

    def test_stall(self) -> None:
        machine = scenario("brushless-lever").machine
        assert 1.39 <= available_torque(machine, 1.0) <= 1.48

    def test_seventeen_kilograms_at_fifty_millimetres_is_ten_times_that(self) -> None:
        result = check(scenario("brushless-lever", ("1.7335 kg", "17 kg")))
        assert result.curves.gravity[0] == pytest.approx(8.34, abs=0.005)
        assert result.headline.startswith("DOES NOT LIFT")


class TestCrateFlipper:
    def test_share_of_stall_torque_and_of_free_speed(self) -> None:
        result = check(scenario("crate-flipper"))
        assert 190 <= result.curves.gravity[0] / OUNCE_FORCE_INCH <= 194
        assert result.lift.static_margin is not None
        assert 0.59 <= 1.0 / result.lift.static_margin <= 0.61
        speed = result.transmission.shafts[0].speed
        assert speed is not None
        assert 0.39 <= speed / (2.0 * np.pi) <= 0.41


class TestTwoMotorsOnePinion:
    def test_free_speed_stall_torque_and_stall_current_at_the_output(self) -> None:
        case = scenario("two-motors-one-pinion")
        assert 7100 <= case.machine.no_load_speed * 30.0 / np.pi <= 7200
        assert 355 <= available_torque(case.machine, 1.0) / OUNCE_FORCE_INCH <= 385
        blocked = ran(assess(scenario("two-motors-one-pinion", ("20 oz", "2000 oz"))))
        assert 168 <= blocked.peaks.supply_current.value <= 172


class TestServoOnATestStand:
    GRAM_AT_ARM = 0.07 * 9.80665e-3  # N*m of one gram at 7 cm

    def test_slope_and_current_between_the_readings(self) -> None:
        motor = scenario("servo-bench-line").machine.motor
        assert 2.2 <= self.GRAM_AT_ARM / motor.torque_constant * 1e3 <= 2.6
        needed = check(scenario("servo-bench-line")).curves.needed[0]
        assert 0.335 <= (needed + motor.coulomb_torque) / motor.torque_constant <= 0.365

    def test_stall_torque_is_a_little_more_than_half_of_the_claim(self) -> None:
        case = scenario("servo-bench-line")
        stall = available_torque(case.machine, 1.0)
        assert 1.0 <= stall / 0.0980665 <= 1.08
        assert 0.55 <= stall / 0.0980665 / 1.8 <= 0.6
        (claim,) = (warning for warning in case.warnings if warning.key == "motor.stall_torque")
        assert 40 <= float(claim.text.split(", ")[1].removesuffix(" % less than this")) <= 45

    def test_the_arm_of_an_earlier_test_that_stalled_with_the_same_current(self) -> None:
        stall = available_torque(scenario("servo-bench-line").machine, 1.0)
        assert 0.022 <= stall / (0.448 * 9.80665) <= 0.0245


class TestGearsFromTwoDrawers:
    PAIRS = (("16", "1.5 mm", "5.83 % more"), ("32", "0.8 mm", "0.78 % less"), ("20", "1.25 mm", "1.60 % more"))

    @pytest.mark.parametrize(("pitch", "module", "off"), [*PAIRS, ("24", "1 mm", "5.83 % more")])
    def test_none_of_the_four_mesh_and_by_how_much(self, pitch, module, off) -> None:
        changes = (("diametral_pitch: 16", f"diametral_pitch: {pitch}"), ("module: 1.5 mm", f"module: {module}"))
        found = check(scenario("near-miss-gears", *changes)).findings
        (miss,) = (one for one in found if one.code == "parts-near-miss")
        share, sense = off.split(" % ")
        said = miss.text.split("the first has ")[1].split(" % ")
        assert float(said[0]) == pytest.approx(float(share), abs=0.005)
        assert said[1].startswith(sense)

    def test_sixteen_to_the_inch_as_a_module_and_the_module_as_a_pitch(self) -> None:
        stage = scenario("near-miss-gears").machine.stages[0]
        assert isinstance(stage.hardware, GearPath)
        inch, metric = (gear.module for gear in stage.hardware.gears)
        assert inch is not None
        assert metric is not None
        assert 1.585e-3 <= inch <= 1.59e-3
        assert 16.9 <= 25.4e-3 / metric <= 16.97

    def test_one_inch_and_two_inch_stand_an_inch_and_a_half_apart(self) -> None:
        both = ("module: 1.5 mm", "diametral_pitch: 16")
        rows = {row.rule: row for row in check(scenario("near-miss-gears", both)).fit}
        wanted = float(rows["centre distance"].wanted.removesuffix(" mm"))
        assert 1.4995 <= wanted / 25.4 <= 1.5035
        assert rows["size of teeth"].fit is Fit.FITS
