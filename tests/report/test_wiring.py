"""Wires as the report, the first lines and the result tell of them."""

import math
from dataclasses import replace

from armsim.checks.wire_heat import WireResult
from armsim.parts.wiring import Size
from armsim.report.markdown import report
from armsim.report.wiring import wiring_json, wiring_rows, wiring_section
from tests.report import sample

COOL = WireResult(
    where="supply.wiring[0]",
    name="battery to breaker",
    resistance=0.008,
    peak=50.0,
    rms=12.0,
    peak_drop=0.4,
    peak_drop_share=0.016,
    rms_drop=0.096,
    rms_drop_share=0.0038,
    heat=1.152,
    hottest=31.0,
    hottest_at=2.0,
    settles=36.0,
    limit=70.0,
    ampacity=49.1,
)
HOT = replace(COOL, name="", hottest=66.0, settles=math.inf, remedy=Size(name="8 AWG", area=8.4e-6, per_metre=2.1e-3))


def test_the_report_has_a_row_for_each_run():
    scenario, assessment = sample.lifting()
    text = report(scenario, assessment, ())
    part = text.split("## Wiring")[1].split("\n## ")[0]
    peak = 0.012 * assessment.run.peaks.supply_current.value
    assert "| wiring | " in part
    assert f"{peak:.3g} V" in part


def test_the_table_names_each_run_and_says_where_it_settles():
    _, table = wiring_section([COOL, HOT])
    rows = table.splitlines()
    assert rows[2].startswith("| battery to breaker | 50 A, 12 A | 0.4 V (1.6 %) | 0.096 V (0.38 %) | 1.15 W | 31 °C")
    assert rows[3].startswith("| wiring\\[0\\] |") or rows[3].startswith("| wiring[0] |")
    assert "runs away" in rows[3]
    assert wiring_section([]) == []


def test_only_a_wire_that_matters_has_a_line_among_the_first_numbers():
    assert wiring_rows([COOL]) == []
    (row,) = wiring_rows([COOL, HOT])
    assert (row.name, "runs away" in row.value) == ("wire, wiring[0]", True)
    (row,) = wiring_rows([replace(COOL, peak_drop_share=0.06)])
    assert row.name == "wire, battery to breaker"


def test_the_result_says_that_it_runs_away_and_what_would_do():
    cool, hot = wiring_json([COOL, HOT])
    assert (cool["runs_away"], cool["settles_c"], cool["next_size"]) == (False, 36.0, None)
    assert (hot["runs_away"], hot["next_size"], hot["name"]) == (True, "8 AWG", None)
