"""Many work cycles as a line, a table, a file of rows, and their part of the result."""

from typing import TYPE_CHECKING, Any

from armsim.dynamics.run import Cycle, Run, Settling
from armsim.report.marking import prose, table
from armsim.report.numbers import figure, in_display, show
from armsim.report.rows import Row
from armsim.report.view import given_up
from armsim.report.wording import plain

if TYPE_CHECKING:
    from armsim.scenario import Scenario

HOW = (
    "Cycles between stepped ones were not followed in time. Between cycles only temperatures, thermal states of "
    "protective devices and the charge drawn change; they decay by known laws, and what a cycle adds to them is taken "
    "as straight between the stepped cycles on either side. A cycle in which something else happens than in the one "
    "before is always stepped, and so is the last."
)
RUNAWAY = "do not settle: the losses grow faster than the motor sheds heat"


def completed(run: Run) -> int:
    """How many cycles went through to their end."""
    return len(run.cycles) - given_up(run)


def settling_of(run: Run | None) -> Settling | None:
    """Where temperatures go; None for a single cycle, one given up, or a motor without heat data."""
    return None if run is None or given_up(run) else run.settling


def cycles_json(scenario: "Scenario", run: Run | None) -> dict[str, Any]:
    """How many cycles, where temperatures go, and a row for each cycle begun."""
    settling = settling_of(run)
    return {
        "count": scenario.plan.repeat,
        "completed": completed(run) if run else None,
        "stepped": sum(c.stepped for c in run.cycles) if run else None,
        "settled": settling.settled if settling else None,
        "settles_at_winding_c": settling.winding if settling else None,
        "settles_at_housing_c": settling.housing if settling else None,
        "table": [_cycle(c, _heat_known(run)) for c in run.cycles] if run else [],
    }


def _heat_known(run: Run) -> bool:
    return run.machine.motor.heat is not None


def _cycle(c: Cycle, heat_known: bool) -> dict[str, Any]:
    return {
        "number": c.number,
        "begun_s": c.begun,
        "duration_s": c.duration,
        "stepped": c.stepped,
        "lift_time_s": c.lift_time,
        "motor_peak_a": c.motor_current,
        "supply_peak_a": c.supply_current,
        "bus_voltage_min_v": c.bus_voltage,
        "winding_peak_c": c.winding if heat_known else None,
        "housing_peak_c": c.housing if heat_known else None,
        "protection_heat_peak": list(c.heat),
        "energy_taken_wh": in_display(c.supplied, "battery_energy"),
    }


def cycle_rows(run: Run | None) -> list[Row]:
    """Cycles done and where the winding's temperature goes, on one line; none for a single cycle."""
    if run is None or len(run.cycles) < 2:
        return []
    text = f"{completed(run)} completed"
    if given_up(run):
        text = f"given up in cycle {len(run.cycles)}"
    settling, now = settling_of(run), show(run.cycles[-1].winding, "temperature", 3)
    if settling is not None:
        end = show(settling.winding, "temperature", 3)
        if settling.winding is None:
            text += f", winding at {now} and still rising: it does not settle"
        elif settling.settled:
            text += f", winding settles at {end} (now {now})"
        else:
            text += f", winding at {now} and still rising, settles at {end}"
    return [Row("work cycles", text)]


def cycles_csv(run: Run) -> str:
    """One line a cycle, comma-separated, units in the heads, nine significant digits, empty where not known."""
    devices = [f"{plain(d.kind)} {k + 1}".replace(",", " ") for k, d in enumerate(run.machine.protection)]
    heads = ["cycle (1)", "begun (s)", "duration (s)", "stepped (1)", "slowest lift (s)", "motor current peak each (A)"]
    heads += ["supply current peak (A)", "bus voltage lowest (V)"]
    heads += ["winding peak (degC)", "housing peak (degC)"] if _heat_known(run) else []
    heads += [*(f"trip state earliest peak of {name} (1)" for name in devices), "energy taken (W*h)"]
    lines = [",".join(heads)]
    for c in run.cycles:
        values: list[float | None] = [c.number, c.begun, c.duration, c.stepped, c.lift_time, c.motor_current]
        values += [c.supply_current, c.bus_voltage]
        values += [c.winding, c.housing] if _heat_known(run) else []
        values += [*c.heat, in_display(c.supplied, "battery_energy")]
        lines.append(",".join("" if value is None or value != value else f"{value:.9g}" for value in values))
    return "\n".join(lines) + "\n"


def cycles_section(scenario: "Scenario", run: Run | None, picture: str) -> list[str]:
    """Markdown: how many, how they were reached, where temperatures go, and rows; nothing for a single cycle."""
    if run is None or scenario.plan.repeat == 1:
        return []
    stepped = sum(c.stepped for c in run.cycles)
    count = f"{completed(run)} of {scenario.plan.repeat} cycles completed"
    count += f"; the run was given up in cycle {len(run.cycles)}. " if given_up(run) else ". "
    between = len(run.cycles) - stepped
    how = f"{stepped} were stepped exactly, {between} reached from those. {HOW}" if between else "All were stepped."
    settling = settling_text(run)
    rows = [[prose(cell) for cell in cycle_cells(c, _heat_known(run))] for c in chosen(run.cycles)]
    return [picture, prose(count + how), prose(settling), table(_head(run), rows), "cycles.csv has every cycle."]


def settling_text(run: Run) -> str:
    """Whether and where temperatures settle, as a sentence; empty where it is not known."""
    settling, last = settling_of(run), run.cycles[-1]
    if settling is None:
        return ""
    now = f"in cycle {last.number} the winding gets to {show(last.winding, 'temperature', 3)}"
    if settling.winding is None:
        return f"The temperatures {RUNAWAY}; {now}."
    where = f"winding at {show(settling.winding, 'temperature', 3)}, housing at "
    where += show(settling.housing, "temperature", 3)
    done = "and is within a kelvin of that" if settling.settled else "and is still rising"
    limit = run.machine.motor.heat.winding_limit if run.machine.motor.heat else None
    above = ""
    if limit is not None and settling.winding > limit:
        above = f" That is above the winding's limit of {show(limit, 'temperature')}."
    return f"Gone on with, the highest temperatures in a cycle settle: {where}; {now} {done}.{above}"


def chosen(cycles: tuple[Cycle, ...]) -> list[Cycle]:
    """Rows that tell the story: the first two, quarters of the way, the last."""
    last = len(cycles) - 1
    return [cycles[k] for k in sorted({0, min(1, last), last // 4, last // 2, 3 * last // 4, last})]


def _head(run: Run) -> list[str]:
    warm = ["winding", "housing"] if _heat_known(run) else []
    return [
        "cycle",
        "reached",
        "begins",
        "slowest lift",
        "motor peak",
        "supply peak",
        "lowest bus",
        *warm,
        "trip state",
    ]


def cycle_cells(c: Cycle, heat_known: bool) -> list[str]:
    """The row of one cycle, in plain text; the trip state is that of the device nearest to opening."""
    warm = [show(c.winding, "temperature"), show(c.housing, "temperature")] if heat_known else []
    return [
        str(c.number),
        "stepped" if c.stepped else "between",
        show(c.begun, "time"),
        "does not arrive" if c.lift_time is None else show(c.lift_time, "time"),
        show(c.motor_current, "current"),
        show(c.supply_current, "current"),
        figure(c.bus_voltage) + " V",
        *warm,
        show(max(c.heat), "share", 3) if c.heat else "-",
    ]
