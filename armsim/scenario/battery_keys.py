"""The keys of a battery; see schema.py."""

from typing import Annotated

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario import special_readers as special
from armsim.scenario.cells import cells_in_series, chemistry_word
from armsim.scenario.keys import Keys, Level, Part, Resistance, Temperature


class Relaxation(Keys):
    """The part of a battery's sag that comes and goes slowly."""

    example = "{resistance: 6 mohm, time: 0.7 s}"
    resistance: Resistance
    time: Annotated[float, r.quantity(d.TIME, above=0.0, usual=(0.01, 600.0))]


class Battery(Keys):
    """A battery by its chemistry and cells, or by its open-circuit voltage and resistance."""

    example = "{open_circuit_voltage: 25.2 V, internal_resistance: 40 mohm}"
    open_circuit_voltage: Annotated[tuple[tuple[float, ...], ...], special.voltage_points()] | None = None
    chemistry: Annotated[str, chemistry_word()] | None = None
    cells: Annotated[int, cells_in_series()] | None = None
    parallel: Annotated[int, r.whole(1, 100, noun="strings")] | None = None
    capacity: Annotated[float, r.quantity(d.CHARGE, above=0.0, usual=(180.0, 3.6e6))] | None = None
    state_of_charge: Level | None = None
    internal_resistance: Resistance | None = None
    resistance_method: Annotated[str, r.choice("dc", "ac")] | None = None
    cold_cranking_current: Annotated[float, r.quantity(d.CURRENT, above=0.0, usual=(50.0, 1500.0))] | None = None
    relaxation: Relaxation | None = None
    temperature: Temperature | None = None
    state_of_health: Part | None = None
    lowest_charge: Level | None = None
    peukert_exponent: Annotated[float, r.number(least=1.0, most=2.0)] | None = None
