"""Very many designs, beyond one machine: planned in chunks, carried out anywhere, kept as they come.

A study is a `Plan` (what is asked, of how many rows) and a `Work` (how any of its rows are made and calculated). Chunk
k follows from its number alone, so nothing large is sent, results depend neither on who calculates nor on the order,
and a `Store` that has some of the chunks needs only the others. What holds more rows than memory is read chunk by chunk
(`collect`).
"""

from armsim.studies.engine.carry import Outcome, Progress, carry_out
from armsim.studies.engine.places import ClusterError, Place, cluster, local
from armsim.studies.engine.plan import Budget, Plan, Work, plan_of
from armsim.studies.engine.store import Store, StoreError

__all__ = [
    "Budget",
    "ClusterError",
    "Outcome",
    "Place",
    "Plan",
    "Progress",
    "Store",
    "StoreError",
    "Work",
    "carry_out",
    "cluster",
    "local",
    "plan_of",
]
