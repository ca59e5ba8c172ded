"""Sizing as one JSON object and as CSV: units in the names, null or empty where not known."""

import csv
import io
from typing import TYPE_CHECKING, Any

from armsim import __version__
from armsim.report.contract import SCHEMA_VERSION, clean
from armsim.report.numbers import DISPLAY, degrees, in_display, millimetres
from armsim.studies.demand import Course
from armsim.studies.limits import Limit, MotorTried
from armsim.studies.size import Fit, Sizing, Working

if TYPE_CHECKING:
    from armsim.scenario.stock import Stock
    from armsim.scenario.tasks import Task

_WORKING = (
    ("reduction", "reduction"), ("time_s", "time"), ("static_margin", "static_margin"),
    ("motor_current_a", "motor_current"), ("supply_current_a", "supply_current"), ("bus_voltage_min_v", "bus_voltage"),
    ("cycle_current_rms_a", "cycle_current"),
)  # fmt: skip


def size_json(
    task: "Task",
    stock: "Stock | None",
    sizing: Sizing | None,
    limits: tuple[Limit, ...] | None,
    tried: tuple[MotorTried, ...] | None,
) -> dict[str, Any]:
    """The object; what was not asked for is null."""
    result: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "armsim": __version__,
        "scenario": {"title": task.title, "file": task.path.name if task.path else None},
        "inputs_sha256": task.sha256,
        "stock": None if stock is None else {"title": stock.title, "sha256": stock.sha256},
        "demand": None if sizing is None else _demand(sizing),
        "efficiency": None if sizing is None else sizing.efficiency,
        "efficiency_from": None if sizing is None else sizing.efficiency_from,
        "static_margin_asked": None if sizing is None else sizing.margin,
        "motors": None if sizing is None else [_fit(fit) for fit in sizing.fits],
        "not_looked_at": None if sizing is None else [{"name": n, "why": why} for n, why in sizing.refused],
        "limits": None if limits is None else [_limit(limit) for limit in limits],
        "motors_in_this_machine": None if tried is None else [_tried(one) for one in tried],
    }
    cleaned: dict[str, Any] = clean(result)
    return cleaned


def _demand(sizing: Sizing) -> dict[str, Any]:
    demand, arm = sizing.demand, sizing.load.kind == "arm"
    place, name = (degrees, "deg") if arm else (millimetres, "mm")
    effort = "torque_nm" if arm else "force_n"
    return {
        f"start_{name}": place(demand.task.start),
        f"to_{name}": place(demand.task.to),
        "time_s": demand.time,
        f"steady_{effort}": float(demand.steady.max()),
        f"worst_{'angle' if arm else 'position'}_{name}": place(demand.worst_angle),
        f"friction_{effort}": demand.friction,
        "inertia_kg_m2" if arm else "mass_kg": demand.inertia,
        "work_j": demand.work,
        "power_mean_w": demand.work / demand.time,
        "thirds": _course(demand.trapezoid, arm),
        "level_power": None if demand.level is None else _course(demand.level, arm),
    }


def _course(course: Course, arm: bool) -> dict[str, Any]:
    effort = "torque{}_nm" if arm else "force{}_n"
    speed = {"speed_peak_deg_per_s": degrees(course.peak_speed)} if arm else {"speed_peak_m_per_s": course.peak_speed}
    return {
        effort.format("_peak"): course.peak_torque,
        effort.format("_rms"): course.rms_torque,
        **speed,
        "power_peak_w": course.peak_power,
    }


def _fit(fit: Fit) -> dict[str, Any]:
    low, high = fit.window or (None, None)
    return {
        "name": fit.name,
        "price": fit.price,
        "mass_kg": fit.mass,
        "voltage_v": fit.voltage,
        "nominal_voltage_v": fit.nominal_voltage,
        "power_max_w": fit.greatest_power,
        "bearable_current_a": fit.bearable_current,
        "reduction_min": low,
        "reduction_max": high,
        "quickest": _working(fit.quickest),
        "slowest": _working(fit.coolest),
        "lacking": fit.lacking or None,
    }


def _working(working: Working | None) -> dict[str, Any] | None:
    return None if working is None else {name: getattr(working, key) for name, key in _WORKING}


def _limit(limit: Limit) -> dict[str, Any]:
    def shown(value: float | None) -> float | None:
        return None if value is None else in_display(value, limit.dimension)

    return {
        "key": limit.key,
        "what": limit.what,
        "unit": DISPLAY[limit.dimension].unit or None,
        "now": shown(limit.now),
        "passes": shown(limit.passes),
        "fails": shown(limit.fails),
        "binding": list(limit.binding),
        "exceptions": [{"value": shown(value), "binding": list(binding)} for value, binding in limit.exceptions],
        "runs": limit.runs,
    }


def _tried(one: MotorTried) -> dict[str, Any]:
    return {
        "name": one.name,
        "power_max_w": one.power,
        "price": one.price,
        "verdict": one.verdict,
        "binding": list(one.binding),
    }


def fit_rows(sizing: Sizing) -> tuple[list[str], list[list[Any]]]:
    """Heads with units, and a row for each motor; None where not known."""
    heads = [
        "name", "price", "mass_kg", "voltage_v", "power_max_w", "bearable_current_a", "reduction_min", "reduction_max",
    ]  # fmt: skip
    names = [name for name, _ in _WORKING]
    rows = []
    for fit in sizing.fits:
        told = clean(_fit(fit))
        working = [(told[when] or {}).get(name) for when in ("quickest", "slowest") for name in names]
        rows.append([*(told[head] for head in heads), *working, told["lacking"]])
    return [*heads, *(f"{when}_{name}" for when in ("quickest", "slowest") for name in names), "lacking"], rows


def fits_csv(sizing: Sizing) -> str:
    """The same as text, empty where not known."""
    return _as_csv(*fit_rows(sizing))


def limit_rows(limits: tuple[Limit, ...]) -> tuple[list[str], list[list[Any]]]:
    """Heads, and a row for each limit, values in the unit beside them; None where there is none."""
    heads = ["key", "what", "unit", "now", "passes", "fails", "binding", "runs"]
    told = [{**_limit(limit), "binding": " and ".join(limit.binding) or None} for limit in limits]
    return heads, [[one[head] for head in heads] for one in told]


def limits_csv(limits: tuple[Limit, ...]) -> str:
    """The same as text."""
    return _as_csv(*limit_rows(limits))


def _as_csv(heads: list[str], rows: list[list[Any]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerows([heads, *(["" if cell is None else cell for cell in row] for row in rows)])
    return text.getvalue()
