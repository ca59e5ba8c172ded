"""How far the arm gives way with the motor held: backlash, and wind-up under the loads it carries."""

import math
from collections.abc import Sequence

from armsim.checks.assessment import Blow, StageRow, StageShocks
from armsim.checks.judged_parts import PlayResult, PlayRow
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.shafts import free_play
from armsim.parts.stage import Stage


def judge_play(machine: Machine, rows: Sequence[StageRow], shocks: Sequence[StageShocks]) -> PlayResult | None:
    """Stage by stage and together, at the arm. None where there is no stage behind the motor."""
    own = len(machine.stages) - len(rows)
    if not rows:
        return None
    turns = machine.shaft_turns[own + 1 :]
    stages = tuple(
        _row(stage, turn, row.output_torque, blows.stall)
        for stage, turn, row, blows in zip(machine.stages[own:], turns, rows, shocks, strict=True)
    )
    free = free_play(machine, own)
    known = [row for row in stages if row.stiffness is not None]
    stalled = [row.wind_up_stalled for row in known]
    return PlayResult(
        stages=stages,
        arm_length=machine.arm.length,
        backlash=free.angle,
        likely_backlash=None if free.missing else math.hypot(*(row.backlash_at_arm or 0.0 for row in stages)),
        missing=free.missing,
        wind_up=sum(row.wind_up or 0.0 for row in known) if known else None,
        wind_up_stalled=None if not stalled or None in stalled else sum(twist or 0.0 for twist in stalled),
        rigid=tuple(row.stage for row in stages if row.stiffness is None),
    )


def _row(stage: Stage, turns: float, torque: float, stall: Blow | None) -> PlayRow:
    soft, shaft = stage.stiffness, stage.output_shaft
    return PlayRow(
        stage=stage.name,
        backlash=stage.backlash,
        backlash_at_arm=None if stage.backlash is None else stage.backlash / turns,
        stiffness=soft,
        twist_per_length=None if shaft is None else abs(torque) / shaft.rigidity,
        wind_up=None if soft is None else abs(torque) / soft / turns,
        wind_up_stalled=None if soft is None or stall is None else abs(stall.torque) / soft / turns,
    )
