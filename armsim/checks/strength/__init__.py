"""Whether the parts survive: first-pass checks of every stage under its hardest loads.

Teeth, chains, shafts and keys each have a module; the loads are those of checks.shocks. A first pass compares designs
and finds the weak place; it does not replace a rating by the standard.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from armsim.checks.assessment import Finding, Level, Shocks, StageRow, StageShocks
from armsim.checks.codes import finding
from armsim.checks.judged_parts import Loads, StrengthRow
from armsim.checks.phrases import number
from armsim.checks.shocks import NAMES
from armsim.checks.strength import gears
from armsim.checks.strength.drums import drum_strength
from armsim.checks.strength.flexible import belt_strength, chain_strength, flat_belt_strength
from armsim.checks.strength.racks import rack_strength
from armsim.checks.strength.shafts import shaft_strength
from armsim.checks.strength.worms import worm_strength
from armsim.drivetrain.machine import Machine
from armsim.parts.belt import BeltDrive
from armsim.parts.bevel import BevelPair
from armsim.parts.chain import ChainDrive
from armsim.parts.flat_belt import FlatBeltDrive
from armsim.parts.gears import GearPath
from armsim.parts.planetary import PlanetarySet
from armsim.parts.rack import Drum, Rack
from armsim.parts.stage import Hardware, Stage
from armsim.parts.worm_pair import WormPair

Rules = Callable[[Stage, Any, Loads], Iterator[StrengthRow]]

#: checks by kind of hardware
RULES: dict[type[Hardware], Rules] = {
    Rack: rack_strength,
    Drum: drum_strength,
    GearPath: gears.path_rows,
    PlanetarySet: gears.set_rows,
    BevelPair: gears.pair_rows,
    WormPair: worm_strength,
    ChainDrive: chain_strength,
    BeltDrive: belt_strength,
    FlatBeltDrive: flat_belt_strength,
}

CASES = ("steady", "run", "cut", "stall", "motor_stop", "impact")
WEAK = 1.0  #: safety below which a part fails by a first-pass check
SLIM = 1.5  #: safety below which it is worth a word
WORKING = ("steady", "run", "cut")  #: cases that happen as the machine is meant to be used


def judge_strength(machine: Machine, stages: Sequence[StageRow], shocks: Shocks) -> tuple[StrengthRow, ...]:
    """Every check of every stage, in every case whose load is known."""
    own = len(machine.stages) - len(stages)
    rows: list[StrengthRow] = []
    for stage, row, blows in zip(machine.stages[own:], stages, shocks.stages, strict=True):
        rules = None if stage.hardware is None else RULES.get(type(stage.hardware))
        for loads in loads_of(stage, row, blows):
            if rules is not None:
                rows += rules(stage, stage.hardware, loads)
            rows += shaft_strength(stage, loads)
    return tuple(rows)


def loads_of(stage: Stage, row: StageRow, blows: StageShocks) -> Iterator[Loads]:
    """What a stage carries in each case. [N*m, N*m]

    The driver's torque is the driver's push where that is known, else the output's over reduction and efficiency.
    """
    steady = abs(row.output_torque)
    yield Loads(
        case="steady",
        output_torque=steady,
        driver_torque=steady / stage.reduction / row.efficiency_forward,
        driver_speed=row.driver_speed or 0.0,
    )
    for case in CASES[1:]:
        blow = getattr(blows, case)
        if blow is not None:
            radius = stage.driver_radius
            push = None if blow.force is None or radius is None else blow.force * radius
            driver = blow.torque / stage.reduction if push is None else push
            yield Loads(case=case, output_torque=blow.torque, driver_torque=driver)


def working_safety(rows: Sequence[StrengthRow], stage: str) -> float | None:
    """Least safety of a stage as the machine is meant to be used; None where nothing of it is checked. [-]"""
    return min((row.safety for row in rows if row.stage == stage and row.case in WORKING), default=None)


def weakest(rows: Sequence[StrengthRow]) -> StrengthRow | None:
    """The row with the least safety, None without any."""
    return min(rows, key=lambda row: row.safety, default=None)


def strength_findings(rows: Sequence[StrengthRow]) -> Iterator[Finding]:
    """For each part the gravest check it fails, or comes near to failing."""
    worst: dict[tuple[str, str, str], StrengthRow] = {}
    for row in rows:
        key = (row.stage, row.part, row.check)
        if key not in worst or _gravity(row) < _gravity(worst[key]):
            worst[key] = row
    for row in worst.values():
        if row.safety >= SLIM:
            continue
        breaks = row.safety < WEAK and row.case in WORKING and not row.lasting
        weak = "part-wears-out" if row.lasting else "part-too-weak"
        code = weak if row.safety < WEAK else "part-near-its-limit"
        level = Level.ERROR if breaks else Level.WARNING if row.safety < WEAK else Level.NOTE
        text = f"{row.stage}, {row.check} of the {row.part} {NAMES.get(row.case, 'in a steady lift')}: safety "
        text += f"{number(row.safety)} against {row.source}."
        yield finding(level, code, "transmission", text, row.mend)


def _gravity(row: StrengthRow) -> tuple[bool, float]:
    """Gravest first: what fails in use comes before what fails in a blow, however hard."""
    return not (row.safety < WEAK and row.case in WORKING), row.safety
