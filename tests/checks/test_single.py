"""Whole assessments: headlines, verdicts, findings, and what a check without a run leaves out."""

import ast
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import armsim.checks
from armsim.checks.assessment import Level
from armsim.checks.codes import CODES, finding
from armsim.drivetrain.machine import loaded
from armsim.dynamics.plan import Follow, Hold, Limits, Plan, PowerCut, Rest, Travel
from armsim.dynamics.segment import Tolerances
from armsim.dynamics.trajectory import simulate
from armsim.parts.bridge import Controller
from armsim.studies.single import assess_machine, check_machine

from .machines import BREAKER, HEAT, LIFT, MOTOR, machine, stage
from .test_requirements import Wish

DEG = math.pi / 180.0
GUARDED = machine(protection=(BREAKER,), motor=replace(MOTOR, heat=HEAT))
HALFWAY = replace(GUARDED, stages=(stage(16.0, 0.70),), protection=(replace(BREAKER, rating=20.0, resets_itself=True),))
PATIENT = Plan(start=-59.0 * DEG, moves=(Travel(to=60.0 * DEG, patience=30.0),))
WORM = machine(stages=(stage(40.0, 0.4, -0.5), stage(3.0, 0.95)), protection=(BREAKER,))
CYCLE = Plan(
    start=-30.0 * DEG,
    moves=(
        Travel(to=60.0 * DEG),
        Hold(duration=2.0),
        Travel(to=-30.0 * DEG, duty=-0.5),
        Rest(duration=3.0),
    ),
)


def codes(assessment, *levels):
    return {found.code for found in assessment.findings if not levels or found.level in levels}


def test_a_machine_that_lifts_says_so_first():
    found = assess_machine(GUARDED, LIFT, [Wish("lift_time", "time", "max", 0.5)])
    assert found.headline == f"LIFTS: reaches 60.0 deg in {found.lift.time:.3f} s"
    assert found.verdict == "pass"
    assert Level.ERROR not in {item.level for item in found.findings}
    assert {"falls-unpowered", "shorted-creeps", "stall-unseen"} <= codes(found, Level.WARNING)
    assert found.holding.coasting.falls
    assert found.holding.shorted.fall_time > found.holding.coasting.fall_time


def test_a_machine_that_stalls_half_way_says_where_why_and_what_would_help():
    found = assess_machine(HALFWAY, PATIENT)
    assert found.verdict == "fail"
    assert found.headline.startswith("DOES NOT LIFT: stalls at ")
    assert "thermal-manual-reset opens" in found.headline
    assert "(now 16.0:1), or a payload of " in found.headline
    assert found.headline.endswith(" would lift it")
    assert {"does-not-lift", "static-margin-short", "trips-for-certain"} <= codes(found, Level.ERROR)
    assert {"recloses-unasked", "hits-stop"} <= codes(found, Level.WARNING)
    by_code = {item.code: item for item in found.findings}
    assert "or more (now 16.0:1)" in by_code["does-not-lift"].mend
    mended = replace(HALFWAY, stages=(stage(found.lift.mends[0].needed, 0.70),))
    assert assess_machine(mended, PATIENT).lift.reached


def test_a_self_locking_train_holds_and_is_not_called_a_brake():
    found = assess_machine(WORM, CYCLE, [Wish("holds_unpowered", "flag", "is", True)])
    assert found.verdict == "pass"
    assert "holds-by-locking" in codes(found, Level.NOTE)
    assert not {"falls-unpowered", "sinks-while-held"} & codes(found)
    text = next(item for item in found.findings if item.code == "holds-by-locking").text
    assert "not a brake" in text


def test_gears_that_turn_back_sink_in_a_rest():
    found = assess_machine(GUARDED, CYCLE)
    assert "sinks-while-held" in codes(found, Level.WARNING)
    twice = assess_machine(GUARDED, replace(CYCLE, repeat=2))
    (item,) = [item for item in twice.findings if item.code == "sinks-while-held"]
    assert item.text.endswith("; so 2 times.")


def test_a_current_limit_in_the_way_is_named_with_the_limit_that_would_do():
    limited = replace(GUARDED, controller=Controller(resistance=0.004, current_limit=10.0))
    found = check_machine(limited, LIFT)
    (item,) = [item for item in found.findings if item.code == "current-limit-blocks"]
    # 15.7964 A raise the arm at the horizontal
    assert item.mend == "a limit of 15.8 A or more"


def test_a_lowering_that_fails_fails_the_whole():
    # half duty down against a locking stage with heavy drag does not move
    stuck = replace(WORM, stages=(stage(120.0, 0.4, drag=0.9),))
    found = assess_machine(stuck, Plan(start=-0.5, moves=(Travel(to=0.5), Travel(to=-0.5, duty=-0.3))))
    assert "BUT DOES NOT LOWER" in found.headline
    assert found.verdict == "fail"
    assert "does-not-lower" in codes(found, Level.ERROR)


def test_undervoltage_and_missing_protection_are_said():
    weak = machine(controller=Controller(resistance=0.004, undervoltage=11.0))
    found = assess_machine(weak, LIFT)
    assert {"undervoltage-resets", "does-not-lift"} <= codes(found, Level.ERROR)
    assert {"undervoltage-at-stall", "no-protection"} <= codes(found, Level.WARNING)


