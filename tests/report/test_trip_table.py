"""Trip times of devices as the report tells them."""

from dataclasses import replace

from armsim.checks.assessment import ProtectionResult, TripRow
from armsim.report.trip_table import trip_section

ROW = TripRow(case="stalled", current=80.0, cold_earliest=3.5, cold_latest=19.81, warm_earliest=2.0, warm_latest=12.84)
DEVICE = ProtectionResult(
    kind="thermal-manual-reset",
    rating=40.0,
    trips=None,
    earliest=None,
    latest=None,
    heat_peak=None,
    warm_current=32.0,
    trip_rows=(ROW,),
)


def test_each_current_has_a_row_with_both_bands():
    text, table = trip_section([DEVICE], True)
    assert "the run's rms current, 32 A" in text
    assert table.splitlines()[2] == ("| thermal-manual-reset 40 A | stalled, 80 A | 3.5 s to 19.8 s | 2 s to 12.8 s |")


def test_an_edge_that_is_not_reached_is_told_in_words():
    unsure = replace(ROW, cold_latest=None, warm_earliest=None, warm_latest=None)
    _, table = trip_section([replace(DEVICE, trip_rows=(unsure,))], False)
    assert "| 3.5 s or later, never for certain | never |" in table


def test_a_device_in_the_heat_is_named_with_what_it_is_worth():
    text, table = trip_section([replace(DEVICE, in_force=32.0)], False)
    assert "its rating in force" in text
    assert "thermal-manual-reset 40 A (here 32 A)" in table
    assert trip_section([], True) == []
