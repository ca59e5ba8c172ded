"""Between rest and motion: breaking away, coming to rest, changing branch, jamming."""

from dataclasses import replace

from armsim.drivetrain.machine import Machine
from armsim.drivetrain.train import VANISHING, all_driving, respond, speed_regimes, walk
from armsim.dynamics.buffer import buffer_damping, pressed
from armsim.dynamics.electrics import circuit
from armsim.dynamics.field import look
from armsim.dynamics.guards import torque_scale
from armsim.dynamics.modes import Contact
from armsim.dynamics.run import Kind
from armsim.dynamics.state import ANGLE, SPEED
from armsim.dynamics.voyage import Situation, Voyage, friction_cone, others_in, set_entry, torque_of
from armsim.parts.arm import stop_travel

ROUNDING = 1e-6  #: of the stalled motors' torque, by which a state from inside a step may miss the edge of the cone
SLOW_DECAY = 0.01  #: a motion slower than CREEP that would take longer than this to end has died away [s]


def resume_motion(voyage: Voyage, situation: Situation) -> Situation:
    """Choose the motion again after the torque or an efficiency has jumped."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    if mode.sense == 0:
        return leave_rest(voyage, replace(situation, mode=replace(mode, settled=False)))
    angle, speed = float(state[ANGLE]), float(state[SPEED])
    damping = buffer_damping(machine.arm, mode.press, angle, speed)
    torque, others = torque_of(machine, state), others_in(machine, state)
    motion = respond(machine, angle, speed, mode.sense, torque, mode.regimes, damping, others)
    if motion is None:
        return jam(voyage, situation)
    return replace(situation, mode=replace(mode, branch=motion.branch, passing=False))


def leave_rest(voyage: Voyage, situation: Situation) -> Situation:
    """Stay at rest, or break away where the torque is outside the friction cone and nothing is in the way."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    edges, torque = friction_cone(machine, situation), torque_of(machine, state)
    if torque > edges.rise and mode.contact is not Contact.ABOVE:
        return situation if returns(machine, situation, torque - edges.rise) else break_away(voyage, situation, +1)
    if torque < edges.sink and mode.contact is not Contact.BELOW:
        return situation if returns(machine, situation, torque - edges.sink) else break_away(voyage, situation, -1)
    return situation


def returns(machine: Machine, situation: Situation, beyond: float) -> bool:
    """True where a torque lies outside the friction cone by rounding only, and is on its way back into it."""
    if abs(beyond) > ROUNDING * torque_scale(machine):
        return False
    slope = circuit(machine, situation.mode, situation.time, situation.state.tolist()).current_slope
    return slope * beyond < 0.0


def break_away(voyage: Voyage, situation: Situation, sense: int) -> Situation:
    """From rest into motion; running friction is never above static, so a motion always exists."""
    machine, state = voyage.machine, situation.state
    regimes = speed_regimes(machine, 0.0)
    torque, others = torque_of(machine, state), others_in(machine, state)
    motion = respond(machine, float(state[ANGLE]), 0.0, sense, torque, regimes, currents=others)
    if motion is None:
        return replace(situation, mode=replace(situation.mode, settled=True))
    voyage.journal.note(Kind.BREAKAWAY, situation.time, state)
    mode = replace(
        situation.mode,
        sense=sense,
        branch=motion.branch,
        regimes=regimes,
        contact=Contact.NONE,
        press=pressed(machine.arm, float(state[ANGLE]), sense, situation.mode.press, machine.no_load_speed),
        settled=False,
        passing=False,
    )
    return replace(situation, mode=mode)


def at_rest(machine: Machine, situation: Situation) -> Situation:
    """The same situation with the arm at rest, touching a stop where it is at one; a buffer is in no one's way."""
    angle, arm = float(situation.state[ANGLE]), machine.arm
    contact = Contact.BELOW if angle <= arm.lower_stop else Contact.ABOVE if angle >= arm.upper_stop else Contact.NONE
    contact = contact if arm.stop.rigid else Contact.NONE
    mode = replace(situation.mode, sense=0, branch=(), regimes=(), contact=contact, settled=False, passing=False)
    return replace(set_entry(situation, SPEED, 0.0), mode=mode)


