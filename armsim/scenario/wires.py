"""Runs of wire: what their keys must agree on, and what they are made of."""

from collections.abc import Iterator

from armsim.parts.wiring import Run, Size, gauge_area, resistance_per_length, round_trip_resistance
from armsim.scenario import dimensions as d
from armsim.scenario.dimensions import understood
from armsim.scenario.faults import Faults, given
from armsim.scenario.notes import Notes
from armsim.scenario.problems import Misreading
from armsim.scenario.schema import Wiring
from armsim.scenario.special_readers import WireSize
from armsim.scenario.tables import ampacity, conductor_sizes, largest_resistance, strand_path, vehicle_areas
from armsim.scenario.validate import Path

WAYS = ("gauge", "area", "resistance")
DEFAULT_CLASS = "class-5"  #: of metric sizes whose stranding is not given
PARTS = ("gauge_system", "length", "joints", "temperature", "stranding", "insulation_limit")


def run_faults(run: Wiring, path: Path, ends: str) -> Faults:
    """One way of saying what the wire is, with all that this way needs; `ends` says from where to where."""
    ways = given(run, WAYS)
    if len(ways) > 1:
        yield (*path, ways[1]), Misreading("SCN122", f"{ways[0]} is given too", "give one of gauge, area, resistance")
    if not ways:
        hint = "write {gauge: 10 AWG, length: 1.8 m} or {resistance: 12 mohm}"
        yield path, Misreading("SCN122", "says nothing of the wire", hint)
    if ways == ["resistance"]:
        for key in PARTS:
            if key in run.model_fields_set:
                hint = "leave this out, or give gauge or area in place of resistance"
                yield (*path, key), Misreading("SCN122", "the resistance is given whole", hint)
    elif ways and run.length is None:
        hint = f"one way from {ends}, such as length: 1.8 m; the way back is counted in"
        yield (*path, "length"), Misreading("SCN103", "is missing", hint)
    if ways and ways != ["resistance"] and run.gauge_system == "sae":
        yield from _vehicle_faults(_size(run), path)


def _vehicle_faults(size: WireSize, path: Path) -> Faults:
    known = vehicle_areas()
    if size.gauge is None:
        text = "a cross-section in mm^2 is of no gauge system"
        yield (*path, "gauge_system"), Misreading("SCN121", text, "leave this out, or write gauge: 10")
    elif not min(known) <= size.gauge <= max(known):
        text = "vehicle wire is known from 18 to 4/0 only"
        yield (*path, "gauge_system"), Misreading("SCN120", text, "leave this out, or give the area in mm^2")


def _size(run: Wiring) -> WireSize:
    size = run.gauge if run.gauge is not None else run.area
    assert size is not None
    return size


def wiring(given: list[Wiring], notes: Notes) -> tuple[Run, ...]:
    """The runs from battery to controller, in series."""
    if not given:
        notes.default("supply.wiring", "not given: no resistance between battery and controller")
    one = len(given) == 1
    return tuple(_run(run, "supply.wiring" if one else f"supply.wiring[{k}]", notes) for k, run in enumerate(given))


def leads(given: Wiring | None, notes: Notes) -> Run | None:
    """The run from the controller to each motor."""
    return None if given is None else _run(given, "motor.leads", notes)


def _run(given: Wiring, key: str, notes: Notes) -> Run:
    if given.resistance is not None:
        return Run(name=given.name or "", resistance=given.resistance)
    size, length = _size(given), given.length
    assert length is not None
    area = _metal(given, size, key, notes)
    cold = _per_metre(given, size)
    _told_strands(given, size, cold, key, notes)
    for name, text in (
        ("temperature", "copper at 20 degC"),
        ("insulation_limit", "70 degC, as plain PVC; it settles how hot the wire may be and what it stands in a fault"),
    ):
        if name not in given.model_fields_set:
            notes.default(f"{key}.{name}", text)
    longer = cold / float(resistance_per_length(area))
    resistance = float(
        round_trip_resistance(area, length, temperature=given.temperature, stranding=longer, joints=given.joints)
    )
    text = f"{understood(resistance, d.RESISTANCE)} there and back: the length of {understood(length, d.LENGTH)} is one"
    notes.derived(f"{key}.resistance", f"{text} way")
    return Run(
        name=given.name or "",
        resistance=resistance,
        area=area,
        length=length,
        joints=given.joints,
        temperature=given.temperature,
        insulation_limit=given.insulation_limit,
        ampacity=ampacity(),
        thicker=tuple(_thicker(given, size)),
    )


def _metal(given: Wiring, size: WireSize, key: str, notes: Notes) -> float:
    """Cross-section, told of where it is less than the size says. [m2]"""
    area = _area(given, size)
    if area != size.area:
        ratio = f"{area / size.area:.3g} of the metal of the American gauge of its number"
        notes.derived(f"{key}.area", f"{understood(area, d.AREA)}: vehicle wire has {ratio}")
    return area


def _area(given: Wiring, size: WireSize) -> float:
    """Cross-section, in vehicle wire less by its ratio, straight between the sizes told. [m2]"""
    if given.gauge_system == "awg" or size.gauge is None:
        return size.area
    known = sorted(vehicle_areas().items())
    below = max(pair for pair in known if pair[0] <= size.gauge)
    above = min(pair for pair in known if pair[0] >= size.gauge)
    share = (size.gauge - below[0]) / (above[0] - below[0]) if above != below else 0.0
    return (below[1] + share * (above[1] - below[1])) * size.area


def _per_metre(given: Wiring, size: WireSize) -> float:
    """Resistance of one conductor at 20 degC: of its class, where it is a metric size of one. [ohm/m]"""
    strands, solid = given.stranding, float(resistance_per_length(_area(given, size)))
    if isinstance(strands, float):
        return strands * solid
    listed = largest_resistance(size.area, strands or DEFAULT_CLASS) if size.gauge is None else None
    return listed if listed is not None else solid * (1.0 if strands is None else strand_path(strands))


def _told_strands(given: Wiring, size: WireSize, cold: float, key: str, notes: Notes) -> None:
    """What was taken for the stranding."""
    strands = given.stranding
    if isinstance(strands, float):
        return
    if size.gauge is None and largest_resistance(size.area, strands or DEFAULT_CLASS) is not None:
        text = f"{1e3 * cold:.6g} mohm/m at 20 degC, the most that IEC 60228 allows this size in"
        (notes.derived if strands else notes.default)(f"{key}.stranding", f"{text} {strands or DEFAULT_CLASS}")
    elif strands is not None:
        notes.derived(f"{key}.stranding", f"strands of {strands} lengthen the path {strand_path(strands):.6g} times")


def _thicker(given: Wiring, size: WireSize) -> Iterator[Size]:
    """The sizes of its kind above one, thinnest first."""
    if size.gauge is None:
        kind = [(f"{1e6 * area:g} mm2", WireSize(area=area)) for area in conductor_sizes()]
    else:
        gauges = sorted(vehicle_areas(), reverse=True)
        kind = [(gauge_name(n), WireSize(area=float(gauge_area(n)), gauge=n)) for n in gauges]
    for name, other in kind:
        if other.area > 1.001 * size.area:
            yield Size(name=name, area=_area(given, other), per_metre=_per_metre(given, other))


def gauge_name(gauge: int) -> str:
    """A gauge as the trade writes it."""
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"
