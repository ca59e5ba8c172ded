"""Brushed direct-current motor: constants, catalogue rows, and its two thermal nodes.

One record stands for `count` equal motors on one shaft, each with a bridge of its own. Currents are
per motor throughout; torque and supply current are multiplied by `count` where they leave the motor.
"""

import math
from dataclasses import dataclass

from armsim.parts.elementwise import anywhere, within

COULOMB_SHARE = 0.7  #: part of the no-load torque that does not grow with speed, when no sheet tells
COPPER_ZERO = 234.5  #: temperature offset of annealed copper's resistance law [degC] (IEC 60228 annex)
ROTOR_LOSS = "rotor loss"  #: kind of the stage that books the torque a row is short of; it is part of the motor
REFERENCE_TEMPERATURE = 25.0  #: of catalogue figures, unless the sheet says otherwise [degC]


@dataclass(frozen=True, kw_only=True)
class Heat:
    """Two-node thermal model: the winding sheds to the housing, the housing to the air."""

    winding_to_housing: float  #: thermal resistance [K/W]
    housing_to_air: float  #: thermal resistance [K/W]
    winding_capacity: float  #: [J/K]
    housing_capacity: float  #: [J/K]
    winding_limit: float | None = None  #: highest allowed winding temperature [degC]


@dataclass(frozen=True, kw_only=True)
class Motor:
    """Constants of one motor at its reference temperature, and how many share the shaft."""

    count: int = 1
    resistance: float  #: winding with brushes, at the reference temperature [ohm]
    inductance: float  #: [H]
    torque_constant: float  #: air-gap torque per ampere [N*m/A]
    back_emf_constant: float  #: [V*s/rad], in SI equal to the torque constant
    coulomb_torque: float  #: drag that does not grow with speed [N*m]
    viscous_drag: float  #: drag per speed [N*m*s/rad]
    breakaway_torque: float  #: holds the shaft at rest, >= coulomb_torque [N*m]
    rotor_inertia: float  #: [kg*m2]
    nominal_voltage: float | None = None  #: of the catalogue row [V]
    brush_drop: float = 0.0  #: of both brushes together, beside the resistance; turns round with the current [V]
    brush_knee: float = 1.0  #: current below which it shrinks in proportion [A]
    magnet: str | None = None  #: material, where known
    magnet_coefficient: float = 0.0  #: change of the constants per kelvin of magnet temperature, on the housing [1/K]
    reference_temperature: float = REFERENCE_TEMPERATURE  #: [degC]
    heat: Heat | None = None

    def __post_init__(self) -> None:
        if anywhere(self.breakaway_torque < self.coulomb_torque):
            raise ValueError("breakaway friction cannot be below running friction")
        if anywhere(abs(self.torque_constant - self.back_emf_constant) > 1e-9 * self.back_emf_constant):
            raise ValueError("one air gap has one constant: book a weaker torque as a loss that grows with load")


def resistance_ratio(temperature, reference=REFERENCE_TEMPERATURE):
    """Copper resistance over its value at the reference temperature. [-]

    R(T)/R(T0) = (234.5 + T)/(234.5 + T0), temperatures in degC (annealed copper, IEC 60228).
    """
    return (COPPER_ZERO + temperature) / (COPPER_ZERO + reference)


def flux_ratio(temperature, coefficient, reference=REFERENCE_TEMPERATURE):
    """Magnet flux, and with it both constants, over the value at the reference temperature [degC]. [-]"""
    return 1.0 + coefficient * (temperature - reference)


def brush_voltage(current, drop, knee):
    """Voltage lost under the brushes: in proportion to a current below the knee, constant above. [V]

    The shape is that of common physical-modelling libraries; drops a pair run from 0.1 V (precious metal) to 2.4 V
    (electrographite).
    """
    return drop * within(current / knee, -1.0, 1.0)


