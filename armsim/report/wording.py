"""Words for keys and kinds, shared by terminal, figures and report."""

from armsim.dynamics.run import Kind
from armsim.report.numbers import DISPLAY, of

#: short labels for figures and event lists
EVENT_LABELS = {
    Kind.START: "start",
    Kind.DRIVE_ON: "drive on",
    Kind.DRIVE_OFF: "drive off",
    Kind.BREAKAWAY: "breaks away",
    Kind.REVERSES: "reverses",
    Kind.COMES_TO_REST: "comes to rest",
    Kind.LIMIT_ENTERED: "current limit",
    Kind.LIMIT_LEFT: "leaves current limit",
    Kind.TRIP_POSSIBLE: "trip possible",
    Kind.TRIP_CERTAIN: "trip certain",
    Kind.BREAKER_OPENS: "breaker opens",
    Kind.BREAKER_RECLOSES: "breaker recloses",
    Kind.SUPPLY_LIMITS: "supply at its limit",
    Kind.SUPPLY_RECOVERS: "supply recovers",
    Kind.BUS_RISES: "bus rises",
    Kind.UNDERVOLTAGE: "undervoltage",
    Kind.OVERVOLTAGE: "overvoltage",
    Kind.RESTARTS: "controller restarts",
    Kind.STALL: "stall",
    Kind.REACHED: "reached",
    Kind.STOP_HIT: "hits stop",
    Kind.HOLD: "hold",
    Kind.CANNOT_HOLD: "cannot hold",
    Kind.REST: "rest",
    Kind.PAYLOAD: "payload changes",
    Kind.POWER_CUT: "power cut",
    Kind.JAM: "jams",
    Kind.GIVEN_UP: "given up",
    Kind.END: "end",
}

#: what a reader looks for first, most important first
HEADLINE_KINDS = (
    Kind.REACHED,
    Kind.STALL,
    Kind.JAM,
    Kind.BREAKER_OPENS,
    Kind.TRIP_POSSIBLE,
    Kind.SUPPLY_LIMITS,
    Kind.UNDERVOLTAGE,
    Kind.OVERVOLTAGE,
    Kind.STOP_HIT,
    Kind.CANNOT_HOLD,
    Kind.PAYLOAD,
    Kind.POWER_CUT,
    Kind.BREAKER_RECLOSES,
    Kind.GIVEN_UP,
    Kind.HOLD,
    Kind.REST,
)

#: what a word in the name of a stage's detail makes of it, first found first
_DETAILS = (
    ("travel", "length"),
    ("speed above", "shaft_speed"),
    ("angle", "angle"),
    ("ripple", "share"),
    ("distance", "length"),
    ("diameter", "length"),
    ("pitches", "number"),
    ("pitch", "length"),
    ("module", "length"),
    ("width", "length"),
    ("length", "length"),
)


_AXES = {"angle": "angle", "angular_speed": "speed", "torque": "torque"}


def axis_of(load: str, dimension: str) -> str:
    """What stands along an axis of the load's coordinate, its unit in brackets."""
    name = {"length": "position", "velocity": "speed", "force": "force"}.get(of(load, dimension), _AXES[dimension])
    return f"{load.capitalize()} {name} ({DISPLAY[of(load, dimension)].unit})"


def plain(key: str) -> str:
    """A key as words."""
    return key.replace("_", " ")


def detail_dimension(name: str) -> str:
    """The dimension of a stage's detail, told from its name."""
    words = plain(name)
    for word, dimension in _DETAILS:
        if word in words:
            return dimension
    return "number"
