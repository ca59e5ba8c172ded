"""The train at its reference point: lifting steadily where the lift asks most, shaft by shaft and stage by stage."""

from collections.abc import Sequence
from itertools import pairwise

from armsim.checks.assessment import ShaftRow, SideLoadRow, StageRow, TransmissionResult
from armsim.checks.lifting import first_lift, needed_torque, travel_range, turning_points
from armsim.drivetrain.circuit import drive_point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.senses import WORDS, idler_senses, motor_turning, turnings
from armsim.drivetrain.shafts import free_play, reflected_inertias
from armsim.drivetrain.train import DRIVES, OVERHAULS, Walk, all_driving, speed_regimes, walk
from armsim.dynamics.plan import Plan
from armsim.parts.motor import ROTOR_LOSS

SCAN = 128  #: speeds tried between standstill and no load


def steady_walk(machine: Machine, angle: float, speed: float, volts: float = 0.0) -> Walk:
    """The walk of a lift at constant arm speed [rad/s], each stage on the branch its own torque asks for.

    Volts are at the terminals of companions.
    """
    regimes, branch = speed_regimes(machine, speed), list(all_driving(machine))
    others = machine.companion_currents(volts, speed)
    lines = walk(machine, angle, speed, 1, branch, regimes, currents=others)
    for k in reversed(range(len(branch))):
        branch[k] = DRIVES if lines.outputs[k].offset > 0.0 else OVERHAULS
        lines = walk(machine, angle, speed, 1, branch, regimes, currents=others)
    return lines


def steady_speed(machine: Machine, angle: float, duty: float) -> float | None:
    """Arm speed of a steady lift at an angle and duty: the fastest at which drive and load agree; None if never.

    Friction that falls with speed can make several; coming down from no load the first is the stable one. [rad/s]
    """
    top = 1.05 * machine.no_load_speed

    def surplus(speed: float) -> float:
        point = drive_point(machine, duty, speed * machine.shaft_turns[0])
        return point.torque - steady_walk(machine, angle, speed, point.volts).motor.offset

    fast, slow = top, top
    for k in range(SCAN):
        slow = top * (1.0 - (k + 1) / SCAN)
        if surplus(slow) >= 0.0:
            break
        fast = slow
    else:
        return None
    while fast - slow > 1e-12 * top:
        middle = 0.5 * (slow + fast)
        slow, fast = (middle, fast) if surplus(middle) >= 0.0 else (slow, middle)
    return slow if slow > 0.0 else None


def judge_transmission(machine: Machine, plan: Plan) -> TransmissionResult:
    """Ratios, efficiencies, inertia and loads. Speeds and powers are None where no steady lift exists there."""
    task = first_lift(plan)
    low, high = (task.start, task.to) if task else travel_range(plan)
    angle = max(turning_points(machine, low, high), key=lambda theta: needed_torque(machine, theta))
    duty = task.duty if task else 1.0
    speed = steady_speed(machine, angle, duty)
    volts = drive_point(machine, duty, (speed or 0.0) * machine.shaft_turns[0]).volts
    lines = steady_walk(machine, angle, speed or 0.0, volts)
    forward, reverse = train_efficiencies(machine, speed or 0.0)
    inertias = reflected_inertias(machine)
    rotors = machine.motor.count * machine.motor.rotor_inertia * machine.reduction**2
    play = free_play(machine).angle
    return TransmissionResult(
        reduction=machine.reduction,
        efficiency_forward=forward,
        efficiency_reverse=reverse,
        torque_ratio=machine.reduction * forward,
        self_locking=any(stage.locks() for stage in machine.stages),
        motor=motor_turning(machine),
        play=play,
        tip_play=None if play is None else play * machine.arm.length,
        reflected_inertia=sum(inertias),
        rotor_share=rotors / sum(inertias) if sum(inertias) > 0.0 else 0.0,
        shafts=shaft_rows(machine, lines, speed),
        stages=stage_rows(machine, lines, speed or 0.0),
        side_loads=side_load_rows(machine, speed),
    )


def inside_motor(machine: Machine) -> int:
    """How many of the first stages belong to the motor: one where its torque row is short of its speed row."""
    return 1 if machine.stages and machine.stages[0].kind == ROTOR_LOSS else 0


