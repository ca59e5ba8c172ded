"""The time series of a run as columns with units in their names, and as a CSV file."""

import numpy as np

from armsim.dynamics.run import Run, Series
from armsim.report.numbers import of, shown_in
from armsim.report.view import numbers
from armsim.report.wording import axis_of, plain


def columns(run: Run) -> dict[str, Series]:
    """The time series by name, with its unit, in which they are; NaN where not known."""
    load = run.machine.arm.kind
    place, speed = of(load, "angle"), of(load, "angular_speed")
    found: dict[str, np.ndarray] = {
        "time (s)": run.time,
        axis_of(load, "angle").lower(): shown_in(run.angle, place),
        axis_of(load, "angular_speed").lower(): shown_in(run.speed, speed),
        "motor current each (A)": run.motor_current,
        "supply current (A)": run.supply_current,
        "bus voltage (V)": run.bus_voltage,
        "duty (1)": run.duty,
        "motor torque all (N*m)": run.motor_torque,
        "charge drawn (A*h)": run.charge_drawn / 3600.0,
    }
    if run.machine.motor.heat is not None:
        found |= {"winding (degC)": run.winding, "housing (degC)": run.housing}
    for k, device in enumerate(run.machine.protection):
        name = f"{plain(device.kind)} {k + 1}".replace(",", " ")
        found[f"trip state earliest of {name} (1)"] = run.heat_earliest[k]
        found[f"trip state latest of {name} (1)"] = run.heat_latest[k]
    if np.isfinite(run.reference).any():
        asked = "position asked for (mm)" if load == "carriage" else "angle asked for (deg)"
        found |= {asked: shown_in(run.reference, place)}
    if len(run.cycles) > 1:
        found |= {"cycle (1)": numbers(run)}
    return {name: np.asarray(column, dtype=float) for name, column in found.items()}


def series(run: Run) -> str:
    """The time series as comma-separated text, units in the heads, nine significant digits, empty where not known."""
    found = columns(run)
    rows = np.column_stack(list(found.values()))
    lines = [",".join(found)]
    template = ",".join(["%.9g"] * rows.shape[1])
    lines += [(template % tuple(row)).replace("nan", "") for row in rows.tolist()]
    return "\n".join(lines) + "\n"
