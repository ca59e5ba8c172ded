"""Many designs at once, by the laws of the exact run: one machine of arrays, advanced mode by mode."""

from armsim.dynamics.ensemble.designs import pick, stacked
from armsim.dynamics.ensemble.lift import Lifts, lift_many
from armsim.dynamics.ensemble.scope import unsupported

__all__ = ["Lifts", "lift_many", "pick", "stacked", "unsupported"]
