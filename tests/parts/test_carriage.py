"""The carriage against statics worked by hand."""

import math

import pytest

from armsim.parts.arm import Friction, load_torque, payload_energy, potential_energy, with_payload
from armsim.parts.carriage import Carriage


def test_weight_on_an_incline_less_the_counterweight() -> None:
    """12 kg and 8 kg on 30 deg: 20 * 9.80665/2 = 98.0665 N; 6 kg over a pulley take 58.8399 N of it."""
    bare = Carriage(mass=12.0, payload_mass=8.0, incline=math.radians(30.0))
    helped = Carriage(mass=12.0, payload_mass=8.0, incline=math.radians(30.0), counterweight=6.0)
    assert load_torque(bare, 0.3) == pytest.approx(98.0665, rel=1e-12)
    assert load_torque(helped, 0.3) == pytest.approx(39.2266, rel=1e-12)
    assert (bare.inertia, helped.inertia) == (20.0, 26.0)


def test_friction_grows_with_what_presses_on_the_guide() -> None:
    """20 kg on 60 deg press with 98.0665 N: 0.1 of it beside 3 N of the wipers; without payload 12/20 of it."""
    guide = Friction(coulomb=3.0, viscous=5.0, breakaway=4.0)
    one = Carriage(mass=12.0, payload_mass=8.0, incline=math.radians(60.0), guide=guide, friction_coefficient=0.1)
    assert one.friction.coulomb == pytest.approx(12.80665, rel=1e-12)
    assert one.friction.breakaway == pytest.approx(13.80665, rel=1e-12)
    assert one.friction.viscous == 5.0
    assert with_payload(one, 0.0).friction.coulomb == pytest.approx(3.0 + 5.88399, rel=1e-12)


def test_an_upright_guide_is_not_pressed_and_a_level_one_not_pulled() -> None:
    assert Carriage(mass=5.0, friction_coefficient=0.3).friction.coulomb == 0.0
    assert load_torque(Carriage(mass=5.0, incline=0.0), 1.0) == 0.0


def test_energy_of_the_payload_is_its_share_of_all() -> None:
    """8 of 20 kg, raised by 0.5 m along 30 deg: 8 * 9.80665 * 0.25 = 19.6133 J of 49.03325 J."""
    one = Carriage(mass=12.0, payload_mass=8.0, incline=math.radians(30.0))
    assert payload_energy(one, 0.5) - payload_energy(one, 0.0) == pytest.approx(19.6133, rel=1e-12)
    assert potential_energy(one, 0.5) == pytest.approx(49.03325, rel=1e-12)
