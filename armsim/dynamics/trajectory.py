"""The exact run: modes follow modes, each entered with its state set exactly, until the moves are done.

Friction is never smoothed: rest is a mode of its own, left when the air-gap torque leaves the friction cone. A stage
changing branch, a limit, a trip, a stop and a jam are all ends of a segment found by root search.
"""

from dataclasses import replace

from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics.cycles import simulate_cycles, step, target_of
from armsim.dynamics.drive import engage
from armsim.dynamics.events import next_event
from armsim.dynamics.guards import Signal
from armsim.dynamics.journal import Journal, close
from armsim.dynamics.modes import CUT, Contact, Drive, Mode
from armsim.dynamics.motion import at_rest, rests_for_good, resume_motion
from armsim.dynamics.plan import Going, Plan, PowerCut, heaviest_payload, lifts, targets
from armsim.dynamics.run import Kind, Run
from armsim.dynamics.segment import Tolerances
from armsim.dynamics.state import ANGLE, SPEED, initial_state
from armsim.dynamics.voyage import Halted, Off, Situation, Voyage, keep
from armsim.parts.arm import load_torque

FALL_LIMIT = 600.0  #: a fall is followed for this long [s]
REBOUNDS = 40  #: turns of an arm thrown back by its stops after which a fall has been seen


def simulate(machine: Machine, plan: Plan, tolerances: Tolerances = Tolerances()) -> Run:
    """Run the whole work cycle, `plan.repeat` times, from rest on a support at the start angle.

    Raises SolverError when the stepper fails or events pile up in one instant.
    """
    situation = at_start(machine, plan)
    voyage = Voyage(machine=machine, journal=Journal(machine, situation.state), tolerances=tolerances)
    return simulate_cycles(voyage, situation, plan)


def fall(
    machine: Machine,
    plan: Plan,
    cut: PowerCut,
    *,
    shorted: bool,
    tolerances: Tolerances = Tolerances(),
) -> Run | None:
    """Follow the machine from where `reach` finds it to be cut off; None when the run never gets there."""
    there = reach(machine, plan, cut, tolerances)
    return None if there is None else fall_from(*there, shorted=shorted, tolerances=tolerances)


def reach(
    machine: Machine, plan: Plan, cut: PowerCut, tolerances: Tolerances = Tolerances()
) -> tuple[Machine, Situation] | None:
    """The machine as loaded and where it stands when its power is cut; None when the run never gets there.

    The cut comes at a time of the work cycle or where the arm first passes an angle; with neither, at rest at the
    highest angle that the moves ask for, with the heaviest payload.
    """
    if cut.time is None and cut.angle is None:
        heaviest, state = loaded(machine, heaviest_payload(machine.arm, plan)), initial_state(machine, held_angle(plan))
        return heaviest, at_rest(heaviest, Situation(time=0.0, state=state, mode=Mode()))
    start = at_start(machine, plan)
    voyage = Voyage(machine=machine, journal=Journal(machine, start.state), tolerances=tolerances, halt=cut)
    try:
        step_cycles(voyage, start, plan)
    except Halted as halted:
        return halted.machine, halted.situation
    return None


def fall_from(machine: Machine, situation: Situation, *, shorted: bool, tolerances: Tolerances = Tolerances()) -> Run:
    """Follow the machine after its supply fails, motor terminals shorted or open, to rest or a time limit.

    An arm without a stop below swings: it is followed to the far end of its first swing. One that its stops throw back
    is followed to rest, or for a number of turns.
    """
    off = Off(shorted=shorted)
    journal = Journal(machine, situation.state)
    voyage = Voyage(machine=machine, journal=journal, tolerances=tolerances)
    journal.note(Kind.POWER_CUT, situation.time, situation.state)
    situation = engage(voyage, replace(situation, mode=replace(situation.mode, open_devices=frozenset({CUT}))), off)
    situation = resume_motion(voyage, situation)
    until, turns = situation.time + FALL_LIMIT, 0
    against_load = float(situation.state[SPEED]) * load_torque(machine.arm, float(situation.state[ANGLE])) > 0.0
    last_turn = 2 if against_load else 1
    while True:
        if situation.mode.sense == 0 and (situation.mode.drive is Drive.OPEN or rests_for_good(machine, situation)):
            break
        situation, signal = next_event(voyage, situation, off, until)
        turns += signal is Signal.RESTS and situation.mode.sense != 0
        if signal is Signal.STOP and (machine.arm.stop.restitution > 0.0 or not machine.arm.stop.rigid):
            last_turn = REBOUNDS
        if signal is None or turns >= last_turn:
            break
    journal.note(Kind.END, situation.time, situation.state)
    keep(voyage, situation)
    return close(journal, situation.state)


def held_angle(plan: Plan) -> float:
    """The highest angle the moves ask for, or the start. [rad]"""
    return max((plan.start, *targets(plan)))


def at_start(machine: Machine, plan: Plan) -> Situation:
    """At rest at the start angle, on a support on the side from which the first travel leads away."""
    first = next((move for move in plan.moves if isinstance(move, Going)), None)
    contact = Contact.BELOW if first is None or lifts(first) else Contact.ABOVE
    return Situation(time=0.0, state=initial_state(machine, plan.start), mode=Mode(contact=contact))


def step_cycles(voyage: Voyage, situation: Situation, plan: Plan) -> None:
    """Every cycle exactly, until the voyage halts or a travel is given up."""
    target: float | None = None
    seen: dict[tuple[Signal, int], float] = {}
    for number in range(plan.repeat):
        one = step(voyage, situation, plan, number, target, seen)
        situation, target, seen = one.after, target_of(plan), one.seen
        if not one.done:
            return
