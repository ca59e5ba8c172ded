"""The demos in which the electrical side decides: what each is there to show."""

import json
from dataclasses import replace
from pathlib import Path

from armsim.cli import main
from armsim.dynamics.run import Kind
from armsim.dynamics.trajectory import simulate
from armsim.scenario import load
from armsim.scenario.tables import ambient_factor


def test_the_cold_morning_demo_lifts_and_still_lets_go(capsys):
    assert main(["run", "scenarios/crate-tipper-dawn.yaml", "--json", "--strict"]) == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["lift"]["reached"]
    assert [row["name"] for row in answer["requirements"] if not row["met"]] == ["controller_resets"]
    assert "undervoltage-resets" in {found["code"] for found in answer["findings"]}


def test_the_noon_demo_trips_only_when_warm():
    noon = load(Path("scenarios/crate-tipper-noon.yaml"))
    (device,) = noon.machine.protection
    cool = replace(noon.machine, ambient=25.0, protection=(replace(device, factor=ambient_factor("thermal", 25.0)),))
    hot, mild = simulate(noon.machine, noon.plan), simulate(cool, noon.plan)
    opened = hot.first(Kind.BREAKER_OPENS)
    assert opened is not None
    assert opened.time > 300.0  # far from cold: more than thirty lifts have gone well
    assert hot.cycles[0].heat[0] < 0.5
    assert mild.first(Kind.TRIP_POSSIBLE) is None
    assert len(mild.cycles) == 60
