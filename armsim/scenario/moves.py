"""The moves of a scenario as a plan, and the position loop they need."""

from dataclasses import replace

from armsim.drivetrain.machine import Machine, loaded
from armsim.dynamics import plan
from armsim.dynamics.steering import tuned
from armsim.parts.position_loop import LoopSettings
from armsim.scenario import dimensions as d
from armsim.scenario import schema
from armsim.scenario.coordinates import place_dimension
from armsim.scenario.dimensions import understood
from armsim.scenario.notes import Notes


def planned(file: schema.ScenarioFile, notes: Notes) -> plan.Plan:
    """The work cycle and the power cut."""
    cut = file.power_cut or schema.PowerCut()
    if "at" not in cut.model_fields_set:
        notes.default("power_cut.at", "power fails with the arm at rest at its highest target")
    carrier = file.arm or file.carriage
    payload = carrier.payload.mass if carrier and carrier.payload else 0.0
    moves = []
    for move in file.moves:
        moves.append(_move(move, payload))
        if isinstance(moves[-1], plan.Exchange):
            payload = moves[-1].payload
    return plan.Plan(
        start=file.start,
        moves=tuple(moves),
        repeat=file.repeat,
        power_cut=plan.PowerCut(
            time=cut.at.time,
            angle=cut.at.angle,
            worst=cut.at.worst,
            shorted=None if cut.motor is None else cut.motor == "shorted",
        ),
    )


def _move(move: schema.Move, payload: float) -> plan.Move:
    if move.take_up is not None:
        return plan.Exchange(payload=payload + move.take_up.mass, name="take up")
    if move.put_down is not None:
        left = payload - move.put_down.mass
        return plan.Exchange(payload=left if left > 1e-9 * payload else 0.0, name="put down")
    if move.rest is not None:
        return plan.Rest(duration=move.rest.duration)
    if move.hold is not None:
        if move.hold.motor == "controlled":
            return plan.Hold(duration=move.hold.duration)
        return plan.Rest(duration=move.hold.duration, shorted=move.hold.motor == "shorted", name="hold")
    return _travel(move)


def _travel(move: schema.Move) -> plan.Travel | plan.Follow:
    name, travel = ("lift", move.lift) if move.lift else ("lower", move.lower)
    assert travel is not None
    if travel.profile is None:
        duty = travel.duty if name == "lift" else -travel.duty
        return plan.Travel(to=travel.to, duty=duty, patience=travel.patience, time_limit=travel.within)
    limits = plan.Limits(speed=travel.profile.speed, acceleration=travel.profile.acceleration, jerk=travel.profile.jerk)
    return plan.Follow(to=travel.to, limits=limits, name=name, patience=travel.patience, time_limit=travel.within)


TOLERANCE = {"arm": LoopSettings.tolerance, "carriage": 1e-3}  #: of the position loop by default [rad, m]
_GAINS = {"proportional": d.PROPORTIONAL_GAIN, "integral": d.INTEGRAL_GAIN, "derivative": d.DERIVATIVE_GAIN}
_LINE_GAINS = {
    "proportional": d.LINE_PROPORTIONAL_GAIN,
    "integral": d.LINE_INTEGRAL_GAIN,
    "derivative": d.LINE_DERIVATIVE_GAIN,
}


def with_loop(machine: Machine, moves: plan.Plan, given: schema.PositionLoop | None, notes: Notes) -> Machine:
    """The machine with its position loop; what a person left out of it is noted where a move needs the loop."""
    asked = given or schema.PositionLoop()
    settings = LoopSettings(
        period=asked.period,
        tolerance=asked.tolerance if asked.tolerance is not None else TOLERANCE[machine.arm.kind],
        proportional=asked.proportional,
        integral=asked.integral,
        derivative=asked.derivative,
    )
    if any(isinstance(move, (plan.Follow, plan.Hold)) for move in moves.moves):
        _note_loop(machine, moves, asked, settings, notes)
    return replace(machine, controller=replace(machine.controller, position_loop=settings))


def _note_loop(
    machine: Machine, moves: plan.Plan, asked: schema.PositionLoop, settings: LoopSettings, notes: Notes
) -> None:
    carriage = machine.arm.kind == "carriage"
    for key, dimension in {"period": d.TIME, "tolerance": place_dimension(carriage)}.items():
        if key not in asked.model_fields_set:
            notes.default(f"controller.position_loop.{key}", understood(getattr(settings, key), dimension))
    loads = sorted({machine.arm.payload_mass, *plan.payloads(machine.arm, moves)})
    loops = [tuned(loaded(machine, mass), settings) for mass in (loads[0], loads[-1])]
    for gain, dimension in (_LINE_GAINS if carriage else _GAINS).items():
        if getattr(asked, gain) is None:
            values = dict.fromkeys(understood(getattr(loop, gain), dimension) for loop in loops)
            text = f"{' to '.join(values)}, placed for the machine as it is loaded"
            notes.derived(f"controller.position_loop.{gain}", text)
