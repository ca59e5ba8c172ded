"""A mend that is printed must lift, and a little less of it must not."""

from dataclasses import replace

import pytest

from armsim.checks.lifting import first_lift, static_margin
from armsim.checks.mends import (
    find_mends,
    levers,
    running_judge,
    static_judge,
    with_reduction,
    with_voltage,
)
from armsim.drivetrain.machine import loaded
from armsim.dynamics.plan import Plan, Travel
from armsim.parts.bridge import Controller

from .machines import GRAVITY, HEAT, LIFT, MOTOR, TC, K, machine, stage

SHORT = machine(stages=(stage(6.0, 0.70),))
STALL = (12.56 - 0.048) / 0.128
NEED = 6.0 * GRAVITY * 0.45


def by_name(mends):
    return {mend.what: mend for mend in mends}


def test_static_thresholds_by_hand():
    found = by_name(find_mends(SHORT, LIFT, static_judge(LIFT)))
    reduction = NEED / (0.70 * (K * STALL - TC))
    payload = (K * STALL - TC) * 6.0 * 0.70 / (GRAVITY * 0.45)
    current = (NEED / 4.2 + TC) / K
    volts = current * 0.128 + 0.048
    assert reduction <= found["reduction"].needed < 1.01 * reduction
    assert 0.99 * payload < found["payload"].needed <= payload
    assert volts <= found["voltage"].needed < 1.01 * volts
    assert found["reduction"].text == "a reduction of 17.6:1 or more (now 6.00:1)"


@pytest.mark.parametrize("hot", [False, True])
def test_every_printed_value_lifts_when_run_and_with_less_the_arm_could_not_start_everywhere(hot):
    short = replace(SHORT, motor=replace(MOTOR, heat=HEAT if hot else None))
    lifts = running_judge(LIFT)
    found = by_name(find_mends(short, LIFT, lifts))
    assert not lifts(short)
    for lever in levers(short):
        mend = found[lever.what]
        assert lifts(lever.changed(mend.needed))
        less = mend.needed * (0.98 if lever.upward else 1.02)
        # warming by high current can ask for more than the static margin does: then a run fails with less
        assert static_margin(lever.changed(less), first_lift(LIFT)).value < 1.0 or not lifts(lever.changed(less))


def test_more_voltage_does_not_help_against_a_current_limit():
    limited = machine(controller=Controller(resistance=0.004, current_limit=10.0))
    mend = by_name(find_mends(limited, LIFT, static_judge(LIFT)))["voltage"]
    assert mend.needed is None
    assert "does not help" in mend.text


def test_a_hopeless_machine_has_no_mend():
    locked = machine(stages=(stage(6.0, 0.70, drag=50.0),))
    assert all(mend.needed is None for mend in find_mends(locked, LIFT, static_judge(LIFT)))


def test_a_stop_in_the_way_is_not_mended_by_torque():
    beyond = Plan(start=0.0, moves=(Travel(to=2.0),))
    assert find_mends(machine(), beyond, static_judge(beyond)) == ()


def test_levers_change_one_thing():
    assert with_reduction(machine(stages=(stage(1.0, 0.8), stage(5.0, 0.9))), 2.0).stages[1].reduction == 10.0
    assert with_reduction(machine(stages=()), 3.0).reduction == 3.0
    lighter = loaded(machine(), 2.0)
    assert lighter.arm.first_moment == pytest.approx(2.0 * 0.45)
    assert lighter.arm.inertia == pytest.approx(2.0 * 0.45**2)
    assert with_voltage(machine(), 2.0).battery.voltage_points == (25.12,)


def test_direct_drive_margin_grows_with_an_added_reduction():
    direct, task = machine(stages=()), first_lift(LIFT)
    margin = static_margin(direct, task).value
    assert static_margin(with_reduction(direct, 10.0), task).value == pytest.approx(10.0 * margin)
