"""A bench or mains supply: what it does besides giving its voltage."""

import math

from armsim.parts.battery import Battery, constant_source
from armsim.parts.outlet import Outlet
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Bench

RESISTANCE = 0.01  #: of a regulated output with its leads, where no sheet tells [ohm]
CAPACITANCE = 1e-3  #: at a controller's input, where no sheet tells [F]


def bench_source(given: Bench, notes: Notes) -> Battery:
    """The set voltage behind the output's resistance."""
    resistance = given.internal_resistance
    if resistance is None:
        resistance = RESISTANCE
        notes.default("supply.bench.internal_resistance", f"{understood(RESISTANCE, d.RESISTANCE)}, of the output")
    return constant_source(given.voltage, resistance)


def outlet(given: schema.Supply, controller: schema.Controller, notes: Notes) -> Outlet | None:
    """What the supply does besides; None for a battery, and for a bench supply that nothing limits."""
    bench = given.bench
    if bench is None:
        return None
    if bench.current_limit is None:
        notes.default("supply.bench.current_limit", "none: it gives whatever current is asked")
    elif bench.short_circuit_current is None:
        notes.default("supply.bench.short_circuit_current", "the limit is taken to be constant, without foldback")
    if "can_sink" not in bench.model_fields_set:
        notes.default("supply.bench.can_sink", "no: it takes no current back, as most do not")
    if bench.can_sink and bench.current_limit is None:
        return None
    capacitance = controller.input_capacitance
    if capacitance is None:
        capacitance = CAPACITANCE
        text = f"{understood(CAPACITANCE, d.CAPACITANCE)}: what the bus takes up where the supply limits or blocks"
        notes.default("controller.input_capacitance", text)
    return Outlet(
        current_limit=math.inf if bench.current_limit is None else bench.current_limit,
        short_circuit_current=bench.short_circuit_current,
        can_sink=bench.can_sink,
        capacitance=capacitance,
    )


def bench_faults(bench: Bench, other_loads: float) -> Faults:
    """Limits that fit each other and leave something for the motor."""
    limit, short = bench.current_limit, bench.short_circuit_current
    if short is not None and limit is None:
        yield (
            ("supply", "bench", "short_circuit_current"),
            Misreading("SCN103", "needs current_limit beside it", "foldback goes from current_limit down to this"),
        )
    if short is not None and limit is not None and short > limit:
        amps = understood(limit, d.CURRENT)
        yield (
            ("supply", "bench", "short_circuit_current"),
            Misreading("SCN121", f"is above current_limit, {amps}", "foldback gives less into a short, not more"),
        )
    least = min(amps for amps in (limit, short, math.inf) if amps is not None)
    if other_loads >= least:
        amps = understood(least, d.CURRENT)
        yield (
            ("supply", "other_loads"),
            Misreading("SCN121", f"take all of the supply's {amps}", "nothing is left for the motor"),
        )
    if bench.internal_resistance == 0.0:
        yield (
            ("supply", "bench", "internal_resistance"),
            Misreading(
                "SCN121", "cannot be nothing", "leave it out, or give what output and leads have, such as 5 mohm"
            ),
        )
