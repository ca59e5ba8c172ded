"""Which duty a run puts the motor to, by IEC 60034-1, and the records of what it bears.

On means that the motor carries current: it moves, or a controlled hold keeps the arm still. A class needs one of the
standard's patterns; where none is there, it is said why.
"""

import math
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from armsim.checks.cycle_series import CycleSeries, Series, last_cycle, per_ampere
from armsim.checks.phrases import number, percent
from armsim.drivetrain.machine import Machine, loaded
from armsim.drivetrain.train import motion_torque
from armsim.dynamics.plan import Plan
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.steering import back_emf, balanced_current
from armsim.parts.duty import mean_squares, slow_time_constant, steady_winding
from armsim.parts.motor import resistance_ratio

CARRIES = 0.1  #: of the cycle's rms current, from which on the motor counts as on: less makes 1 % of the mean heat
LIGHT = 0.5  #: of the rms current, below which it runs light: a quarter of the mean heat
CREEPS = 0.01  #: of the cycle's highest speed, up to which the arm counts as standing still
NEARLY = 0.95  #: share of a cycle with current from which on its rests do not matter
SPARED = 0.05  #: share of a cycle below which running light does not matter
MATTERS = 0.1  #: share of the copper heat from which on starting or electric braking matters
STEADY = 1.1  #: rms over mean magnitude of the current while on, up to which the load counts as constant
EQUILIBRIUM_RATE = 1.0 / 1800.0  #: temperatures that change more slowly are steady: 1 K in half an hour [K/s]
COOLED = 2.0  #: rise that is left when a motor counts as cooled down [K]
MOST_POINTS = 2000  #: of a cycle at which torques are asked for


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """What a duty class is told from: times of one cycle and shares of its copper heat."""

    cycle_time: float  #: [s]
    on_time: float  #: the motor carries current [s]
    still_time: float  #: of it with the arm standing still [s]
    light_time: float  #: of it on less than half the rms current [s]
    longest_rest: float  #: without current, the seam between two cycles joined [s]
    starting_share: float  #: copper heat beyond what the same motion takes at constant speed [-]
    braking_share: float  #: copper heat of current against the motion: stopping, and holding back a load [-]
    unevenness: float  #: rms over mean magnitude of the current while on, >= 1 [-]
    rms: float  #: current over the cycle [A]
    repeats: bool
    broken: str  #: why the cycle is none: a move given up, a device that opens; else empty
    equilibrium_time: float | None  #: of load until temperatures are steady; None: no heat data [s]
    cooling_time: float | None  #: until a motor has cooled down to 2 K above ambient; None: no heat data [s]


@dataclass(frozen=True, kw_only=True)
class Duty:
    """The duty class of the run's cycle, with its figures."""

    kind: str | None  #: S1 to S8; None: cannot be told
    reason: str
    pattern: Pattern

    @property
    def factor(self) -> float:
        """Cyclic duration factor: on-time over cycle time. [-]"""
        return self.pattern.on_time / self.pattern.cycle_time


@dataclass(frozen=True, kw_only=True)
class HeatRating:
    """What the motor bears for good, and where its own cycle leads. None: not known, or no bound."""

    continuous_current: float  #: at standstill, of each motor [A]
    runaway_current: float  #: from which on no temperature is steady [A]
    limit: float  #: of the winding [degC]
    winding_time_constant: float  #: [s]
    lift_payload: float | None  #: raised at creeping speed for ever, worst angle; 0: none [kg]
    hold_payload: float | None  #: held still for ever, worst angle; 0: none; None: friction holds any [kg]
    overload: float | None = None  #: current while on over the continuous one, both nodes [-]
    overload_one_node: float | None = None  #: the same were the motor its winding alone [-]
    overload_rms: float | None = None  #: the same by the rms rule [-]
    rms_trusted: bool | None = None  #: the rule allows at most 5 % more loss than is borne
    settles_at: float | None = None  #: highest winding temperature of the cycle gone on with; None: runs away [degC]
    passes_in: int | None = None  #: cycle in which the winding first passes its limit; None: never [-]
    rest_needed: float | None = None  #: longer rest in each cycle that would keep it within; None: none would [s]
    cycle_payload: float | None = None  #: heaviest of the cycle with which it settles at the limit; 0: none [kg]
    cycle_payload_by: str | None = None  #: what ends it: heat, or torque
    time_to_limit_settled: float | None = None  #: stalled at full drive, once the cycle has settled [s]


