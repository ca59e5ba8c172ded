"""The scenario that `armsim new` writes: small, commented, and it runs as it is."""

_TEXT = """\
# A scenario of armsim. Every quantity carries its unit; `armsim run` on this file says whether the arm lifts.
title: Lid of a seed-tray bench
about: >
  A lid is raised by a small geared motor. All figures are invented, within the range of the trade:
  put your own in their place.

motor:                            # five figures of the motor's sheet, all at one voltage
  nominal_voltage: 12 V
  no_load_speed: 4200 rpm
  no_load_current: 0.6 A
  stall_torque: 0.42 N*m
  stall_current: 17 A
  # count: 2                      # equal motors on one shaft
  # rotor_inertia: 3.5e-5 kg*m^2

supply:
  battery: {open_circuit_voltage: 12.6 V, internal_resistance: 30 mohm}
  wiring: {gauge: 14 AWG, length: 2 m}        # one way; the way back is counted in
  protection:
    - {kind: thermal-auto-reset, rating: 10 A}

controller:
  current_limit: 15 A
  ramp: 0.2 s
  when_off: shorted               # shorted brakes, open coasts

transmission:                     # from the motor to the arm, in order
  - gearbox: {reduction: 50, efficiency: 0.75, reverse_efficiency: 0.6}
  - gears: {driver: 16, driven: 48, module: 1.5 mm, face_width: 15 mm}

arm:
  length: 0.8 m
  mass: 4 kg
  centre_of_mass: 0.4 m
  payload: {mass: 1.5 kg, at: 0.75 m}
  pivot_friction: {coulomb: 0.4 N*m}
  stops: {lower: -5 deg, upper: 85 deg}

start: 0 deg                      # 0 is level, positive is up
moves:
  - lift: {to: 75 deg}
  - hold: {for: 2 s}
  - lower: {to: 0 deg, duty: 0.4}

requirements:
  lift_time: {max: 3 s}
  breaker_trips: no
"""


def starter() -> str:
    """The text of a scenario to start from."""
    return _TEXT