def test_energy_of_every_assessed_run_balances():
    for m, plan in ((GUARDED, LIFT), (HALFWAY, PATIENT), (WORM, CYCLE)):
        found = assess_machine(m, plan)
        assert abs(found.energy.residual) < 1e-6 * found.energy.throughput
        assert "energy-open" not in codes(found)


def test_a_cut_that_is_never_reached_is_said():
    plan = replace(LIFT, power_cut=PowerCut(time=50.0))
    assert "cut-not-reached" in codes(assess_machine(GUARDED, plan))


def test_an_unjudgeable_wish_keeps_the_verdict_open():
    cold = machine(protection=(BREAKER,))
    found = assess_machine(cold, LIFT, [Wish("winding_temperature", "temperature", "max", 110.0)])
    assert found.verdict == "none"
    assert "not-judged" in codes(found)


def test_check_speaks_without_a_run():
    found = check_machine(GUARDED, LIFT, [Wish("lift_time", "time", "max", 0.5)])
    assert found.headline.startswith("TORQUE TO LIFT: 6.83 times what it needs at 0.0 deg")
    assert found.run is None
    assert found.lift.reached is None
    assert found.verdict == "none"
    assert found.protection[0].trips is None
    short = check_machine(replace(GUARDED, stages=(stage(6.0, 0.70),)), LIFT)
    assert short.headline.startswith("DOES NOT LIFT: cannot start at -30.0 deg with ")
    assert (
        "; a reduction of 17.6:1 or more (now 6.00:1), or a payload of 2.05 kg or less (now 6.00 kg)" in short.headline
    )
    assert short.headline.endswith(", or a source of 36.3 V or more (now 12.6 V) would do by torque")
    assert short.verdict == "fail"


def test_check_and_run_agree_on_statics():
    for m, plan in ((GUARDED, LIFT), (HALFWAY, PATIENT), (WORM, CYCLE)):
        checked, run = check_machine(m, plan), assess_machine(m, plan)
        assert checked.lift.static_margin == run.lift.static_margin
        assert checked.transmission == run.transmission
        assert checked.time_to_limit == run.time_to_limit


def test_check_loads_neither_scipy_nor_matplotlib():
    code = (
        "import sys; from tests.checks.machines import LIFT, machine; from armsim.studies.single import check_machine; "
        "check_machine(machine(), LIFT); print(sorted({'scipy', 'matplotlib', 'pydantic'} & set(sys.modules)))"
    )
    root = Path(armsim.checks.__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=root, check=True)
    assert done.stdout.strip() == "[]"


def test_every_code_is_registered_and_used():
    used = set()
    for path in Path(armsim.checks.__file__).parent.rglob("*.py"):
        nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
        if any(isinstance(node, ast.Call) and getattr(node.func, "id", "") == "finding" for node in nodes):
            texts = {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
            used |= texts & set(CODES)
    assert used == set(CODES)
    with pytest.raises(KeyError):
        finding(Level.NOTE, "no-such-code", "x", "y")


def test_findings_come_gravest_first_and_in_plain_ascii():
    found = assess_machine(HALFWAY, PATIENT)
    order = [item.level for item in found.findings]
    assert order == sorted(order, key=[Level.ERROR, Level.WARNING, Level.NOTE].index)
    for item in found.findings:
        assert (item.text + item.mend + item.where).isascii()
        assert item.text.endswith(".")


@pytest.mark.parametrize("factor", [1.470508474576271, 1.494915254237288, 1.5572881355932204])
def test_a_swing_that_ends_on_the_edge_of_friction_comes_to_rest(factor):
    """With loose steps the speed comes to zero a hair outside the cone, the current on its way back into it."""
    heavy = loaded(GUARDED, factor * GUARDED.arm.payload_mass)
    rough, fine = simulate(heavy, CYCLE, Tolerances(relative=3e-7, absolute=3e-9)), simulate(heavy, CYCLE)
    assert rough.time[-1] == pytest.approx(fine.time[-1], rel=1e-4)
    assert rough.angle[-1] == pytest.approx(fine.angle[-1], abs=1e-6)


def test_a_hold_that_catches_the_arm_at_speed_says_so_and_one_after_a_profile_does_not():
    fast = Plan(start=-0.5, moves=(Travel(to=0.8), Hold(duration=1.0)))
    smooth = Plan(start=-0.5, moves=(Follow(to=0.8, limits=Limits(speed=0.5, acceleration=1.0)), Hold(duration=1.0)))
    codes = [[found.code for found in assess_machine(machine(), plan).findings] for plan in (fast, smooth)]
    assert "caught-in-motion" in codes[0]
    assert "caught-in-motion" not in codes[1]


def test_at_partial_duty_the_breaker_is_said_to_see_only_a_part_of_the_motors_current():
    heat = replace(MOTOR, heat=HEAT)
    weak = machine(motor=heat, stages=(stage(6.0, 0.70),), protection=(replace(BREAKER, rating=60.0),))
    gently = Plan(start=-0.5, moves=(Travel(to=0.8, duty=0.3, patience=1.0),))
    (found,) = [f for f in check_machine(weak, gently).findings if f.code == "stall-unseen"]
    assert "carries only 30 % of a motor's current" in found.text
    full = [f for f in check_machine(weak, LIFT).findings if f.code == "stall-unseen"]
    assert not any("carries only" in f.text for f in full)