def duty_of(run: Run, plan: Plan) -> Duty | None:
    """The duty class of a run's cycle; None where the run has no length."""
    cycle = last_cycle(run, plan)
    if cycle.time.size < 2 or cycle.time[-1] <= 0.0:
        return None
    pattern = pattern_of(run, plan, cycle)
    kind, reason = name_duty(pattern)
    return Duty(kind=kind, reason=reason, pattern=pattern)


def pattern_of(run: Run, plan: Plan, cycle: CycleSeries) -> Pattern:
    """Times and shares of one cycle."""
    machine, step, current = run.machine, np.diff(cycle.time), cycle.current
    squares = mean_squares(current)
    rms = math.sqrt(float(squares @ step) / float(cycle.time[-1]))
    size = np.sqrt(squares)
    on = (size > CARRIES * rms) & (rms > 0.0)
    resistance = resistance_ratio(between(cycle.winding), machine.motor.reference_temperature)
    heat = squares * resistance * step
    whole = max(float(heat.sum()), 1e-300)
    speed = between(cycle.speed)
    moving = np.abs(speed) > CREEPS * float(np.max(np.abs(cycle.speed)))
    braking = heat[moving & (between(current) * speed < 0.0)].sum()
    steady = between(steady_currents(machine, cycle))
    excess = (squares - steady**2) * resistance * step
    starting = excess[moving & (between(current) * speed > 0.0) & (squares > steady**2)].sum()
    lasted, passed = float(step[on].sum()), float((size * step)[on].sum())
    uneven = math.sqrt(float((squares * step)[on].sum()) * lasted) / passed if passed > 0.0 else 1.0
    equilibrium, cooling = settling_times(run, rms * math.sqrt(float(cycle.time[-1]) / lasted) if lasted > 0.0 else 0.0)
    return Pattern(
        cycle_time=float(cycle.time[-1]),
        on_time=lasted,
        still_time=float(step[on & ~moving].sum()),
        light_time=float(step[on & (size < LIGHT * rms)].sum()),
        longest_rest=longest(~on, step, plan.repeat > 1),
        starting_share=float(starting) / whole,
        braking_share=float(braking) / whole,
        unevenness=uneven,
        rms=rms,
        repeats=plan.repeat > 1,
        broken=broken(run),
        equilibrium_time=equilibrium,
        cooling_time=cooling,
    )


def between(values: Series) -> Series:
    """Middles between neighbours."""
    return 0.5 * (values[1:] + values[:-1])


