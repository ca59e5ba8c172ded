"""The battery: from its chemistry, cells and age, or from a voltage and a resistance that were given."""

from dataclasses import dataclass

from armsim.parts.battery import Battery, interpolated
from armsim.scenario import dimensions as d
from armsim.scenario.battery_agreement import usual_resistance, voltage_points
from armsim.scenario.battery_keys import Battery as BatteryKeys
from armsim.scenario.dimensions import understood
from armsim.scenario.notes import Notes
from armsim.scenario.numbers import shown
from armsim.scenario.tables import Chemistry, Points, chemistries

AC_FACTOR = 2.0  #: resistance over seconds against a meter's reading at 1 kHz, of 1.5 to 3 [-]
CRANKING_FALL = 0.9  #: of one lead-acid cell after 30 s at its cold-cranking current, from 2.1 V to 1.2 V [V]
CRANKING_TEMPERATURE = -18.0  #: at which that current is rated [degC]
END_OF_LIFE = 0.8  #: state of health at which resistance has doubled [-]
LOWEST_CHARGE = 0.2  #: where no chemistry tells [-]
_KEY = "supply.battery"


@dataclass(frozen=True, kw_only=True)
class Halves:
    """Resistance that answers at once and the part that follows. [ohm]"""

    at_once: float
    later: float


def battery(given: BatteryKeys, ambient: float, notes: Notes) -> Battery:
    """The battery as it is at the start; notes say what was assumed and derived."""
    if given.state_of_charge is None:
        notes.default(f"{_KEY}.state_of_charge", "full at the start")
    if given.internal_resistance and given.resistance_method is None:
        text = "dc: taken over seconds of current; a meter's at 1 kHz would be about half of that"
        notes.default(f"{_KEY}.resistance_method", text)
    if given.chemistry is None:
        return _by_voltage(given, notes)
    return _by_chemistry(given, chemistries()[given.chemistry], ambient, notes)


def _by_voltage(given: BatteryKeys, notes: Notes) -> Battery:
    """One voltage without a capacity is a source that does not run down."""
    charges, volts = zip(*voltage_points(given), strict=True)
    if given.capacity is None:
        notes.default(f"{_KEY}.capacity", "not given: the open-circuit voltage does not fall with the charge drawn")
    relaxation = given.relaxation
    reading, source = _reading(given)
    if source:
        notes.derived(f"{_KEY}.internal_resistance", source)
    return Battery(
        charge_points=charges,
        voltage_points=volts,
        resistance=reading,
        capacity=given.capacity,
        state_of_charge=_charge(given),
        relaxation_resistance=0.0 if relaxation is None else relaxation.resistance,
        relaxation_time=1.0 if relaxation is None else relaxation.time,
        peukert_exponent=1.0 if given.peukert_exponent is None else given.peukert_exponent,
        lowest_charge=_lowest(given, LOWEST_CHARGE, notes),
    )


def _by_chemistry(given: BatteryKeys, kind: Chemistry, ambient: float, notes: Notes) -> Battery:
    assert given.capacity is not None
    charges, volts = zip(*voltage_points(given), strict=True)
    text = f"{understood(volts[0], d.VOLTAGE)} empty to {understood(volts[-1], d.VOLTAGE)} full, at rest: the table of "
    notes.default(f"{_KEY}.open_circuit_voltage", f"{text}{kind.title}")
    if given.temperature is None:
        notes.default(f"{_KEY}.temperature", f"as around the machine, {understood(ambient, d.TEMPERATURE)}")
    temperature = ambient if given.temperature is None else given.temperature
    halves = _resistances(given, kind, temperature, notes)
    return Battery(
        charge_points=charges,
        voltage_points=volts,
        resistance=halves.at_once,
        capacity=_capacity(given, kind, temperature, notes),
        state_of_charge=_charge(given),
        relaxation_resistance=halves.later,
        relaxation_time=kind.relaxation_time if given.relaxation is None else given.relaxation.time,
        peukert_exponent=_exponent(given, kind, notes),
        rated_hours=kind.rated_hours,
        lowest_charge=_lowest(given, kind.lowest_charge, notes),
        temperature=temperature,
        coldest_charging=kind.coldest_charging,
    )


def _charge(given: BatteryKeys) -> float:
    return 1.0 if given.state_of_charge is None else given.state_of_charge


def _lowest(given: BatteryKeys, usual: float, notes: Notes) -> float:
    if given.lowest_charge is not None:
        return given.lowest_charge
    if given.capacity is not None:
        notes.default(f"{_KEY}.lowest_charge", f"drawn down to {shown(100.0 * usual)} % of its charge, by convention")
    return usual


def _exponent(given: BatteryKeys, kind: Chemistry, notes: Notes) -> float:
    if given.peukert_exponent is not None:
        return given.peukert_exponent
    text = f"{shown(kind.peukert_exponent)}; the capacity is taken to hold for {shown(kind.rated_hours)} h"
    notes.default(f"{_KEY}.peukert_exponent", text)
    return kind.peukert_exponent


# ------------------------------------------------------------------------------------------------------ capacity


