"""Hard loads of stages and stops, as table, row and part of the result."""

from typing import Any

from armsim.checks.assessment import Assessment, Blow, Shocks, StageShocks
from armsim.report.numbers import UNKNOWN, degrees, figure, in_display, of, show
from armsim.report.rows import Row

CASES = {
    "run": "in the run",
    "cut": "power cut",
    "stall": "stalled, arm blocked",
    "motor_stop": "motor locks",
    "impact": "hardest blow",
}


def shock_cells(shocks: Shocks, load: str = "arm") -> list[tuple[str, ...]]:
    """Head and rows of the table of shocks."""
    rows: list[tuple[str, ...]] = [("stage", "steady lift", *CASES.values(), "hardest/steady")]
    for k, stage in enumerate(shocks.stages):
        torque = of(load, "torque") if k == len(shocks.stages) - 1 else "torque"
        blows = [_cell(getattr(stage, case), torque) for case in CASES]
        if stage.run is not None and stage.cut is None:
            blows[1] = "no motion"
        if stage.impact is None:
            blows[-1] = "no bound known" if shocks.unbounded else "none"
        rows.append((stage.stage, show(stage.steady, torque, 3), *blows, figure(stage.ratio, 3)))
    return rows


def _cell(blow: Blow | None, dimension: str) -> str:
    if blow is None:
        return UNKNOWN
    torque = show(blow.torque, dimension, 3)
    return torque if blow.force is None else f"{torque}, {show(blow.force, 'force', 3)}"


def shock_text(shocks: Shocks, load: str = "arm") -> str:
    """How to read the table, and what it comes to."""
    text = (
        "Shocks: torque at a stage's output and force at its driver at their hardest. Stalled against a block, "
        "friction counts whichever way loads more. Motor locks: its shaft stopped dead at the fastest moment of the "
        "run, from the energy in motion and the stiffness of the stages, losses aside."
    )
    if shocks.most_loaded is not None:
        text += f" Next to a steady lift {shocks.most_loaded} is loaded most."
    if shocks.motor_stop_torque is not None:
        text += f" At the arm the locked motor means {show(shocks.motor_stop_torque, of(load, 'torque'), 3)}."
    if shocks.unbounded:
        text += f" A {' and a '.join(shocks.unbounded)} was met whose force nothing known bounds."
    return text


def buffer_rows(assessment: Assessment) -> list[Row]:
    """What the buffers take, where the arm meets one."""
    shocks = assessment.shocks
    if not shocks.stop_torque:
        return []
    load = assessment.load
    force = (
        ""
        if shocks.stop_force is None or load == "carriage"
        else f", {show(shocks.stop_force, 'force', 3)} where it is met"
    )
    travel = show(shocks.stop_travel, of(load, "angle"), 3)
    pushes = f"pushes back with {show(shocks.stop_torque, of(load, 'torque'), 3)}{force}"
    return [Row("buffer, at most", f"gives way by {travel} in run or power cut, {pushes}")]


def shocks_json(shocks: Shocks) -> dict[str, Any]:
    """The part of the result that tells of hard loads."""
    stiffness = shocks.train_stiffness
    return {
        "stages": [_stage(stage) for stage in shocks.stages],
        "most_loaded": shocks.most_loaded,
        "train_stiffness_nm_per_deg": None if stiffness is None else stiffness / in_display(1.0, "angle"),
        "motor_stop_torque_nm": shocks.motor_stop_torque,
        "impact_torque_nm": shocks.impact_torque,
        "unbounded": list(shocks.unbounded),
        "stop_torque_nm": shocks.stop_torque,
        "stop_force_n": shocks.stop_force,
        "stop_travel_deg": degrees(shocks.stop_travel),
    }


def _stage(stage: StageShocks) -> dict[str, Any]:
    found: dict[str, Any] = {"name": stage.stage, "steady_torque_nm": stage.steady}
    for case in CASES:
        blow: Blow | None = getattr(stage, case)
        found[f"{case}_torque_nm"] = None if blow is None else blow.torque
        found[f"{case}_force_n"] = None if blow is None else blow.force
    return found | {"hardest": stage.case, "ratio": stage.ratio}
