"""What the machine is asked to do: its moves in order, and the power cut to be tried."""

from dataclasses import dataclass

from armsim.drivetrain.machine import Load


@dataclass(frozen=True, kw_only=True)
class Limits:
    """Of a motion profile."""

    speed: float  #: > 0 [rad/s]
    acceleration: float  #: > 0 [rad/s2]
    jerk: float | None = None  #: None: the acceleration may jump (a trapezoid of speed) [rad/s3]


@dataclass(frozen=True, kw_only=True)
class Travel:
    """Drive towards an angle with a constant duty; positive lifts, negative lowers."""

    to: float  #: [rad]
    duty: float = 1.0  #: signed, 0 < |duty| <= 1 [-]
    patience: float = 2.0  #: time the drive stays on after a stall before the operator lets go [s]
    time_limit: float = 600.0  #: after which the move is given up [s]

    @property
    def name(self) -> str:
        """What a person calls it."""
        return "lift" if self.duty > 0 else "lower"


@dataclass(frozen=True, kw_only=True)
class Follow:
    """Follow a motion profile to an angle under the position loop; done once in position after the profile's end."""

    to: float  #: [rad]
    limits: Limits
    name: str = "lift"  #: or lower
    patience: float = 2.0  #: time the loop stays on past the profile's end, out of position or stalled [s]
    time_limit: float = 600.0  #: after which the move is given up [s]


@dataclass(frozen=True, kw_only=True)
class Hold:
    """The position loop keeps the angle last asked for, or the present one."""

    duration: float  #: [s]
    name: str = "hold"


@dataclass(frozen=True, kw_only=True)
class Rest:
    """Bridge off; the arm does what gravity, friction and a shorted motor let it."""

    duration: float  #: [s]
    shorted: bool | None = None  #: motor terminals; None: as the controller leaves them
    name: str = "rest"  #: or hold, where a person asked for that


@dataclass(frozen=True, kw_only=True)
class Exchange:
    """The payload changes to another mass at the same place: taken up from rest, or put down as it moves."""

    payload: float  #: afterwards, >= 0 [kg]
    name: str = "take up"  #: or put down


Going = Travel | Follow  #: moves that bring the arm to an angle
Move = Going | Hold | Rest | Exchange


def lifts(move: Move) -> bool:
    """True for a move that is to raise the arm."""
    return isinstance(move, Going) and move.name == "lift"


@dataclass(frozen=True, kw_only=True)
class PowerCut:
    """Power fails at a time of the run, as the arm first passes an angle, or where it does most harm.

    With none of them it fails at rest at the highest target.
    """

    time: float | None = None  #: [s]
    angle: float | None = None  #: [rad]
    worst: bool = False
    shorted: bool | None = None  #: motor terminals in the case to be judged; None: the worse of both


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Start angle, moves in order, how often they repeat, and the power cut."""

    start: float  #: [rad]
    moves: tuple[Move, ...]
    repeat: int = 1
    power_cut: PowerCut = PowerCut()


def targets(plan: Plan) -> tuple[float, ...]:
    """The angles that the moves of a cycle bring the arm to, in order. [rad]"""
    return tuple(move.to for move in plan.moves if isinstance(move, Going))


def payloads(arm: Load, plan: Plan) -> tuple[float, ...]:
    """Payload carried during each move of a cycle. [kg]"""
    carried, masses = arm.payload_mass, []
    for move in plan.moves:
        if isinstance(move, Exchange):
            carried = move.payload
        masses.append(carried)
    return tuple(masses)


def heaviest_payload(arm: Load, plan: Plan) -> float:
    """Largest payload of a cycle. [kg]"""
    return max((arm.payload_mass, *payloads(arm, plan)))
