"""What a person wrote, made into a machine and its plan: text with places in, SI out."""

from armsim.scenario.changes import changed
from armsim.scenario.loading import load, loads
from armsim.scenario.problems import Place, Problem, ScenarioError
from armsim.scenario.records import Assumption, Entry, PartsRow, Scenario, Wish
from armsim.scenario.starter import starter

__all__ = [
    "Assumption",
    "Entry",
    "PartsRow",
    "Place",
    "Problem",
    "Scenario",
    "ScenarioError",
    "Wish",
    "changed",
    "load",
    "loads",
    "starter",
]