def come_to_rest(voyage: Voyage, situation: Situation, account: str) -> Situation:
    """Speed to zero, its energy booked; then rest, or off again the other way."""
    machine, journal, sense = voyage.machine, voyage.journal, situation.mode.sense
    rest = at_rest(machine, situation)
    journal.book(account, situation.state, rest.state)
    edges, torque = friction_cone(machine, rest), torque_of(machine, rest.state)
    back, contact = -sense, rest.mode.contact
    if back > 0 and torque > edges.rise and contact is not Contact.ABOVE:
        journal.note(Kind.REVERSES, rest.time, rest.state)
        return resettle(voyage, rest, edges.rise, back)
    if back < 0 and torque < edges.sink and contact is not Contact.BELOW:
        journal.note(Kind.REVERSES, rest.time, rest.state)
        return resettle(voyage, rest, edges.sink, back)
    journal.note(Kind.COMES_TO_REST, rest.time, rest.state)
    return leave_rest(voyage, rest)


def resettle(voyage: Voyage, rest: Situation, edge: float, sense: int) -> Situation:
    """Turn back, unless the torque is so near the edge of the cone that the swing has died away."""
    machine, torque = voyage.machine, torque_of(voyage.machine, rest.state)
    leaning = (machine.arm.stop.stiffness or 0.0) * abs(stop_travel(machine.arm, float(rest.state[ANGLE])))
    if abs(torque - edge) < 1e-6 * (abs(torque) + abs(edge) + leaning / machine.reduction):
        return replace(rest, mode=replace(rest.mode, settled=True))
    return break_away(voyage, rest, sense)


def die_away(voyage: Voyage, situation: Situation) -> Situation:
    """A very slow motion: at rest if it is running out gently, otherwise only passing through zero."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    slowing = -mode.sense * look(machine, mode, situation.time, state.tolist()).acceleration
    if slowing > 0.0 and mode.sense * float(state[SPEED]) < slowing * SLOW_DECAY:
        return replace(situation, mode=replace(mode, passing=True))
    rest = at_rest(machine, situation)
    voyage.journal.book("impact", state, rest.state)
    voyage.journal.note(Kind.COMES_TO_REST, rest.time, state)
    return replace(rest, mode=replace(rest.mode, settled=True))


def jam(voyage: Voyage, situation: Situation) -> Situation:
    """No acceleration satisfies the drive: the speed collapses at once."""
    voyage.journal.note(Kind.JAM, situation.time, situation.state)
    return come_to_rest(voyage, situation, "impact")


def change_branch(voyage: Voyage, situation: Situation, stage: int) -> Situation:
    """A stage's torque changes sign: the other branch, or a jam where that branch has no inertia left."""
    machine, mode, state = voyage.machine, situation.mode, situation.state
    branch = tuple(-b if k == stage else b for k, b in enumerate(mode.branch))
    angle, speed = float(state[ANGLE]), float(state[SPEED])
    slope = walk(machine, angle, speed, mode.sense, branch, mode.regimes).motor.slope
    driving = walk(machine, angle, speed, mode.sense, all_driving(machine), mode.regimes).motor.slope
    if slope > VANISHING * driving:
        return replace(situation, mode=replace(mode, branch=branch))
    return jam(voyage, situation)


def change_regime(situation: Situation, machine: Machine, stage: int) -> Situation:
    """A stage's input speed passes an edge of its efficiency law."""
    mode = situation.mode
    speed = abs(float(situation.state[SPEED])) * machine.shaft_turns[stage]
    edges, piece = machine.stages[stage].law.speed_edges, mode.regimes[stage]
    up = piece < len(edges) and (piece == 0 or abs(speed - edges[piece]) <= abs(speed - edges[piece - 1]))
    regimes = tuple(p + (1 if up else -1) if k == stage else p for k, p in enumerate(mode.regimes))
    return replace(situation, mode=replace(mode, regimes=regimes))


def rests_for_good(machine: Machine, situation: Situation) -> bool:
    """Shorted and at rest: the current only decays, so what holds now with no current holds on."""
    contact, edges = situation.mode.contact, friction_cone(machine, situation)
    rises = edges.rise < 0.0 and contact is not Contact.ABOVE
    sinks = edges.sink > 0.0 and contact is not Contact.BELOW
    return not (rises or sinks)
