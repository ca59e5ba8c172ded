"""How long each protective device takes at steady currents, as a table."""

from collections.abc import Sequence

from armsim.checks.assessment import ProtectionResult, TripRow
from armsim.report.marking import prose, table
from armsim.report.numbers import show
from armsim.report.tables import device_name

HEAD = ("device", "steady current", "from cold", "from warm")


def trip_section(protection: Sequence[ProtectionResult], simulated: bool) -> list[str]:
    """The table and what warm means, where there is a device."""
    if not protection:
        return []
    rows = [[prose(cell) for cell in (device_name(p), *_cells(row))] for p in protection for row in p.trip_rows]
    carried = "its rating in force"
    if simulated:
        carried = f"the run's rms current, {show(protection[0].warm_current, 'current', 3)}"
    text = f"Time to open, earliest to latest by the band of its kind. Warm: after long running at {carried}."
    return [prose(text), table(HEAD, rows, numeric=False)]


def _cells(row: TripRow) -> tuple[str, str, str]:
    return (
        f"{row.case}, {show(row.current, 'current', 3)}",
        _band(row.cold_earliest, row.cold_latest),
        _band(row.warm_earliest, row.warm_latest),
    )


def _band(earliest: float | None, latest: float | None) -> str:
    if earliest is None:
        return "never"
    if latest is None:
        return f"{show(earliest, 'time', 3)} or later, never for certain"
    return f"{show(earliest, 'time', 3)} to {show(latest, 'time', 3)}"
