"""Averaged bridge of the motor controller: duty, supply current, and the voltage loop with the source.

The motor sees d*V_bus behind the bridge resistance; the supply gives count*d*i. V_bus solves the linear
loop V_bus = E - R_s (count d i + I_aux).
"""

import math
from dataclasses import dataclass, field

from armsim.parts.elementwise import either, larger, plain, root
from armsim.parts.position_loop import LoopSettings


@dataclass(frozen=True, kw_only=True)
class Controller:
    """Motor controller, one bridge a motor."""

    current_limit: float | None = None  #: of each motor's current, both signs [A]
    supply_current_limit: float | None = None  #: of what each bridge draws from the supply [A]
    minimum_duty: float = 0.0  #: below which the output stays off [-]
    ramp: float = 0.0  #: time from zero to full commanded duty; the position loop has its profile instead [s]
    shorted_when_off: bool = False  #: shorted brakes, open coasts
    resistance: float = 0.0  #: two switches and shunt, in each motor's path [ohm]
    undervoltage: float | None = None  #: bus voltage below which it resets [V]
    pwm_frequency: float | None = None  #: at which it switches; None: not known [Hz]
    overvoltage: float | None = None  #: bus voltage above which it switches off [V]
    restart: float = 0.5  #: time from a reset until it drives again [s]
    position_loop: LoopSettings = field(default_factory=LoopSettings)


def duty_out(controller: Controller, asked: float) -> float:
    """Duty that leaves a bridge when one is asked for: none below the least it switches at. [-]"""
    return 0.0 if abs(asked) < controller.minimum_duty else asked


def ripple(bus, duty, frequency, inductance):
    """Peak-to-peak ripple of the winding's current where one leg switches, V d (1 - d)/(f L). [A]"""
    share = abs(duty)
    return bus * share * (1.0 - share) / (frequency * inductance)


def ripple_rms(current, peak_to_peak):
    """Root mean square of a current with triangular ripple, sqrt(I^2 + dI^2/12). [A]"""
    return math.sqrt(current * current + peak_to_peak * peak_to_peak / 12.0)


def capacitor_current(current, duty):
    """What a controller's input capacitor carries so that the line does not, I sqrt(d (1 - d)) rms. [A]"""
    share = abs(duty)
    return abs(current) * math.sqrt(share * (1.0 - share))


def line_current_without_capacitor(current, duty):
    """What the line carries where no capacitor takes the pulses, I sqrt(d) rms. [A]"""
    return abs(current) * math.sqrt(abs(duty))


def bus_voltage(open_circuit, source_resistance, supply_current):
    """Voltage at the controller's input under the total supply current. [V]"""
    return open_circuit - source_resistance * supply_current


def duty_for_current(current, back_emf, *, resistance, count, open_circuit, source_resistance, other_loads, beside=0.0):
    """Duty that makes a steady motor current, or None (NaN in an array) where the source cannot give it. [-]

    Solves R_s (n i + i_b) d^2 - (E - R_s I_aux) d + (R i + k_e w) = 0 for the smaller root: beyond E/(2 R_s n i) a
    lower duty raises the voltage. Current beside, i_b [A], is of other motors at the same duty.
    """
    volts = resistance * current + back_emf
    e = open_circuit - source_resistance * other_loads
    a = source_resistance * (count * current + beside)
    disc = e * e - 4.0 * a * volts
    if plain(disc):
        return None if disc < 0.0 else 2.0 * volts / (e + math.sqrt(disc))
    return either(disc < 0.0, math.nan, 2.0 * volts / (e + root(larger(disc, 0.0))))
