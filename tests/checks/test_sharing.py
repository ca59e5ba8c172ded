"""Several motors on one train: two unequal ones on a shaft by closed forms, and who is told to fight."""

from dataclasses import replace

import pytest

from armsim.checks.assessment import Level, Role
from armsim.checks.sharing import judge_motors, share_at, sharing_findings, without_load
from armsim.parts.battery import constant_source
from armsim.parts.bridge import Controller
from armsim.parts.companion import Companion
from tests.machines import frictionless_motor, machine, stage


def pair(constant: float = 0.0235, shaft: int = 0, **more):
    """Two motors of 0.1 ohm on 12 V without source resistance, the first of 0.0224 V*s/rad, behind them 50:1."""
    return machine(
        motor=frictionless_motor(resistance=0.1, torque_constant=0.0224, back_emf_constant=0.0224),
        companions=(
            Companion(name="second motor", shaft=shaft, resistance=0.1, inductance=1e-4, constant=constant, **more),
        ),
        stages=(stage(10.0), stage(5.0)),
        battery=constant_source(12.0, 0.0),
        wiring=(),
        other_loads=0.0,
        controller=Controller(resistance=0.0),
    )


def test_unequal_motors_keep_each_other_at_one_speed_with_a_current_going_round() -> None:
    # R = 1/sum(1/R_j), k = R sum(k_j/R_j), and without load w = V/(k + R b/k), b = sum(k_j^2/R_j) - k^2/R
    idle = without_load(pair(), 1.0)
    assert idle is not None
    first, second = idle.shares
    assert first.speed == pytest.approx(522.576, rel=1e-6)
    assert first.current == pytest.approx(2.94305, rel=2e-6)
    assert second.current == pytest.approx(-2.80529, rel=2e-6)
    assert first.copper + second.copper == pytest.approx(1.65312, rel=4e-6)
    assert first.torque + second.torque == pytest.approx(0.0, abs=1e-9)
    assert [first.role, second.role] == [Role.DRIVES, Role.BRAKES]
    assert idle.braking == (second,)


def test_at_half_duty_the_speed_is_half() -> None:
    idle = without_load(pair(), 0.5)
    assert idle is not None
    assert idle.shares[0].speed == pytest.approx(522.576 / 2.0, rel=1e-6)


def test_a_shaft_behind_a_stage_counts_its_turns() -> None:
    # 0.235 behind 10:1 is 0.0235 at the motor's shaft
    idle = without_load(pair(constant=0.235, shaft=1, reduction=3.0), 1.0)
    assert idle is not None
    first, second = idle.shares
    assert first.speed == pytest.approx(522.576, rel=1e-6)
    assert second.speed == pytest.approx(522.576 / 10.0 * 3.0, rel=1e-6)
    assert second.current == pytest.approx(-2.80529, rel=2e-6)
    assert second.no_load_speed == pytest.approx(12.0 / 0.235 / 5.0, rel=1e-12)


def test_under_load_the_split_is_that_of_the_currents() -> None:
    # at 400 rad/s of the rotors, 8 of the arm
    sharing = share_at(pair(), 1.0, 8.0)
    currents = [share.current for share in sharing.shares]
    assert currents == pytest.approx([(12.0 - 0.0224 * 400.0) / 0.1, (12.0 - 0.0235 * 400.0) / 0.1], rel=1e-12)
    assert [share.torque for share in sharing.shares] == pytest.approx([0.0224 * 30.4, 0.0235 * 26.0], rel=1e-9)


def test_a_motor_that_its_own_friction_needs_more_than_its_current_gives_is_dragged() -> None:
    # just below its no-load speed without friction, 12/0.0235/50 of the arm
    dragged = share_at(pair(coulomb_torque=0.05, breakaway_torque=0.05), 1.0, 12.0 / 0.0235 / 50.0 * 0.99).shares[1]
    assert dragged.current == pytest.approx(1.2, rel=1e-9)
    assert dragged.role is Role.DRAGGED
    assert dragged.torque == pytest.approx(0.0235 * 1.2 - 0.05, rel=1e-9)


def test_none_are_judged_where_there_is_one() -> None:
    assert judge_motors(replace(pair(), companions=()), 1.0, 8.0) is None


@pytest.mark.parametrize(
    ("arm_speed", "level"),
    [(8.0, Level.NOTE), (12.0 / 0.0235 / 50.0 * 1.005, Level.WARNING), (None, Level.NOTE)],
)
def test_a_fight_in_the_lift_warns_and_one_without_load_is_noted(arm_speed, level) -> None:
    m = pair()
    motors = judge_motors(m, 1.0, arm_speed)
    assert motors is not None
    (found,) = sharing_findings(m, motors)
    assert (found.code, found.level, found.where) == ("motors-fight", level, "more_motors[0]")


def test_the_reduction_told_ends_the_fight() -> None:
    m = pair(constant=0.0235, reduction=1.0)
    motors = judge_motors(m, 1.0, 8.0)
    assert motors is not None
    (found,) = sharing_findings(m, motors)
    # 1 0.0224/0.0235 = 0.953; what it does at the shaft follows: constant and reduction alike
    assert "0.953" in found.mend
    matched = pair(constant=0.0235 * 0.0224 / 0.0235, reduction=0.0224 / 0.0235)
    judged = judge_motors(matched, 1.0, 8.0)
    assert judged is not None
    assert list(sharing_findings(matched, judged)) == []


def test_matched_motors_share_alike() -> None:
    idle = without_load(pair(constant=0.0224), 1.0)
    assert idle is not None
    assert idle.shares[0].current == pytest.approx(0.0, abs=1e-6)
    assert idle.braking == ()
