"""Volts, amps, heat and creeping of each hold and rest, by hand."""

import math

import pytest

from armsim.checks.stays import stays
from armsim.drivetrain.train import cone
from armsim.dynamics.plan import Follow, Hold, Limits, Plan, Rest
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction
from armsim.parts.counterbalance import ConstantForceSpring
from tests.machines import arm, machine, stage

PULL = ConstantForceSpring(force=-500.0, radius=0.1)  #: 50 N*m downwards at every angle
HANGING = arm(moment=0.0, friction=Friction(), lower_stop=-math.inf, counterbalances=(PULL,))
MOVES = (
    Follow(to=1.0, limits=Limits(speed=1.0, acceleration=2.0)),
    Hold(duration=1.0),
    Rest(duration=2.5, shorted=True, name="hold"),
    Rest(duration=0.1, shorted=False),
)


def test_each_is_told_by_what_holds_the_arm_with_its_volts_amps_heat_and_speed() -> None:
    m = machine(stages=(stage(60.0, 0.95),), arm=HANGING)
    held, braked, free = stays(simulate(m, Plan(start=-0.5, moves=MOVES)))
    assert [(s.name, s.how) for s in (held, braked, free)] == [
        ("hold", "position loop"),
        ("hold", "motor shorted"),
        ("rest", "motor open"),
    ]
    # the loop stands within the friction band, its voltage is all resistance
    assert cone(m, 1.0).holds(0.07 * held.current)
    assert held.voltage == pytest.approx(0.506 * held.current, rel=1e-3)
    assert held.heat == pytest.approx(0.5 * held.current**2, rel=1e-9)
    assert held.supplied == pytest.approx(held.voltage * held.current + (25.0 - 0.052) * 1.0, rel=5e-3)
    assert held.speed == pytest.approx(0.0, abs=1e-12)
    assert abs(held.drift) < math.radians(0.5)
    # the shorted motor sinks at the speed whose back-EMF drives the braking current
    load = 50.0 * (2.0 - 1.0 / 0.95) / 60.0 - 0.05
    speed = load / (0.07**2 / 0.506 + 7e-5) / 60.0
    assert braked.speed == pytest.approx(-speed, rel=1e-6)
    assert braked.current == pytest.approx(0.07 * 60.0 * speed / 0.506, rel=1e-6)
    assert braked.voltage == 0.0
    assert braked.drift < -math.radians(30.0)
    assert braked.duration == pytest.approx(2.5)
    # open, nothing flows and it falls faster
    assert free.current == 0.0
    assert free.heat == 0.0
    assert free.speed < braked.speed
