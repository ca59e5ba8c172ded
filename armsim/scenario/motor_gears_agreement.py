"""What figures taken behind built-in gears must agree on."""

import math

from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, given
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Motor

FAST_ROTOR = 20_000 * math.tau / 60.0  #: above it a rotor behind built-in gears is doubtful [rad/s]
_POOR_GEARS = 0.4  #: efficiency at stall, below which built-in gears are doubtful [-]
_SLACK = 0.05  #: of an efficiency [-]


def needless_built_in(motor: Motor) -> Faults:
    """Keys of built-in gears where there are none."""
    for key in given(motor, ("built_in_efficiency", "built_in_reverse_efficiency", "built_in_peak_torque")):
        hint = "give built_in_reduction, such as 50:1, or leave this out"
        yield ("motor", key), Misreading("SCN103", "built_in_reduction is missing", hint)


def built_in_warnings(motor: Motor, no_load_speed: float, share: float) -> Faults:
    """Gears inside that turn a rotor too fast, lose too much, or less than they are said to."""
    assert motor.built_in_reduction is not None
    rotor = no_load_speed * motor.built_in_reduction
    if rotor > FAST_ROTOR:
        text = f"behind these gears the rotor turns at {understood(rotor, d.SPEED)}: are the figures the bare motor's?"
        hint = "then leave this out and add a gearbox stage to the transmission"
        yield ("motor", "built_in_reduction"), Misreading("SCN130", text, hint)
    if share < _POOR_GEARS:
        text = f"the figures leave an efficiency of {share:.3g} at stall; built-in gears usually have 0.6 to 0.85"
        yield ("motor", "built_in_reduction"), Misreading("SCN131", text, "check units and currents of the figures")
    stated = motor.built_in_efficiency
    if stated is not None and stated < share * (1.0 - _SLACK):
        text = f"{stated:.3g} is stated, while the figures at the output shaft leave {share:.3g} at stall"
        hint = "the run uses the latter: the loss is in those figures already and is not taken off twice"
        yield ("motor", "built_in_efficiency"), Misreading("SCN131", text, hint)
