"""Many designs at once against the exact run, one by one: random machines over the whole scope, and its edges."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from armsim.drivetrain.machine import Machine
from armsim.dynamics.ensemble import lift_many, pick, stacked, unsupported
from armsim.dynamics.ensemble.accounts import warmed
from armsim.dynamics.plan import Follow, Limits, Plan, Rest, Travel
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.trajectory import simulate
from armsim.parts.arm import Friction, with_payload
from armsim.parts.carriage import Carriage
from armsim.parts.counterbalance import ExtensionSpring, GasSpring, Span, TorsionSpring
from armsim.parts.outlet import Outlet
from armsim.parts.protection import Edge, Protection, kept_to
from armsim.parts.side_load import SideLoad
from armsim.parts.stop import Stop
from armsim.parts.worm import WormLaw
from tests.dynamics.randoms import between, random_machine, random_stage
from tests.machines import machine

SIZE = 26  #: machines of a family; twelve families
TIME, SHARE = 1e-4, 1e-3  #: of lift times, and of peaks and energies

Rng = np.random.Generator


def family(number: int, size: int = SIZE) -> list[Machine]:
    """Random machines that differ in every number and agree in what they are made of."""
    common = np.random.default_rng(number)
    stages, limited, ramp = int(common.integers(1, 5)), number % 2 == 1, float(common.choice([0.0, 0.05, 0.5]))
    early, uv = bool(common.random() < 0.5), number % 3 == 0
    found = []
    for k in range(size):
        rng = np.random.default_rng((number, k))
        m = random_machine(rng)
        volts, stall = m.highest_voltage, m.highest_voltage / m.motor.resistance
        controller = replace(
            m.controller,
            current_limit=stall * float(rng.uniform(0.3, 1.2)) if limited else None,
            ramp=ramp,
            shorted_when_off=True,
            undervoltage=volts * float(rng.uniform(0.4, 0.6)) if uv else None,
        )
        # enough rating for most to get through: what opens is left to the exact run
        rating = stall * m.motor.count * float(rng.uniform(0.4, 1.0))
        device = replace(m.protection[0], rating=rating, opens_at_earliest=early, resets_itself=True)
        train = tuple(random_stage(rng) for _ in range(stages))
        share = math.prod(s.reduction * s.law.static()[0] for s in train) / math.prod(
            s.reduction * s.law.static()[0] for s in m.stages
        )
        arm = replace(m.arm, first_moment=m.arm.first_moment * share, inertia=m.arm.inertia * share)
        m = replace(m, motor=replace(m.motor, count=2), leads=None, controller=controller, protection=(device,))
        m = replace(m, stages=train, arm=replace(arm, friction=times(m.arm.friction, share)))
        found.append(FEATURES[number](m, rng))
    return found


def times(friction: Friction, share: float) -> Friction:
    return Friction(
        coulomb=friction.coulomb * share, viscous=friction.viscous * share, breakaway=friction.breakaway * share
    )


def plain(m: Machine, _: Rng) -> Machine:
    return m


def constant_magnets(m: Machine, _: Rng) -> Machine:
    return replace(m, motor=replace(m.motor, magnet_coefficient=-0.002))


def relaxing(m: Machine, rng: Rng) -> Machine:
    battery = replace(m.battery, relaxation_resistance=0.6 * m.battery.resistance, relaxation_time=between(rng, 0.3, 9))
    return replace(m, battery=battery)


def helped(m: Machine, rng: Rng) -> Machine:
    moment = m.arm.first_moment * m.arm.gravity
    spring = TorsionSpring(rate=moment * float(rng.uniform(0.1, 0.5)), relaxed_at=float(rng.uniform(1.0, 2.5)))
    return replace(m, arm=replace(m.arm, counterbalances=(spring,)))


def on_gas(m: Machine, rng: Rng) -> Machine:
    reach = m.arm.length
    span = Span(on_arm=0.5 * reach, anchor_x=0.1 * reach, anchor_y=-0.6 * reach)
    force = m.arm.first_moment * m.arm.gravity / reach * float(rng.uniform(0.2, 1.0))
    gas = GasSpring(
        span=span, force=force, rate=0.1 * force / reach, extended_length=1.5 * reach, resistance=0.05 * force
    )
    return replace(m, arm=replace(m.arm, counterbalances=(gas,)))


def on_springs(m: Machine, rng: Rng) -> Machine:
    reach = m.arm.length
    span = Span(on_arm=0.5 * reach, anchor_x=-0.1 * reach, anchor_y=0.8 * reach)
    rate = m.arm.first_moment * m.arm.gravity / reach**2 * float(rng.uniform(0.3, 2.0))
    spring = ExtensionSpring(
        span=span, rate=rate, free_length=float(rng.uniform(0.25, 0.45)) * reach, initial_tension=0.02 * rate * reach
    )
    return replace(m, arm=replace(m.arm, counterbalances=(spring,)))


def with_worm(m: Machine, rng: Rng) -> Machine:
    law = WormLaw(lead_angle=math.radians(12.0), pressure_angle=math.radians(20.0), static_friction=0.15, diameter=0.02)
    first = replace(m.stages[0], law=law, reduction=between(rng, 3.0, 20.0))
    return replace(m, stages=(first, *m.stages[1:]))


def with_side_load(m: Machine, rng: Rng) -> Machine:
    drag = m.motor.count * m.motor.coulomb_torque
    return replace(m, side_loads=(SideLoad(name="stirrer", shaft=0, torque=0.3 * drag, viscous=m.motor.viscous_drag),))


def rationed(m: Machine, rng: Rng) -> Machine:
    ration = m.highest_voltage / m.motor.resistance * float(rng.uniform(0.1, 0.6))
    return replace(m, controller=replace(m.controller, supply_current_limit=ration))


def on_branch(m: Machine, rng: Rng) -> Machine:
    rows = [(1.5, 60.0), (3.0, 8.0), (6.0, 1.0)]
    edge = Edge(weights=(0.7, 0.3), time_constants=(20.0, 0.5), ultimate_multiple=1.2)
    late = replace(edge, ultimate_multiple=1.35)
    device = Protection(
        kind="band",
        rating=m.protection[0].rating / m.motor.count,
        earliest=kept_to(edge, rows),
        latest=kept_to(late, [(multiple, 2.0 * time) for multiple, time in rows]),
        branch=True,
    )
    return replace(m, protection=(*m.protection, device))


def on_guide(m: Machine, rng: Rng) -> Machine:
    moment = m.arm.first_moment
    load = Carriage(
        mass=0.4 * moment,
        payload_mass=0.6 * moment,
        friction_coefficient=0.05,
        incline=math.radians(70.0),
        lower_stop=-10.0,
        upper_stop=10.0,
    )
    return replace(m, arm=load)


def bent_friction(m: Machine, _: Rng) -> Machine:
    assert not isinstance(m.arm, Carriage)
    friction = replace(m.arm.friction, stribeck_speed=0.1 * m.no_load_speed)
    return replace(m, other_loads=2.0, ambient=35.0, arm=replace(m.arm, friction=friction))


FEATURES: list[Callable[[Machine, Rng], Machine]] = [
    plain, constant_magnets, relaxing, helped, on_gas, on_springs, with_worm, with_side_load, rationed, on_branch,
    on_guide, bent_friction,
]  # fmt: skip


def lift_of(number: int) -> Plan:
    rng = np.random.default_rng((99, number))
    start, top = math.radians(rng.uniform(-60.0, 0.0)), math.radians(rng.uniform(20.0, 105.0))
    return Plan(start=start, moves=(Travel(to=top, duty=float(rng.uniform(0.6, 1.0)), patience=1.0, time_limit=30.0),))


def close(value: float, exact: float, share: float, tiny: float = 1e-9) -> bool:
    return abs(value - exact) <= share * abs(exact) + tiny


@pytest.mark.parametrize("number", range(len(FEATURES)), ids=[feature.__name__ for feature in FEATURES])
def test_designs_agree_with_the_exact_run(number: int) -> None:
    machines, plan = family(number), lift_of(number)
    assert unsupported(machines[0], plan) is None
    found = lift_many(stacked(machines), plan, len(machines))
    assert found.sure.mean() >= 0.6  # the others are named as such, and run exactly
    for k in np.flatnonzero(found.sure).tolist():
        run = simulate(machines[k], plan)
        reached, stalled = run.first(Kind.REACHED), run.first(Kind.STALL)
        assert bool(found.reached[k]) == (reached is not None), k
        if reached is None:
            assert bool(found.stalled[k]) == (stalled is not None), k
        else:
            assert close(found.lift_time[k], reached.time, TIME), (k, found.lift_time[k], reached.time)
        told = {
            "motor": (found.motor_peak[k], run.peaks.motor_current.value),
            "supply": (found.supply_peak[k], run.peaks.supply_current.value),
            "energy": (found.energy[k], run.energy.supplied),
            "motor rms": (found.motor_rms[k], run.motor_current_rms),
            "supply rms": (found.supply_rms[k], run.supply_current_rms),
            "bus": (found.bus_least[k], run.peaks.bus_voltage.value),
            "speed": (found.speed_peak[k], run.peaks.speed.value),
            "heating": (found.winding_peak[k] - run.machine.ambient, run.peaks.winding.value - run.machine.ambient),
        }
        for name, (value, exact) in told.items():
            assert close(value, exact, SHARE), (k, name, value, exact)
        for j, trip in enumerate(run.trips):
            assert close(found.heat_peak[j][k], trip.heat_peak, 2.0 * SHARE), (k, j)
            for value, exact in ((found.earliest[j][k], trip.earliest), (found.latest[j][k], trip.latest)):
                assert np.isnan(value) == (exact is None), (k, j)
                assert exact is None or close(value, exact, SHARE), (k, j)


def test_it_holds_together_over_thousands() -> None:
    # the same design anywhere in a large batch, its neighbours as different as they like
    m, plan = machine(), Plan(start=math.radians(-30.0), moves=(Travel(to=math.radians(70.0)),))
    payloads = np.random.default_rng(7).uniform(1.0, 30.0, 9001)
    payloads[[0, 4444, 9000]] = 5.0
    found = lift_many(replace(m, arm=with_payload(m.arm, payloads)), plan, len(payloads))
    alone = simulate(pick(replace(m, arm=with_payload(m.arm, payloads)), 4444), plan).first(Kind.REACHED)
    assert alone is not None
    assert np.ptp(found.lift_time[[0, 4444, 9000]]) < 1e-9 * alone.time
    assert found.lift_time[4444] == pytest.approx(alone.time, rel=TIME)
    order = np.argsort(payloads)
    arrives = found.reached[order]
    assert not np.any(np.diff(arrives.astype(int)) > 0)  # more payload never arrives where less did not
    assert np.all(np.diff(found.lift_time[order][arrives]) > -1e-9)  # nor sooner


def test_a_stalled_current_settles_to_ohms_law() -> None:
    # locked by its load: i = d E / (R + R_bridge + d^2 R_s), by hand for one motor with loads of 1 A beside it
    m = machine(controller=replace(machine().controller, resistance=0.0), other_loads=0.0)
    plan = Plan(start=0.0, moves=(Travel(to=1.0, duty=0.5, patience=0.2),))
    heavy = replace(m, arm=with_payload(m.arm, np.array([200.0, 300.0])))
    found = lift_many(heavy, plan, 2)
    expected = 0.5 * 25.0 / (0.5 + 0.25 * (0.04 + 0.012))
    assert not found.reached.any()
    assert found.stalled.all()
    assert found.motor_peak == pytest.approx(expected, rel=1e-6)
    assert found.duration == pytest.approx(0.2, abs=1e-6)


@pytest.mark.parametrize(
    ("changes", "moves", "word"),
    [
        ({"outlet": Outlet(capacitance=1e-3)}, None, "capacitor"),
        ({"arm": replace(machine().arm, stop=Stop(restitution=0.5, stiffness=1e3))}, None, "give way"),
        ({"motor": replace(machine().motor, brush_drop=1.0)}, None, "brushes"),
        ({}, (Travel(to=1.0), Rest(duration=1.0)), "single lift"),
        ({}, (Travel(to=-1.0, duty=-0.5),), "single lift"),
        ({}, (Follow(to=1.0, limits=Limits(speed=1.0, acceleration=1.0)),), "single lift"),
        ({}, (Travel(to=-0.2),), "below the start"),
    ],
)
def test_it_says_what_it_does_not_follow(changes, moves, word) -> None:
    m = machine(**changes)
    reason = unsupported(m, Plan(start=-0.1, moves=moves or (Travel(to=1.0),)))
    assert reason is not None
    assert word in reason


def test_what_happens_seldom_is_left_to_the_exact_run() -> None:
    # a load that throws the arm back down its stall, and a breaker that opens on the way
    m = machine()
    plan = Plan(start=0.0, moves=(Travel(to=1.0),))
    edge = Edge(weights=(1.0,), time_constants=(0.05,), ultimate_multiple=1.2)
    weak = Protection(kind="weak", rating=4.0, earliest=edge, latest=edge)
    found = lift_many(
        stacked([replace(m, protection=(weak,)), replace(m, protection=(replace(weak, rating=400.0),))]), plan, 2
    )
    assert found.sure.tolist() == [False, True]


def test_machines_of_different_structure_do_not_stack() -> None:
    with pytest.raises(ValueError, match="differ"):
        stacked([machine(), machine(stages=())])


def test_a_picked_design_is_the_machine_it_was_made_of() -> None:
    machines = family(3, 4)
    again = pick(stacked(machines), 2)
    run, before = simulate(again, lift_of(3)), simulate(machines[2], lift_of(3))
    assert isinstance(run, Run)
    assert run.time[-1] == before.time[-1]
    assert run.energy.supplied == before.energy.supplied


@pytest.mark.parametrize("ratio", [1e-4, 0.1, 0.24, 0.26, 5.0, 80.0])
def test_a_thermal_state_follows_a_straight_heat_as_in_closed_form(ratio: float) -> None:
    # theta' = (a + b s - theta)/tau over one step h of ratio r = h/tau, beside a row that is slow whatever it is
    span, taus, x, a, b = np.array([0.2, 0.1]), np.array([[0.2 / ratio], [500.0]]), 0.3, 1.7, 0.9
    heats = (np.full(2, a), np.full(2, a + 0.5 * b), np.full(2, a + b))
    found = warmed(np.full((2, 2), x), heats, span, taus)
    r = span / taus
    exact = a + b - b / r + (x - a + b / r) * np.exp(-r) if ratio > 0.01 else x + r * (a - x + 0.5 * b)
    assert found[0] == pytest.approx(exact[0], abs=2e-5 if ratio > 0.01 else 1e-7)
    assert found[1] == pytest.approx(x + r[1] * (a - x + 0.5 * b), abs=1e-6)
