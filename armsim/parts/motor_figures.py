"""Motor constants out of figures that are no full catalogue row."""

from dataclasses import replace

from armsim.parts.motor import COULOMB_SHARE, Constants, split_drag


def from_current_line(line, voltage, resistance=None, no_load_speed=None, share=1.0):
    """Constants from a line of current over torque, with resistance [ohm], no-load speed [rad/s], or both.

    With both, k = (V - R I0)/w0, and what the slope promises less is a share lost, as in a catalogue row. With one of
    them k is the line's over a known `share` of the torque that arrives, and R = (V - k w0)/I0 where only the speed is
    known. The line's friction does not grow with speed. Raises ValueError where no voltage is left for the resistance
    or for the back-EMF.
    """
    constant, free = line.constant / share, line.no_load_current
    if no_load_speed is not None and resistance is None:
        left = voltage - constant * no_load_speed
        if left <= 0.0 or free <= 0.0:
            raise ValueError("slope and speed leave no voltage for the resistance")
        resistance = left / free
    elif no_load_speed is not None:
        constant = (voltage - resistance * free) / no_load_speed
        if constant <= 0.0:
            raise ValueError("the current at no load takes all the voltage")
        share = min(1.0, line.constant / constant)
    return Constants(
        resistance=resistance,
        constant=constant,
        coulomb_torque=constant * free,
        viscous_drag=0.0,
        torque_share=share,
    )


def stall_torque(constants, voltage):
    """Torque at stall, what is lost in proportion to load taken off. [N*m]"""
    current = voltage / constants.resistance
    return constants.torque_share * (constants.constant * current - constants.coulomb_torque)


def at_rotor(constants, reduction):
    """Constants measured at the output shaft of built-in gears, at the rotor: k/N, tc/N, b/N^2."""
    return replace(
        constants,
        constant=constants.constant / reduction,
        coulomb_torque=constants.coulomb_torque / reduction,
        viscous_drag=constants.viscous_drag / reduction**2,
    )


def gears_share(torque_share, efficiency=None):
    """Forward efficiency of built-in gears, and the share left for the rotor; their product is the row's share. [-, -]

    The stall torque at the output shaft has the gears' loss in it already. Without an efficiency of their own the gears
    are taken to lose all that is missing; one above the row's share leaves the rest to the rotor, one below is not
    believed, as it would count a loss twice.
    """
    gears = torque_share if efficiency is None else max(efficiency, torque_share)
    return gears, torque_share / gears


def air_gap_power(voltage, current, resistance):
    """What copper leaves of the power put in, (V - R I) I. [W]"""
    return (voltage - resistance * current) * current


def from_label(voltage, speed, current, power, resistance, coulomb_share=COULOMB_SHARE):
    """Constants from a rated point and the resistance of the locked rotor.

    k = (V - R I)/w; the drag at the rated speed is what the air gap makes beyond the rated output, k I - P/w, and none
    where the label promises more than that. Raises ValueError where the resistance takes all the voltage.
    """
    constant = (voltage - resistance * current) / speed
    if constant <= 0.0:
        raise ValueError("the rated current through the locked rotor's resistance takes all the voltage")
    drag = max(constant * current - power / speed, 0.0)
    coulomb, viscous = split_drag(drag, speed, coulomb_share)
    return Constants(resistance=resistance, constant=constant, coulomb_torque=coulomb, viscous_drag=viscous)