def running_efficiencies(machine: Machine, speed: float) -> tuple[float, ...]:
    """Forward efficiency of each stage with the arm at a speed [rad/s]; at rest the static one. [-]"""
    if speed == 0.0:
        return tuple(stage.law.static()[0] for stage in machine.stages)
    regimes, turns = speed_regimes(machine, speed), machine.shaft_turns
    return tuple(stage.law.running(speed * turns[k], regimes[k])[0] for k, stage in enumerate(machine.stages))


def train_efficiencies(machine: Machine, speed: float) -> tuple[float, float]:
    """Of the train behind the motor, drag aside: forward at an arm speed [rad/s], reverse at rest. [-, -]

    The reverse one walks from the arm to the motor, so that behind a stage that locks the motor drives and later
    stages divide by eta_f: two locking stages do not multiply to a train that turns back.
    """
    forward = 1.0
    own = inside_motor(machine)
    for efficiency in running_efficiencies(machine, speed)[own:]:
        forward *= efficiency
    reverse = 1.0
    for stage in reversed(machine.stages[own:]):
        eta_f, eta_b = stage.law.static()
        reverse *= eta_b if reverse > 0.0 else 1.0 / eta_f
    return forward, reverse


def shaft_torques(machine: Machine, lines: Walk, speed: float) -> list[float]:
    """Torque in each shaft of a steady lift, motor's first: behind the rotor's own friction, then stage outputs."""
    motor = machine.motor
    own = motor.count * (motor.coulomb_torque + motor.viscous_drag * speed * machine.shaft_turns[0])
    return [lines.motor.offset - own, *(line.offset for line in lines.outputs)]


def shaft_rows(machine: Machine, lines: Walk, speed: float | None) -> tuple[ShaftRow, ...]:
    """Every shaft, the motor's first as it comes out of the motor."""
    own, turns, names = inside_motor(machine), machine.shaft_turns, shaft_names(machine)
    torques = shaft_torques(machine, lines, speed or 0.0)
    reflected, turning = list(reflected_inertias(machine)), turnings(machine)
    reflected[own] = sum(reflected[: own + 1])
    return tuple(
        ShaftRow(
            name=names[k - own],
            turns_per_arm_turn=turns[k],
            turning=turning[k],
            speed=None if speed is None else speed * turns[k],
            torque=torques[k],
            power=None if speed is None else speed * turns[k] * torques[k],
            reflected_inertia=reflected[k],
        )
        for k in range(own, len(turns))
    )


def side_load_rows(machine: Machine, speed: float | None) -> tuple[SideLoadRow, ...]:
    """Every side load in the steady lift; where there is none, what holds it at rest."""
    own, turns, names = inside_motor(machine), machine.shaft_turns, shaft_names(machine)
    return tuple(
        SideLoadRow(
            name=load.name,
            shaft=names[load.shaft - own],
            torque=(torque := load.torque + load.viscous * turns[load.shaft] * (speed or 0.0)),
            power=None if speed is None else torque * turns[load.shaft] * speed,
        )
        for load in machine.side_loads
    )


def shaft_names(machine: Machine) -> list[str]:
    """Motor, arm, and the shafts between by the stages they join."""
    stages: Sequence[str] = [stage.name for stage in machine.stages[inside_motor(machine) :]]
    if not stages:
        return [f"motor and {machine.arm.kind}"]
    between = [f"{a} to {b}" for a, b in pairwise(stages)]
    return ["motor", *between, machine.arm.kind]


def stage_rows(machine: Machine, lines: Walk, speed: float) -> tuple[StageRow, ...]:
    """Every stage behind the motor; the contact force is what its driver pushes with, mesh loss included."""
    forward, turning = running_efficiencies(machine, speed), turnings(machine)
    rows = []
    for k in range(inside_motor(machine), len(machine.stages)):
        stage, output = machine.stages[k], lines.outputs[k].offset
        mesh = output * lines.gains[k] / stage.reduction
        idlers = ", ".join(WORDS[sense] for sense in idler_senses(stage, turning[k].sense))
        rows.append(
            StageRow(
                kind=stage.kind,
                name=stage.name,
                reduction=stage.reduction,
                efficiency_forward=forward[k],
                efficiency_reverse=stage.law.static()[1],
                locks=stage.locks(),
                output_torque=output,
                contact_force=None if stage.driver_radius is None else abs(mesh) / stage.driver_radius,
                backlash=stage.backlash,
                driver_speed=speed * machine.shaft_turns[k] if speed else None,
                details={**stage.details, **({"idlers_turn": idlers} if idlers else {})},
            )
        )
    return tuple(rows)