def _capacity(given: BatteryKeys, kind: Chemistry, temperature: float, notes: Notes) -> float:
    """Of all strings, as old and cold as they are. [A*s]"""
    assert given.capacity is not None
    strings, health = given.parallel or 1, given.state_of_health or 1.0
    cold = at(kind.capacity_by_temperature, temperature)
    capacity = given.capacity * strings * health * cold
    causes = [f"{strings} strings"] if strings > 1 else []
    causes += [f"{shown(health)} for its age"] if health < 1.0 else []
    causes += [f"{shown(cold)} at {understood(temperature, d.TEMPERATURE)}"] if cold != 1.0 else []
    if causes:
        text = f"{understood(capacity, d.CHARGE)} in all: {understood(given.capacity, d.CHARGE)} times "
        notes.derived(f"{_KEY}.capacity", text + ", ".join(causes))
    return capacity


# ---------------------------------------------------------------------------------------------------- resistance


def _resistances(given: BatteryKeys, kind: Chemistry, temperature: float, notes: Notes) -> Halves:
    """Of all strings, as old, cold and empty as they are."""
    warm = _new_halves(given, kind, notes)
    strings = given.parallel or 1
    causes = _causes(given, kind, temperature)
    factor = 1.0
    for value, _ in causes:
        factor *= value
    board = kind.board if given.internal_resistance is None else 0.0  # a board does not age with its cells
    at_once = (factor * (warm.at_once - board) + board) / strings
    later = factor * warm.later / strings
    told = [f"{shown(round(value, 3))} {cause}" for value, cause in causes]
    told += [f"1/{strings} for the strings"] if strings > 1 else []
    if told:
        text = (
            f"{_milliohm(at_once)} at once and {_milliohm(later)} later: that of one new full string at 25 degC times "
        )
        notes.derived(f"{_KEY}.internal_resistance", text + ", ".join(told))
    return Halves(at_once=at_once, later=later)


def _causes(given: BatteryKeys, kind: Chemistry, temperature: float) -> list[tuple[float, str]]:
    """What makes its resistance another than that of a new full battery at 25 degC, and how much."""
    health = given.state_of_health or 1.0
    charge = _charge(given)
    causes = [
        (at(kind.resistance_by_temperature, temperature), f"at {understood(temperature, d.TEMPERATURE)}"),
        (at(kind.resistance_by_charge, charge), f"at {shown(round(100.0 * charge, 1))} % charge"),
        (1.0 + (1.0 - health) / (1.0 - END_OF_LIFE), "for its age"),
    ]
    return [(factor, cause) for factor, cause in causes if factor != 1.0]


def _new_halves(given: BatteryKeys, kind: Chemistry, notes: Notes) -> Halves:
    """Of one string, new, full, at 25 degC."""
    reading, source = _reading(given)
    if given.cold_cranking_current is not None:
        assert given.cells is not None
        cold = CRANKING_FALL * given.cells / given.cold_cranking_current
        reading = cold / at(kind.resistance_by_temperature, CRANKING_TEMPERATURE)
        source = f"{_milliohm(reading)} warm, from its cold-cranking current: {_milliohm(cold)} at -18 degC after 30 s"
    if source:
        notes.derived(f"{_KEY}.internal_resistance", source)
    if given.relaxation is not None:
        usual = usual_resistance(kind, given)
        assert usual is not None
        return Halves(at_once=reading if _told(given) else _usual(usual, notes), later=given.relaxation.resistance)
    share, time = kind.relaxation_share, f"a time constant of {understood(kind.relaxation_time, d.TIME)}"
    if _told(given):
        # a reading over seconds holds both parts: the sag that was measured is the sag that comes out
        at_once = reading / (1.0 + share)
        text = f"{_milliohm(reading - at_once)} of the {_milliohm(reading)} follow with {time}, typical of the kind"
        notes.default(f"{_KEY}.relaxation", text)
        return Halves(at_once=at_once, later=reading - at_once)
    usual = usual_resistance(kind, given)
    assert usual is not None
    notes.default(f"{_KEY}.relaxation", f"{_milliohm(share * usual)} with {time}, typical of the kind")
    return Halves(at_once=_usual(usual, notes), later=share * usual)


def _told(given: BatteryKeys) -> bool:
    return given.internal_resistance is not None or given.cold_cranking_current is not None


def _usual(resistance: float, notes: Notes) -> float:
    text = f"{_milliohm(resistance)} of one string, new, full and at 25 degC: typical of its kind and capacity"
    notes.default(f"{_KEY}.internal_resistance", text)
    return resistance


def _reading(given: BatteryKeys) -> tuple[float, str]:
    """Resistance over seconds that a reading tells [ohm], and what was done to it; nothing without a reading."""
    typed = given.internal_resistance or 0.0
    if given.resistance_method != "ac":
        return typed, ""
    text = f"{_milliohm(AC_FACTOR * typed)} over seconds, twice the {_milliohm(typed)} that a meter reads at 1 kHz"
    return AC_FACTOR * typed, text


def _milliohm(resistance: float) -> str:
    return f"{1000.0 * resistance:.3g} mohm"


def at(points: Points, where: float) -> float:
    """A table's value at a place, its nearest end beyond it."""
    places, values = zip(*points, strict=True)
    return interpolated(places, values, where)