def steady_currents(machine: Machine, cycle: CycleSeries) -> Series:
    """Current of each motor that every sample's motion would take without acceleration; 0 at rest. [A]"""
    stride = max(1, cycle.time.size // MOST_POINTS)
    chosen = np.unique(np.append(np.arange(0, cycle.time.size, stride), cycle.time.size - 1))
    machines: dict[float, Machine] = {}
    values = np.zeros(chosen.size)
    for j, k in enumerate(chosen.tolist()):
        speed = float(cycle.speed[k])
        if speed != 0.0:
            mass = float(cycle.payload[k])
            now = machines.setdefault(mass, loaded(machine, mass))
            sense = 1 if speed > 0.0 else -1
            need = partial(steady_torque, now, float(cycle.angle[k]), speed, sense)
            warm = machine.motor.torque_constant * machine.motor.count / per_ampere(machine, float(cycle.housing[k]))
            values[j] = balanced_current(now, need, back_emf(now, speed)) * warm
    return np.interp(np.arange(cycle.time.size), chosen, values)


def steady_torque(machine: Machine, angle: float, speed: float, sense: int, volts: float) -> float:
    """Air-gap torque of a motion without acceleration, companions at a terminal voltage [V]. [N*m]"""
    return motion_torque(machine, angle, speed, 0.0, sense, machine.companion_currents(volts, speed))


def longest(off: NDArray[np.bool_], step: Series, joined: bool) -> float:
    """The longest stretch of steps that are off, the last joined to the first where the cycle repeats. [s]"""
    if off.all():
        return float(step.sum())
    shift = int(np.argmin(off)) if joined else 0  # begin with a step that is on
    runs, now = [0.0], 0.0
    for is_off, lasted in zip(np.roll(off, -shift).tolist(), np.roll(step, -shift).tolist(), strict=True):
        now = now + lasted if is_off else 0.0
        runs.append(now)
    return max(runs)


def broken(run: Run) -> str:
    """Why the last cycle is none that could repeat, or nothing."""
    begun = run.cycles[-1].begun
    kinds = {event.kind for event in run.events if event.time >= begun}
    if Kind.GIVEN_UP in kinds:
        return "a move is given up in it"
    if Kind.BREAKER_OPENS in kinds:
        return "a protective device opens in it"
    return "the controller resets in it" if Kind.UNDERVOLTAGE in kinds else ""


def settling_times(run: Run, on_rms: float) -> tuple[float | None, float | None]:
    """Time under load until temperatures are steady, and without until the motor is cold again. [s]

    Both by the slower time constant: from the rate at which it begins towards where the current [A] leads, and from
    the highest temperature seen or settled at; at least one such time constant for what is hardly warm.
    """
    motor, ambient = run.machine.motor, run.machine.ambient
    if motor.heat is None:
        return None, None
    slow, settled = slow_time_constant(motor.heat), run.settling.winding if run.settling is not None else None
    warmed = ambient + motor.heat.housing_to_air * motor.brush_drop * on_rms
    end = steady_winding(on_rms, motor.heat, motor.resistance, warmed, motor.reference_temperature)
    rise = max(run.peaks.winding.value, settled or -math.inf) - ambient
    warming = math.inf if end is None else slow * math.log(max((end - ambient) / slow / EQUILIBRIUM_RATE, math.e))
    return warming, slow * math.log(max(rise / COOLED, math.e))


def name_duty(p: Pattern) -> tuple[str | None, str]:
    """The class, and the reasoning in one line."""
    if p.broken:
        return None, f"The cycle is not one to be rated: {p.broken}."
    if p.on_time == 0.0:
        return None, "The motor carries no current."
    return _repeated(p) if p.repeats else _single(p)


def _single(p: Pattern) -> tuple[str | None, str]:
    lasting = p.equilibrium_time is not None and p.on_time >= p.equilibrium_time
    if lasting and p.on_time >= NEARLY * p.cycle_time and p.unevenness <= STEADY:
        return "S1", f"Constant load for {number(p.on_time)} s, longer than temperatures take to become steady."
    if lasting:
        return None, (
            f"A single cycle with current for {number(p.on_time)} s, longer than temperatures take to become steady, "
            "but not at constant load: no class has that."
        )
    cooling = "" if p.cooling_time is None else f" ({number(p.cooling_time)} s to within 2 K)"
    return "S2", (
        f"One cycle with current for {number(p.on_time)} s{_still(p)}, taken as at constant load; it is assumed that "
        f"the motor cools down fully{cooling} before the next."
    )


def _repeated(p: Pattern) -> tuple[str | None, str]:
    on, share = number(p.on_time), percent(p.on_time / p.cycle_time)
    if p.cooling_time is not None and p.longest_rest >= max(p.cooling_time, p.on_time):
        return "S2", f"Current for {on} s, then a rest of {number(p.longest_rest)} s in which the motor cools down."
    if p.on_time >= NEARLY * p.cycle_time:
        return _without_rest(p)
    if p.equilibrium_time is not None and p.on_time >= p.equilibrium_time:
        return None, f"Current for {on} s is long enough for steady temperatures, yet rests follow: no class has that."
    base = f"Current for {on} s{_still(p)} of each {number(p.cycle_time)} s ({share}), rests between; "
    if p.braking_share >= MATTERS:
        return "S5", base + f"electric braking is {percent(p.braking_share)} of the copper heat ({_limit()} matters)."
    if p.starting_share >= MATTERS:
        return "S4", base + f"starting is {percent(p.starting_share)} of the copper heat ({_limit()} matters)."
    return "S3", base + (
        f"starting is {percent(p.starting_share)} and electric braking {percent(p.braking_share)} of the copper heat, "
        f"which is little ({_limit()} would matter)."
    )


def _without_rest(p: Pattern) -> tuple[str | None, str]:
    share = percent(p.on_time / p.cycle_time)
    base = f"Current {share} of the time{_still(p)}, no rest that matters; "
    if p.unevenness <= STEADY:
        return (
            "S1",
            base + f"steady: its rms is {number(p.unevenness)} times its mean (up to {STEADY} counts as steady).",
        )
    if p.braking_share >= MATTERS:
        return "S7", base + f"electric braking is {percent(p.braking_share)} of the copper heat ({_limit()} matters)."
    if p.light_time >= SPARED * p.cycle_time:
        load = percent(1.0 - p.light_time / p.cycle_time)
        return "S6", base + f"under load {load} of it and else light, on less than half the rms current."
    return "S8", base + "loads and speeds change within the cycle, and it never runs light."


def _still(p: Pattern) -> str:
    return f" (of it {number(p.still_time)} s standing still on current)" if p.still_time > 0.0 else ""


def _limit() -> str:
    return f"{percent(MATTERS)} or more"
