"""Scenarios built in code and really run, for everything that dresses results."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

from armsim.checks.assessment import Assessment
from armsim.dynamics.plan import Follow, Hold, Limits, Plan, Rest, Travel
from armsim.parts.bridge import Controller
from armsim.parts.chain import ChainDrive, Sprocket, chain_stage
from armsim.parts.counterbalance import TorsionSpring
from armsim.parts.gear_mesh import Gear, Material
from armsim.parts.gears import GearPath, ToothSeries, gear_stage
from armsim.parts.motor import Heat
from armsim.parts.protection import Edge, Protection
from armsim.scenario.chain_numbers import find_chain
from armsim.scenario.problems import Place, Problem
from armsim.scenario.records import Assumption, Entry, PartsRow, Scenario, Wish
from armsim.studies.single import assess_machine, check_machine
from tests.machines import arm, machine

HEAT = Heat(
    winding_to_housing=1.2, housing_to_air=3.5, winding_capacity=40.0, housing_capacity=600.0, winding_limit=130.0
)
QUICK = Edge(weights=(1.0,), time_constants=(3.0,), ultimate_multiple=1.1)
SLOW = Edge(weights=(0.4, 0.6), time_constants=(2.0, 20.0), ultimate_multiple=1.35)


def breaker(rating: float = 30.0, **more: object) -> Protection:
    """A thermal breaker that closes again by itself."""
    return Protection(
        **{  # type: ignore[arg-type]
            "kind": "thermal-auto-reset",
            "rating": rating,
            "earliest": QUICK,
            "latest": SLOW,
            "resets_itself": True,
            **more,
        }
    )


def pair(driver: int, driven: int, module: float, width: float) -> GearPath:
    """Two spur gears of which little more than their size is known."""
    metal = Material(name="steel", density=7850.0)
    series = ToothSeries(modules=(1.25e-3, 1.5e-3), second=(), pitches=(20.0,), title="two sizes")
    shifts = {driver: 0.3, driven: 0.0}  # so small a pinion would be undercut
    gears = [Gear(teeth=z, module=module, face_width=width, material=metal, profile_shift=x) for z, x in shifts.items()]
    return GearPath(gears=tuple(gears), series=series)


def stages(teeth: int = 56):
    """Two gear pairs and a chain."""
    return (
        gear_stage(path=pair(14, teeth, 1.25e-3, 12e-3), efficiencies=(0.96,), reverse=None, name="first pair"),
        gear_stage(path=pair(12, 54, 1.5e-3, 15e-3), efficiencies=(0.96,), reverse=None, name="second pair"),
        chain_stage(
            ChainDrive(
                size=find_chain("40"), driver=Sprocket(teeth=13), driven=Sprocket(teeth=44), centre_distance=0.31
            ),
            efficiency=0.95,
            reverse=None,
            density=7850.0,
            name="final chain",
        ),
    )


def tipper(**changes: object):
    """A machine that lifts with room to spare."""
    base = machine()
    return replace(
        base,
        **{
            "motor": replace(base.motor, heat=HEAT),
            "stages": stages(),
            "controller": Controller(current_limit=45.0, ramp=0.2, resistance=0.006, undervoltage=16.0),
            "protection": (breaker(),),
            **changes,
        },
    )


CYCLE = Plan(
    start=math.radians(-30.0),
    moves=(
        Travel(to=math.radians(70.0)),
        Hold(duration=2.0),
        Travel(to=math.radians(-30.0), duty=-0.4),
        Rest(duration=3.0),
    ),
)
STALL = Plan(start=math.radians(-30.0), moves=(Travel(to=math.radians(70.0), patience=60.0),))
GENTLE = Limits(speed=1.0, acceleration=3.0)
FOLLOWING = Plan(
    start=math.radians(-30.0),
    moves=(
        Travel(to=math.radians(-10.0), duty=0.3),
        Hold(duration=0.5),
        Follow(to=math.radians(70.0), limits=GENTLE),
        Hold(duration=1.0),
        Follow(to=math.radians(-30.0), limits=GENTLE, name="lower"),
    ),
)
REPEATS = 200
REPEATED = Plan(
    start=math.radians(-30.0),
    moves=(
        Travel(to=math.radians(70.0)),
        Travel(to=math.radians(-30.0), duty=-0.1),
        Rest(duration=20.0),
    ),
    repeat=REPEATS,
)

WISHES = (
    Wish(name="lift_time", dimension="time", sense="max", limit=2.5),
    Wish(name="supply_current", dimension="current", sense="max", limit=60.0),
    Wish(name="winding_temperature", dimension="temperature", sense="max", limit=110.0),
    Wish(name="tip_speed", dimension="velocity", sense="max", limit=3.0),
    Wish(name="holds_unpowered", dimension="flag", sense="is", limit=True),
    Wish(name="breaker_trips", dimension="flag", sense="is", limit=False),
)


def scenario(of_machine, plan=CYCLE, **changes: object) -> Scenario:
    """A scenario record round a machine, with text that tries to break tables."""
    return Scenario(
        **{
            "path": Path("orchard/crate-tipper.yaml"),
            "title": "Crate tipper | gears *and* a chain",
            "about": "Lifts a crate of windfalls.\n\n# not a heading\nInvented figures.",
            "sha256": "0123abcd" * 8,
            "machine": of_machine,
            "plan": plan,
            "requirements": WISHES,
            "parts_list": (
                PartsRow(item="motor | 24 V", quantity=1, unit_price=41.5, mass=1.9, source="invented\nhere"),
                PartsRow(item="sprocket", quantity=2, unit_price=7.25, mass=None, source=""),
            ),
            "entries": (
                Entry(
                    key="arm.length",
                    typed="0.62 m",
                    value=0.62,
                    understood="0.62 m",
                    place=Place(file="crate-tipper.yaml", line=31, column=3),
                ),
            ),
            "assumptions": (
                Assumption(key="motor.inductance", text="0.25 mH, from the resistance", origin="derived"),
                Assumption(key="arm.payload.at", text="0.62 m, the tip", origin="default"),
            ),
            "warnings": (
                Problem(
                    file="crate-tipper.yaml",
                    line=4,
                    column=3,
                    code="SCN131",
                    key="motor",
                    text="the row contradicts itself by 4 %",
                    hint="measure it",
                    severity="warning",
                ),
            ),
            **changes,
        }  # type: ignore[arg-type]
    )


@cache
def lifting() -> tuple[Scenario, Assessment]:
    """A lift, a hold, a lowering and a rest."""
    wanted = scenario(tipper())
    return wanted, assess_machine(wanted.machine, wanted.plan, wanted.requirements)


@cache
def stalling() -> tuple[Scenario, Assessment]:
    """A stall with a breaker that opens and closes, no thermal data, and gears that do not reduce enough."""
    weak = tipper(stages=stages(20), arm=arm(moment=12.0), protection=(breaker(20.0),))
    wanted = scenario(replace(weak, motor=replace(weak.motor, heat=None)), STALL, title="Stalls")
    return wanted, assess_machine(wanted.machine, wanted.plan, wanted.requirements)


@cache
def looped() -> tuple[Scenario, Assessment]:
    """A nudge, then a hold, a profile up, a hold and a profile down, all under the position loop."""
    wanted = scenario(tipper(arm=arm(moment=2.0, inertia=2.0)), FOLLOWING)
    return wanted, assess_machine(wanted.machine, wanted.plan, wanted.requirements)


@cache
def repeated() -> tuple[Scenario, Assessment]:
    """Many cycles that warm the motor, most of them passed over."""
    wanted = scenario(tipper(), REPEATED)
    return wanted, assess_machine(wanted.machine, wanted.plan, wanted.requirements)


@cache
def checked() -> tuple[Scenario, Assessment]:
    """The first one judged at rest."""
    wanted = scenario(tipper())
    return wanted, check_machine(wanted.machine, wanted.plan, wanted.requirements)


def with_spring(rate: float, **stops: float) -> Scenario:
    """The first one with a torsion spring relaxed at 110 deg."""
    spring = TorsionSpring(rate=rate, relaxed_at=math.radians(110.0))
    return scenario(tipper(arm=replace(tipper().arm, counterbalances=(spring,), **stops)))


@cache
def sprung() -> tuple[Scenario, Assessment]:
    """The first one with a torsion spring that carries most of the arm, judged at rest."""
    wanted = with_spring(30.0)
    return wanted, check_machine(wanted.machine, wanted.plan, wanted.requirements)


@cache
def thrown() -> tuple[Scenario, Assessment]:
    """With one so strong that it throws the arm up against a stop when power goes."""
    wanted = with_spring(80.0, upper_stop=math.radians(80.0))
    return wanted, assess_machine(wanted.machine, wanted.plan, wanted.requirements)