def current_slope(voltage, current, speed, *, resistance, inductance, back_emf_constant):
    """Rate of change of the winding current, di/dt = (v - R i - k_e w)/L. [A/s]"""
    return (voltage - resistance * current - back_emf_constant * speed) / inductance


def heat_flows(copper_loss, friction_loss, winding, housing, ambient, heat):
    """Rates of change of the winding and housing temperatures. [K/s, K/s]

    Copper loss heats the winding; rotational loss (bearings, brushes) heats the housing.
    """
    across = (winding - housing) / heat.winding_to_housing
    out = (housing - ambient) / heat.housing_to_air
    return (copper_loss - across) / heat.winding_capacity, (friction_loss + across - out) / heat.housing_capacity


@dataclass(frozen=True, kw_only=True)
class Constants:
    """What figures of a motor, however they were given, come down to."""

    resistance: float  #: [ohm]
    constant: float  #: of the air gap, torque and back-EMF alike [N*m/A = V*s/rad]
    coulomb_torque: float  #: [N*m]
    viscous_drag: float  #: [N*m*s/rad]
    torque_share: float = 1.0  #: of the torque that the constant promises, what the torque figures leave, <= 1 [-]


def speed_row_constant(voltage, no_load_speed, no_load_current, stall_current):
    """Back-EMF constant from the no-load point, (V - R I0)/w0 with R = V/Is. [V*s/rad]"""
    return voltage * (1.0 - no_load_current / stall_current) / no_load_speed


def row_mismatch(voltage, no_load_speed, no_load_current, stall_torque, stall_current):
    """The one redundancy of a five-number row: Ts/(Is - I0) over the speed-row constant, minus one. [-]"""
    speed_row = speed_row_constant(voltage, no_load_speed, no_load_current, stall_current)
    return stall_torque / (stall_current - no_load_current) / speed_row - 1.0


def split_drag(no_load_torque, no_load_speed, coulomb_share=COULOMB_SHARE):
    """Coulomb torque [N*m] and viscous drag [N*m*s/rad] that together make the no-load torque."""
    return coulomb_share * no_load_torque, (1.0 - coulomb_share) * no_load_torque / no_load_speed


def from_catalogue_row(
    voltage, no_load_speed, no_load_current, stall_torque, stall_current, coulomb_share=COULOMB_SHARE
):
    """Constants that give back all five numbers of the row where physics allows it.

    R = V/Is; k from the speed row. A stall torque below k Is - tc is a loss that grows with load (armature reaction,
    brush friction): the share left is returned for a lossy stage behind the rotor, so that energy is never created
    in either direction of power. A stall torque above it would create energy: the share stays one, and the machine
    then has less stall torque than the row promises. How far the row contradicts itself, row_mismatch tells.
    """
    constant = speed_row_constant(voltage, no_load_speed, no_load_current, stall_current)
    coulomb, viscous = split_drag(constant * no_load_current, no_load_speed, coulomb_share)
    return Constants(
        resistance=voltage / stall_current,
        constant=constant,
        coulomb_torque=coulomb,
        viscous_drag=viscous,
        torque_share=min(1.0, stall_torque / (constant * stall_current - coulomb)),
    )


def steady_point(motor, voltage, load_torque, source_resistance=0.0):
    """Speed [rad/s] and current [A] of one motor running steadily against a shaft load it drives.

    w = (k_t V/R - tc - load)/(k_t k_e/R + b), i = (V - k_e w)/R; source resistance adds to R.
    """
    r = motor.resistance + source_resistance
    kt, ke = motor.torque_constant, motor.back_emf_constant
    speed = (kt * voltage / r - motor.coulomb_torque - load_torque) / (kt * ke / r + motor.viscous_drag)
    return speed, (voltage - ke * speed) / r


def best_efficiency_current(no_load_current, stall_current):
    """Current of best efficiency at fixed voltage, sqrt(I0 Is), exact with viscous drag or without. [A]"""
    return math.sqrt(no_load_current * stall_current)
