"""The state of a run: what it holds, in which order, how large its entries are, and how it begins.

First what the machine is in: motor current, arm speed and angle, winding and housing temperature, charge drawn, the
voltage of the battery's relaxation pair, the voltage of the capacitor at the controller where there is one. Then
quadratures for the energy account, the loss of each stage, what each side load takes, of each companion its current
itself, the same squared and its friction, the thermal states of each protective device, earliest edge before latest;
then, where the stops are buffers, their loss.
"""

import numpy as np
from numpy.typing import NDArray

from armsim.drivetrain.machine import Machine

State = NDArray[np.float64]

CURRENT, SPEED, ANGLE, WINDING, HOUSING, CHARGE, RELAXATION, BUS = range(8)
CURRENT_SQUARED, SUPPLY_SQUARED, SUPPLIED, RELAXING, COPPER, BRUSHES, ROTOR, PIVOT, LOADS = range(8, 17)
STAGES = 17  #: index of the first stage's loss
BUFFER = -1  #: of the loss in buffers, where the stops are any


def asides(machine: Machine) -> slice:
    """Where what side loads take stands in the state."""
    return slice(start := STAGES + len(machine.stages), start + len(machine.side_loads))


def companions(machine: Machine) -> slice:
    """Where companions stand: of each its current, then the quadratures of that squared and of its friction."""
    return slice(start := asides(machine).stop, start + 3 * len(machine.companions))


def companion_entries(machine: Machine) -> range:
    """Indices of the companions' currents."""
    here = companions(machine)
    return range(here.start, here.stop, 3)


def losses_end(machine: Machine) -> int:
    """Index behind the losses of stages and side loads, and the companions."""
    return int(companions(machine).stop)


def edge_slices(machine: Machine) -> list[tuple[slice, slice]]:
    """Where each device's thermal states stand in the state: earliest edge, latest edge."""
    start = losses_end(machine)
    slices = []
    for device in machine.protection:
        first, second = len(device.earliest.weights), len(device.latest.weights)
        slices.append((slice(start, start + first), slice(start + first, start + first + second)))
        start += first + second
    return slices


def state_size(machine: Machine) -> int:
    """Length of the state vector."""
    slices = edge_slices(machine)
    end = slices[-1][1].stop if slices else losses_end(machine)
    return end + (not machine.arm.stop.rigid)


def initial_state(machine: Machine, angle: float) -> State:
    """At rest at an angle [rad], everything at ambient temperature, battery rested, bus charged, devices cold."""
    state = np.zeros(state_size(machine))
    state[ANGLE] = angle
    state[WINDING] = state[HOUSING] = machine.ambient
    if machine.outlet is not None:
        state[BUS] = machine.highest_voltage - machine.source_resistance * machine.other_loads
    return state


def scales(machine: Machine) -> State:
    """Sizes of the state's entries, for absolute tolerances."""
    motor = machine.motor
    volts = machine.highest_voltage
    stall = volts / machine.loop_resistance
    current = stall if machine.controller.current_limit is None else min(stall, machine.controller.current_limit)
    power = volts * current * motor.count
    sizes = np.full(state_size(machine), 1.0)
    sizes[CURRENT], sizes[SPEED], sizes[ANGLE] = current, machine.no_load_speed, 1.0
    sizes[WINDING] = sizes[HOUSING] = 100.0
    sizes[CHARGE] = current * motor.count
    sizes[RELAXATION] = sizes[BUS] = volts
    sizes[CURRENT_SQUARED] = current**2
    sizes[SUPPLY_SQUARED] = (current * motor.count) ** 2
    sizes[SUPPLIED : losses_end(machine)] = power
    for one, k in zip(machine.companions, companion_entries(machine), strict=True):
        sizes[k] = volts / one.loop_resistance
        sizes[k + 1] = sizes[k] ** 2
    if not machine.arm.stop.rigid:
        sizes[BUFFER] = power
    return sizes


def stored_energy(machine: Machine, y: State) -> float:
    """Energy of all that turns, of the windings' fields, of the relaxation pair and of the bus capacitor. [J]"""
    motor, battery, outlet = machine.motor, machine.battery, machine.outlet
    kinetic = 0.5 * machine.inertia * y[SPEED] ** 2
    stored = kinetic + 0.5 * motor.count * motor.inductance * y[CURRENT] ** 2
    for one, k in zip(machine.companions, companion_entries(machine), strict=True):
        stored += 0.5 * one.count * one.inductance * y[k] ** 2
    if battery.relaxation_resistance > 0.0:
        stored += 0.5 * battery.relaxation_time / battery.relaxation_resistance * y[RELAXATION] ** 2
    if outlet is not None:
        stored += 0.5 * outlet.capacitance * y[BUS] ** 2
    return float(stored)
