"""The averaged bridge and its voltage loop against worked answers."""

import pytest

from armsim.parts.bridge import bus_voltage, duty_for_current
from tests.parts.rounded import six_digits

CONSTANT = 0.0224408  # V*s/rad
LOOP = {"resistance": 0.104, "count": 1, "open_circuit": 12.70, "source_resistance": 0.018, "other_loads": 2.0}


@pytest.mark.parametrize(
    ("duty", "speed", "motor_current", "supply_current", "volts"),
    [(1.0, 300.0, 48.6209, 48.6209, 11.7888), (0.5, 100.0, 37.6766, 18.8383, 12.3249)],
)
def test_the_motor_sees_the_source_resistance_by_duty_squared(duty, speed, motor_current, supply_current, volts):
    found = duty_for_current(motor_current, CONSTANT * speed, **LOOP)
    assert found == pytest.approx(duty, rel=1e-5)
    assert found * motor_current == pytest.approx(supply_current, rel=1e-5)
    assert bus_voltage(12.70, 0.018, supply_current + 2.0) == six_digits(volts)


def test_a_limit_of_motor_current_takes_far_less_from_the_supply_at_stall():
    stiff = {"resistance": 0.104, "count": 1, "open_circuit": 11.8, "source_resistance": 0.0, "other_loads": 0.0}
    duty = duty_for_current(40.0, 0.0, **stiff)
    assert duty == six_digits(0.352542)
    assert duty * 40.0 == six_digits(14.1017)
    # above the corner speed the limit is out of reach
    assert duty_for_current(40.0, CONSTANT * 340.451, **stiff) == pytest.approx(1.0, rel=1e-5)
    # 15 A taken from the supply at stall is 41 A in the winding
    assert duty_for_current(41.2544, 0.0, **stiff) * 41.2544 == pytest.approx(15.0, rel=1e-5)


def test_the_bus_keeps_the_higher_of_two_voltages_and_none_is_left_beyond_the_collapse():
    source = {"resistance": 0.0, "count": 1, "open_circuit": 12.56, "source_resistance": 0.032, "other_loads": 0.0}
    volts = 900.0 / 60.0
    duty = duty_for_current(60.0, volts, **source)
    assert volts / duty == six_digits(9.54166)
    assert duty * 60.0 == six_digits(94.3232)
    assert duty_for_current(60.0, 1232.46 / 60.0, **source) is None  # a trifle above E^2/4R = 1232.45 W
    assert duty_for_current(60.0, 1232.44 / 60.0, **source) is not None


def test_several_bridges_share_one_source():
    alone = duty_for_current(80.0, 3.0, **{**LOOP, "resistance": 0.052})
    pair = duty_for_current(40.0, 3.0, **{**LOOP, "count": 2})
    assert pair == pytest.approx(alone, rel=1e-12)  # 80*0.052 V = 40*0.104 V, and 80 A of duty either way
