"""Laws of parts against figures published by others, at the distance those figures themselves keep."""

import pytest

from armsim.parts.stage import reverse_of
from armsim.parts.wiring import resistance_per_length
from armsim.parts.worm import mean_friction


@pytest.mark.parametrize(
    ("sliding", "friction"), [(0.5, 0.06), (1.0, 0.05), (2.0, 0.035), (5.0, 0.023), (10.0, 0.017), (20.0, 0.014)]
)
def test_worm_friction_lies_near_a_handbook_table_for_hard_steel_on_phosphor_bronze(sliding, friction):
    """Mechanical Engineer's Data Handbook, p. 100; two tables of one quantity differ by up to 0.007."""
    assert mean_friction(sliding, 1) == pytest.approx(friction, abs=0.007)
    assert abs(mean_friction(sliding, 1) - friction) < abs(mean_friction(sliding, 1) - 0.012 - friction)


def test_a_measured_planetary_gear_turns_back_a_little_worse_than_the_rule_says():
    """89.0 % forward, 85.3 % back: Matsuki, Nagano and Fujimoto, IEEE/ASME Trans. Mechatronics 24(6), 2661, 2019.

    The rule counts load-proportional friction only; what is left is drag, so it must err on this side.
    """
    assert 0.0 < reverse_of(0.890) - 0.853 < 0.025


CLASS_5 = [(0.5, 39.0), (1, 19.5), (1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91), (16, 1.21), (25, 0.780)]


@pytest.mark.parametrize(("area", "limit"), CLASS_5)
def test_flexible_conductors_may_have_a_tenth_more_than_their_copper_alone(area, limit):
    """Greatest resistance of class 5 plain copper, milliohm per metre at 20 degC: IEC 60228."""
    assert 1.09 < limit / (resistance_per_length(area * 1e-6) * 1e3) < 1.17
