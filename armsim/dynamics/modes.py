"""The modes of a run: within one, the machine is a smooth vector field; between them, something happened."""

from dataclasses import dataclass
from enum import Enum

CUT = -1  #: stands among the open devices for a supply that has failed


class Drive(Enum):
    """What the bridge does."""

    DRIVING = "duty as commanded"
    REGULATING = "current held at the controller's limit by the duty"
    RATIONED = "current from the supply held at the controller's limit by the duty"
    SHORTED = "off, motor terminals shorted: brakes"
    OPEN = "off, motor terminals open: coasts"
    DIODES = "off, back-EMF above the bus: the diodes conduct into it"


class Flow(Enum):
    """What a supply with limits does, by the voltage of the capacitor at the controller."""

    FREE = "gives its voltage"
    LIMITED = "at its current limit: the bus falls"
    BLOCKED = "cannot take current back: the bus rises"
    EMPTY = "at its current limit with nothing left on the bus"


class Contact(Enum):
    """What keeps an arm at rest from moving one way."""

    NONE = "free"
    BELOW = "lower stop or support"
    ABOVE = "upper stop"


@dataclass(frozen=True, kw_only=True)
class Duty:
    """Duty as commanded: a straight line in time from a moment on."""

    start: float = 0.0  #: value at `since` [-]
    rate: float = 0.0  #: [1/s]
    since: float = 0.0  #: [s]

    def at(self, time: float) -> float:
        """Duty at a time [s]. [-]"""
        return self.start + self.rate * (time - self.since)


@dataclass(frozen=True, kw_only=True)
class Press:
    """An arm beyond a stop that gives way."""

    side: int  #: +1 upper stop, -1 lower
    damping: float  #: the c of k x (1 + c w), from the speed at which it was met [s/rad]
    slack: bool = False  #: the arm leaves faster than the buffer springs back: no force


@dataclass(frozen=True, kw_only=True)
class Mode:
    """One smooth piece of the machine's life."""

    sense: int = 0  #: +1 the arm moves up, -1 down, 0 at rest
    branch: tuple[int, ...] = ()  #: of each stage while moving
    regimes: tuple[int, ...] = ()  #: speed piece of each stage's efficiency law while moving
    contact: Contact = Contact.NONE  #: at rest only
    press: Press | None = None  #: the buffer that the arm is in, if any
    drive: Drive = Drive.OPEN
    flow: Flow = Flow.FREE
    duty: Duty = Duty()  #: commanded while DRIVING, wished while REGULATING, the sign of the bus in the DIODES' loop
    current: float = 0.0  #: held while REGULATING, per motor [A]
    saturated: bool = False  #: DRIVING at full duty against the wish, unable to keep the current at its limit
    settled: bool = False  #: at rest where motion had died away, not where friction caught it
    passing: bool = False  #: slow only in passing: no more asking whether motion has died away
    open_devices: frozenset[int] = frozenset()  #: main protective devices that are open; CUT for a failed supply
    open_branches: frozenset[int] = frozenset()  #: devices in the controllers' own lines that are open

    @property
    def connected(self) -> bool:
        """True while the line from the source to the controllers is closed."""
        return not (self.open_devices or self.open_branches)

    @property
    def fed(self) -> bool:
        """True while the main line is closed, so that the other loads run."""
        return not self.open_devices

    @property
    def powered(self) -> bool:
        """True while the bridge drives the motor."""
        return self.drive in (Drive.DRIVING, Drive.REGULATING, Drive.RATIONED)

    @property
    def limited(self) -> bool:
        """True while a limit of the controller makes the duty."""
        return self.drive in (Drive.REGULATING, Drive.RATIONED)
