"""Whether the parts of the transmission fit each other: every rule of every stage, and of neighbours on one shaft.

Each kind of hardware has a module with its rules; they are put together here.
"""

from collections.abc import Callable, Iterator
from typing import Any

from armsim.checks.assessment import Finding, Level
from armsim.checks.codes import finding
from armsim.checks.fit import bevel, gears, planetary
from armsim.checks.fit.belts import belt_fit, flat_belt_fit
from armsim.checks.fit.bores import judge_bores
from armsim.checks.fit.chains import chain_fit
from armsim.checks.fit.drums import judge_drums
from armsim.checks.fit.racks import rack_rows
from armsim.checks.fit.shafts import judge_shafts
from armsim.checks.fit.worms import judge_worm
from armsim.checks.judged_parts import Fit, FitRow
from armsim.drivetrain.machine import Machine
from armsim.parts.belt import BeltDrive
from armsim.parts.bevel import BevelPair
from armsim.parts.chain import ChainDrive
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.gears import GearPath
from armsim.parts.planetary import PlanetarySet
from armsim.parts.rack import Rack
from armsim.parts.stage import Hardware, Stage
from armsim.parts.worm_pair import WormPair

Rules = Callable[[Stage, Any], Iterator[FitRow]]

#: rules by kind of hardware
RULES: dict[type[Hardware], Rules] = {
    Rack: rack_rows,
    GearPath: gears.path_rows,
    PlanetarySet: planetary.set_rows,
    BevelPair: bevel.pair_rows,
    WormPair: judge_worm,
    ChainDrive: chain_fit,
    BeltDrive: belt_fit,
    FlatBeltDrive: flat_belt_fit,
}

_LEVELS = {Fit.NEAR_MISS: Level.ERROR, Fit.WRONG: Level.ERROR, Fit.DOUBTFUL: Level.WARNING}
_CODES = {Fit.NEAR_MISS: "parts-near-miss", Fit.WRONG: "parts-do-not-fit", Fit.DOUBTFUL: "parts-doubtful"}


def judge_fit(machine: Machine) -> tuple[FitRow, ...]:
    """Every rule of every stage, from the motor to the arm."""
    rows: list[FitRow] = []
    for stage in machine.stages:
        rules = None if stage.hardware is None else RULES.get(type(stage.hardware))
        if rules is not None:
            rows += rules(stage, stage.hardware)
    return (*rows, *judge_drums(machine), *judge_bores(machine), *judge_shafts(machine))


def fit_findings(rows: tuple[FitRow, ...]) -> Iterator[Finding]:
    """A finding for every rule that is not simply kept; what is not known is only listed."""
    for row in rows:
        level = _LEVELS.get(row.fit)
        if level is not None:
            text = f"{row.stage}, {row.rule}: {row.given}; wanted {row.wanted}. {row.text}".strip()
            yield finding(level, _CODES[row.fit], "transmission", text, row.mend)
