"""What the keys of chains and belts must agree on."""

from typing import Any

from armsim.scenario.faults import Faults
from armsim.scenario.flexible_keys import Belt, Chain
from armsim.scenario.problems import Misreading
from armsim.scenario.validate import Path


def flexible_faults(part: Any, path: Path) -> Faults:
    """Faults of a chain or belt; none of another kind."""
    if isinstance(part, (Chain, Belt)):
        yield from _outside_faults(part, path)
    if isinstance(part, Chain):
        yield from _chain_faults(part, path)


def _outside_faults(part: Chain | Belt, path: Path) -> Faults:
    """A wheel on the back needs others inside, and then the two alone do not settle the length of the loop."""
    if part.driver.outside and part.driven.outside:
        text = "both wheels are outside the loop"
        yield (*path, "driven", "outside"), Misreading("SCN121", text, "one of them has to be inside")
    elif _outside(part):
        for key in ("centre_distance", "sag"):
            if getattr(part, key, None) is not None:
                text = "says nothing where one wheel is outside: the loop goes round others too"
                yield (*path, key), Misreading("SCN122", text, "leave it out")


def _outside(part: Chain | Belt) -> bool:
    return part.driver.outside or part.driven.outside


def _chain_faults(chain: Chain, path: Path) -> Faults:
    if chain.strands is not None and chain.number.strands not in (1, chain.strands):
        text = f"number {chain.number.number} has {chain.number.strands} strands"
        yield (*path, "strands"), Misreading("SCN121", text, "keep one of the two")
    if chain.friction is not None and chain.efficiency is not None:
        yield (*path, "friction"), Misreading("SCN122", "efficiency is given too", "keep one of the two")
    if chain.sag is None:
        return
    if chain.backlash is not None:
        yield (*path, "sag"), Misreading("SCN122", "backlash is given too", "keep one of the two")
    elif chain.centre_distance is None and chain.links is None and not _outside(chain):
        yield (*path, "centre_distance"), Misreading("SCN103", "is missing", "the sag needs it, or links, for the span")
