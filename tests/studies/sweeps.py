"""Scenarios small enough to work a sweep of them out."""

#: a constant torque of 20 N*m at the arm, hardly any mass or inertia, and no other loss than the winding's
CAPSTAN = """
title: Capstan against a constant torque
motor:
  nominal_voltage: 12 V
  torque_constant: 0.02 N*m/A
  resistance: 0.1 ohm
  coulomb_friction: 0 N*m
  viscous_friction: 0 N*m*s/rad
  inductance: 10 uH
  rotor_inertia: 1e-7 kg*m^2
supply:
  battery: {open_circuit_voltage: 12 V, internal_resistance: 0 ohm}
transmission:
  - gearbox: {reduction: 20, efficiency: 1}
arm:
  length: 0.5 m
  mass: 1 g
  centre_of_mass: 0 m
  inertia: 1e-6 kg*m^2
  pivot_friction: {coulomb: 20 N*m}
start: 0 deg
moves:
  - lift: {to: 90 deg}
"""
GATE = """
title: Gate with a small breaker
motor:
  nominal_voltage: 12 V
  no_load_speed: 2900 rpm
  no_load_current: 1.8 A
  stall_torque: 1.6 N*m
  stall_current: 45 A
  rotor_inertia: 1.1e-4 kg*m^2
supply:
  battery: {open_circuit_voltage: 12.5 V, internal_resistance: 30 mohm}
  protection:
    - {kind: thermal-auto-reset, rating: 10 A}
controller: {ramp: 0.1 s, when_off: open}
transmission:
  - gearbox: {reduction: 100, efficiency: 0.8}
arm:
  length: 0.9 m
  mass: 5 kg
  payload: {mass: 5 kg}
  stops: {upper: 95 deg}
start: -60 deg
moves:
  - lift: {to: 60 deg, patience: 0.1 s, within: 4 s}
requirements:
  lift_time: {max: 3 s}
  breaker_trips: no
"""
