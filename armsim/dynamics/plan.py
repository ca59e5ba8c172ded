"""What the machine is asked to do: its moves in order, and the power cut to be tried."""

from dataclasses import dataclass


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
class Hold:
    """Held still by a steady current, as a position loop at rest would."""

    duration: float  #: [s]
    name: str = "hold"


@dataclass(frozen=True, kw_only=True)
class Rest:
    """Bridge off; the arm does what gravity and friction let it."""

    duration: float  #: [s]
    name: str = "rest"


Move = Travel | Hold | Rest


@dataclass(frozen=True, kw_only=True)
class PowerCut:
    """Power fails at a time of the run or as the arm first passes an angle; neither: at rest at the target."""

    time: float | None = None  #: [s]
    angle: float | None = None  #: [rad]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Start angle, moves in order, how often they repeat, and the power cut."""

    start: float  #: [rad]
    moves: tuple[Move, ...]
    repeat: int = 1
    power_cut: PowerCut = PowerCut()
