"""A small task and small stocks, made by hand or at random."""

from pathlib import Path

import numpy as np

TASK = """\
title: Hatch of the press house
supply:
  battery: {open_circuit_voltage: 24 V, internal_resistance: 50 mohm, capacity: 12 A*h}
controller: {current_limit: 30 A}
arm:
  length: 0.5 m
  mass: 3 kg
  payload: {mass: 6 kg}
  pivot_friction: {coulomb: 0.5 N*m}
  stops: {lower: -40 deg, upper: 100 deg}
start: -20 deg
moves: [{lift: {to: 60 deg}}]
requirements: {lift_time: {max: 2.5 s}, supply_current: {max: 28 A}}
"""

STOCK = """\
title: A small shelf, invented
motors:
  - {name: small, price: 20, mass: 0.5 kg, nominal_voltage: 24 V, no_load_speed: 3600 rpm, no_load_current: 0.9 A,
     stall_torque: 0.7 N*m, stall_current: 13 A, rotor_inertia: 4e-5 kg*m^2}
  - {name: large, price: 60, mass: 1.4 kg, nominal_voltage: 24 V, no_load_speed: 2800 rpm, no_load_current: 1.4 A,
     stall_torque: 2 N*m, stall_current: 28 A, rotor_inertia: 2e-4 kg*m^2}
gears:
  - module: 1.5 mm
    face_width: 18 mm
    teeth:
      - {teeth: 15, price: 6, mass: 50 g, available: 2}
      - {teeth: 20, price: 8, mass: 90 g}
      - {teeth: 60, price: 20, mass: 0.8 kg, available: 1}
      - {teeth: 75, price: 27, mass: 1.3 kg}
  - {module: 1 mm, face_width: 10 mm, teeth: [{teeth: 16, price: 5, mass: 15 g}, {teeth: 64, price: 14, mass: 0.25 kg}]}
worms:
  - {name: worm 30, starts: 2, wheel: 60, lead_angle: 9 deg, friction: 0.06, price: 45, mass: 0.9 kg}
gearboxes:
  - {name: box 20, reduction: 20, efficiency: 0.8, drag: 10 mN*m, rated_torque: 60 N*m, price: 50, mass: 0.9 kg}
"""

#: what a requirement each is looked at in
STRICT = TASK.replace("12 A*h}", "12 A*h}\n  protection: [{kind: thermal-auto-reset, rating: 15 A}]").replace(
    "supply_current: {max: 28 A}",
    "supply_current: {max: 27 A}, motor_current: {max: 29 A}, bus_voltage: {min: 22.8 V}, tip_speed: {max: 0.9 m/s}, "
    "static_margin: {min: 1.3}, breaker_trips: no",
)


def written(folder: Path, task: str = TASK, stock: str = STOCK) -> tuple[Path, Path]:
    """Both as files."""
    paths = folder / "task.yaml", folder / "stock.yaml"
    for path, text in zip(paths, (task, stock), strict=True):
        path.write_text(text)
    return paths


def random_stock(seed: int) -> str:
    """Motors, gears and boxes at random, within the range of the trade."""
    rng = np.random.default_rng(seed)

    def some(low: float, high: float) -> str:
        return f"{rng.uniform(low, high):.4g}"

    lines = ["title: at random", "motors:"]
    for k in range(2):
        torque, current = rng.uniform(0.5, 3.0), rng.uniform(10.0, 60.0)
        speed = 0.8 * 24.0 * current / torque * 60.0 / (2.0 * np.pi)
        lines.append(
            f"  - {{name: motor {k}, price: {some(10, 90)}, mass: {some(0.3, 3)} kg, nominal_voltage: 24 V, "
            f"no_load_speed: {speed:.4g} rpm, no_load_current: {some(0.3, 2)} A, stall_torque: {torque:.4g} N*m, "
            f"stall_current: {current:.4g} A, rotor_inertia: {some(2e-5, 5e-4)} kg*m^2}}"
        )
    lines.append("gears:")
    for module in ("1 mm", "1.5 mm"):
        teeth = sorted({*rng.integers(15, 26, 2).tolist(), *rng.integers(40, 90, 3).tolist()})
        wheels = ", ".join(f"{{teeth: {z}, price: {some(4, 30)}, mass: {some(0.02, 1.5)} kg}}" for z in teeth)
        lines.append(
            f"  - {{module: {module}, face_width: {some(8, 20)} mm, material: case-hardened-steel, teeth: [{wheels}]}}"
        )
    lines += [
        "gearboxes:",
        f"  - {{reduction: {some(5, 60)}, efficiency: {some(0.6, 0.9)}, price: {some(30, 90)}, mass: 1 kg}}",
    ]
    return "\n".join(lines) + "\n"
