"""armsim from Python: read a scenario, change it, run it, study it, and look at what came out.

All is in SI but where a name says otherwise: angles in rad (places of a carriage in m), temperatures in degC.
"""

from armsim.api.compared import Comparison, compare
from armsim.api.single import Result, run
from armsim.api.studied import Study, limits, size, spread, sweep
from armsim.dynamics.segment import SolverError
from armsim.report.files import WriteError
from armsim.scenario import Scenario, ScenarioError, changed, load, loads

__all__ = [
    "Comparison",
    "Result",
    "Scenario",
    "ScenarioError",
    "SolverError",
    "Study",
    "WriteError",
    "changed",
    "compare",
    "limits",
    "load",
    "loads",
    "run",
    "size",
    "spread",
    "sweep",
]
