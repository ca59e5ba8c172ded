"""Motor constants out of figures that are no full catalogue row."""

from armsim.parts.motor import Constants


def from_current_line(line, voltage, resistance=None, no_load_speed=None):
    """Constants from a line of current over torque, with resistance [ohm], no-load speed [rad/s], or both.

    With both, k = (V - R I0)/w0, and what the slope promises less is a share lost, as in a catalogue row. With one of
    them k is the line's, and R = (V - k w0)/I0 where only the speed is known. The line's friction does not grow with
    speed. Raises ValueError where no voltage is left for the resistance or for the back-EMF.
    """
    constant, free = line.constant, line.no_load_current
    if no_load_speed is None:
        return Constants(
            resistance=resistance, constant=constant, coulomb_torque=constant * free, viscous_drag=0.0
        )  # fmt: skip
    if resistance is None:
        left = voltage - constant * no_load_speed
        if left <= 0.0 or free <= 0.0:
            raise ValueError("slope and speed leave no voltage for the resistance")
        resistance = left / free
    else:
        constant = (voltage - resistance * free) / no_load_speed
        if constant <= 0.0:
            raise ValueError("the current at no load takes all the voltage")
    return Constants(
        resistance=resistance,
        constant=constant,
        coulomb_torque=constant * free,
        viscous_drag=0.0,
        torque_share=min(1.0, line.constant / constant),
    )


def stall_torque(constants, voltage):
    """Torque at stall, what is lost in proportion to load taken off. [N*m]"""
    current = voltage / constants.resistance
    return constants.torque_share * (constants.constant * current - constants.coulomb_torque)
