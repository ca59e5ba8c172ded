"""Values typed on a command line, read as a scenario's are."""

from armsim.scenario import dimensions as d
from armsim.scenario import readers as r
from armsim.scenario.problems import Misreading, Place
from armsim.scenario.quantities import read_quantity
from armsim.scenario.source import Leaf, Sources


class AskedError(Exception):
    """A value on the command line that cannot be taken."""

    exit_status = 2


def time_asked(text: str | None) -> float | None:
    """A time with its unit, None where none is given. [s]"""
    if text is None:
        return None
    try:
        value = float(read_quantity(text, d.TIME).value)
        if value <= 0.0:
            raise Misreading("SCN120", "has to be more than 0 s")
    except Misreading as fault:
        raise AskedError(_told("--time", text, fault)) from None
    return value


def share_asked(text: str | None) -> float | None:
    """A part of one, 0.8 or 80 %, None where none is given. [-]"""
    if text is None:
        return None
    reading = r.Reading(sources=Sources())
    leaf = Leaf(text=text, place=Place(file="--efficiency", line=1, column=1), key="efficiency")
    try:
        return float(r.share_reader(zero=False)(leaf, reading))
    except Misreading as fault:
        raise AskedError(_told("--efficiency", text, fault)) from None


def _told(option: str, text: str, fault: Misreading) -> str:
    return f"{option} {text}: {fault.text}" + (f"; {fault.hint}" if fault.hint else "")
