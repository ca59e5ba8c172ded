"""The kinds of quantity that keys measure: their units, what to offer, and spellings that only they understand."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from armsim.scenario import units
from armsim.scenario.units import Vector


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A kind of quantity: its units, the ones to offer, and spellings that only it understands."""

    name: str  #: with its article
    vectors: tuple[Vector, ...]  #: powers of kg, m, s, A, K, rad; the first is the proper one
    offers: tuple[str, ...]  #: units to show a person
    likely: tuple[str, ...]  #: what a bare number probably lacks
    shows: tuple[tuple[str, float], ...]  #: units of the echo, with their size in SI
    spellings: Mapping[str, tuple[str, str]] = field(default_factory=dict)  #: lower case, no spaces -> unit, note
    refused: Mapping[str, tuple[str, str]] = field(default_factory=dict)  #: the same -> what is wrong, hint
    bare: str = ""  #: unit taken for a bare number, with a note; empty refuses it


_TAU = math.tau
_DEG = math.pi / 180.0
_v = units.vector_of
_RPM_NOTE = "read as turns per minute"

LENGTH = Dimension(
    name="a length",
    vectors=(units.LENGTH,),
    offers=("m", "cm", "mm", "in", "ft"),
    likely=("in", "mm"),
    shows=(("m", 1.0),),
)
ROUGHNESS = Dimension(
    name="a roughness", vectors=(units.LENGTH,), offers=("um", "mm"), likely=("um",), shows=(("um", 1e-6),)
)
MASS = Dimension(
    name="a mass",
    vectors=(units.MASS,),
    offers=("kg", "g", "lb", "oz"),
    likely=("kg", "lb"),
    shows=(("kg", 1.0),),
    spellings={"#": ("lb", "# read as pound")},
)
FORCE = Dimension(
    name="a force", vectors=(units.FORCE,), offers=("N", "lbf", "kgf"), likely=("N",), shows=(("N", 1.0),)
)
TORQUE = Dimension(
    name="a torque",
    vectors=(units.TORQUE,),
    offers=("N*m", "mN*m", "in-lb", "oz-in", "kg-cm", "ft-lb"),
    likely=("N*m", "oz-in"),
    shows=(("N*m", 1.0),),
)
ANGLE = Dimension(
    name="an angle",
    vectors=(units.ANGLE,),
    offers=("deg", "rad"),
    likely=("deg",),
    shows=(("deg", _DEG),),
    bare="deg",
)
SPEED = Dimension(
    name="a speed of rotation",
    vectors=(units.SPEED,),
    offers=("rpm", "rad/s", "deg/s"),
    likely=("rpm",),
    shows=(("rpm", _TAU / 60.0), ("deg/s", _DEG)),
    spellings={
        "r/min": ("rpm", ""),
        "1/min": ("rpm", _RPM_NOTE),
        "/min": ("rpm", _RPM_NOTE),
        "min^-1": ("rpm", _RPM_NOTE),
        "min-1": ("rpm", _RPM_NOTE),
        "min\u207b\u00b9": ("rpm", _RPM_NOTE),
    },
    refused={
        "hz": ("Hz counts cycles of anything, not turns", "for {n} turns a second write {n} rps"),
        "1/s": ("1/s is neither turns nor radians a second", "write {n} rad/s or {n} rps"),
    },
)
ACCELERATION = Dimension(
    name="a change of turning speed per time",
    vectors=(_v(s=-2, rad=1),),
    offers=("deg/s^2", "rad/s^2", "rpm/s"),
    likely=("deg/s^2",),
    shows=(("deg/s^2", _DEG),),
)
JERK = Dimension(
    name="a change of acceleration per time",
    vectors=(_v(s=-3, rad=1),),
    offers=("deg/s^3", "rad/s^3"),
    likely=("deg/s^3",),
    shows=(("deg/s^3", _DEG),),
)
PROPORTIONAL_GAIN = Dimension(
    name="a voltage per angle",
    vectors=(_v(kg=1, m=2, s=-3, A=-1, rad=-1),),
    offers=("V/deg", "V/rad"),
    likely=("V/deg",),
    shows=(("V/rad", 1.0), ("V/deg", 1.0 / _DEG)),
)
INTEGRAL_GAIN = Dimension(
    name="a voltage per angle and time",
    vectors=(_v(kg=1, m=2, s=-4, A=-1, rad=-1),),
    offers=("V/(deg*s)", "V/(rad*s)"),
    likely=("V/(deg*s)",),
    shows=(("V/(rad*s)", 1.0),),
)
DERIVATIVE_GAIN = Dimension(
    name="a voltage per turning speed",
    vectors=(_v(kg=1, m=2, s=-2, A=-1, rad=-1),),
    offers=("V*s/deg", "V*s/rad", "V/rpm"),
    likely=("V*s/deg",),
    shows=(("V*s/rad", 1.0),),
)
VELOCITY = Dimension(
    name="a speed along a path",
    vectors=(_v(m=1, s=-1),),
    offers=("m/s", "mm/s", "ft/s"),
    likely=("m/s",),
    shows=(("m/s", 1.0),),
)
LINE_ACCELERATION = Dimension(
    name="a change of speed per time",
    vectors=(_v(m=1, s=-2),),
    offers=("m/s^2", "mm/s^2"),
    likely=("m/s^2",),
    shows=(("m/s^2", 1.0),),
)
LINE_JERK = Dimension(
    name="a change of acceleration per time",
    vectors=(_v(m=1, s=-3),),
    offers=("m/s^3", "mm/s^3"),
    likely=("m/s^3",),
    shows=(("m/s^3", 1.0),),
)
LINE_PROPORTIONAL_GAIN = Dimension(
    name="a voltage per length",
    vectors=(_v(kg=1, m=1, s=-3, A=-1),),
    offers=("V/m", "V/mm"),
    likely=("V/mm",),
    shows=(("V/m", 1.0), ("V/mm", 1e3)),
)
LINE_INTEGRAL_GAIN = Dimension(
    name="a voltage per length and time",
    vectors=(_v(kg=1, m=1, s=-4, A=-1),),
    offers=("V/(m*s)", "V/(mm*s)"),
    likely=("V/(mm*s)",),
    shows=(("V/(m*s)", 1.0),),
)
LINE_DERIVATIVE_GAIN = Dimension(
    name="a voltage per speed along a path",
    vectors=(_v(kg=1, m=1, s=-2, A=-1),),
    offers=("V*s/m", "V*s/mm"),
    likely=("V*s/mm",),
    shows=(("V*s/m", 1.0),),
)
VOLTAGE = Dimension(
    name="a voltage",
    vectors=(units.VOLTAGE,),
    offers=("V", "mV"),
    likely=("V",),
    shows=(("V", 1.0),),
    refused={
        "kv": (
            "KV is a motor's turns per minute per volt, not a voltage",
            "as velocity_constant it is written {n} rpm/V",
        )
    },
)
CURRENT = Dimension(name="a current", vectors=(units.CURRENT,), offers=("A", "mA"), likely=("A",), shows=(("A", 1.0),))
RESISTANCE = Dimension(
    name="a resistance",
    vectors=(units.RESISTANCE,),
    offers=("ohm", "mohm"),
    likely=("ohm", "mohm"),
    shows=(("ohm", 1.0),),
)
INDUCTANCE = Dimension(
    name="an inductance", vectors=(units.INDUCTANCE,), offers=("H", "mH", "uH"), likely=("mH",), shows=(("mH", 1e-3),)
)
INERTIA = Dimension(
    name="a moment of inertia",
    vectors=(_v(kg=1, m=2),),
    offers=("kg*m^2", "g*cm^2", "lb*in^2", "oz-in-s^2"),
    likely=("kg*m^2", "g*cm^2"),
    shows=(("kg*m^2", 1.0),),
)
TIME = Dimension(
    name="a time", vectors=(units.TIME,), offers=("s", "ms", "min", "h"), likely=("s",), shows=(("s", 1.0),)
)
FREQUENCY = Dimension(
    name="a frequency",
    vectors=(units.FREQUENCY,),
    offers=("Hz", "kHz"),
    likely=("kHz",),
    shows=(("kHz", 1e3), ("Hz", 1.0)),
)
CAPACITANCE = Dimension(
    name="a capacitance",
    vectors=(units.CAPACITANCE,),
    offers=("F", "mF", "uF"),
    likely=("uF",),
    shows=(("mF", 1e-3), ("uF", 1e-6)),
)
CHARGE = Dimension(
    name="a charge", vectors=(units.CHARGE,), offers=("A*h", "mAh"), likely=("A*h", "mAh"), shows=(("A*h", 3600.0),)
)
ENERGY = Dimension(name="an energy", vectors=(units.TORQUE,), offers=("J", "Wh"), likely=("J",), shows=(("J", 1.0),))
POWER = Dimension(
    name="a power",
    vectors=(units.POWER,),
    offers=("W", "kW", "hp"),
    likely=("W",),
    shows=(("W", 1.0),),
    spellings={"hp": ("hp", "mechanical horsepower, 550 foot-pounds a second")},
    refused={
        "ps": ("a metric horsepower is 735.5 W", "write {n} times 735.5 in W"),
        "cv": ("a metric horsepower is 735.5 W", "write {n} times 735.5 in W"),
    },
)
AREA = Dimension(
    name="an area",
    vectors=(_v(m=2),),
    offers=("mm^2", "in^2"),
    likely=("mm^2",),
    shows=(("mm^2", 1e-6),),
    spellings={"sqmm": ("mm^2", ""), "mmsq": ("mm^2", ""), "sqin": ("in^2", "")},
)
TORQUE_CONSTANT = Dimension(
    name="a torque per current",
    vectors=(_v(kg=1, m=2, s=-2, A=-1), _v(kg=1, m=2, s=-2, A=-1, rad=-1)),
    offers=("N*m/A", "mN*m/A", "oz-in/A"),
    likely=("mN*m/A",),
    shows=(("N*m/A", 1.0),),
)
BACK_EMF_CONSTANT = Dimension(
    name="a voltage per speed",
    vectors=(_v(kg=1, m=2, s=-2, A=-1, rad=-1), _v(kg=1, m=2, s=-2, A=-1)),
    offers=("V*s/rad", "V/krpm", "mV/rpm"),
    likely=("V/krpm",),
    shows=(("V*s/rad", 1.0),),
    spellings={"v/1000rpm": ("V/krpm", ""), "v/rad/s": ("V*s/rad", "read as V/(rad/s)")},
)
VELOCITY_CONSTANT = Dimension(
    name="a speed per voltage",
    vectors=(_v(kg=-1, m=-2, s=2, A=1, rad=1),),
    offers=("rpm/V", "rad/s/V"),
    likely=("rpm/V",),
    shows=(("rpm/V", _TAU / 60.0),),
    spellings={"kv": ("rpm/V", "KV read as rpm/V")},
)
VISCOUS = Dimension(
    name="a torque per speed",
    vectors=(_v(kg=1, m=2, s=-1, rad=-1), _v(kg=1, m=2, s=-1)),
    offers=("N*m*s/rad", "N*m/rpm", "mN*m/krpm"),
    likely=("N*m*s/rad",),
    shows=(("N*m*s/rad", 1.0),),
    spellings={
        "nms": ("N*m*s", ""),
        "nms/rad": ("N*m*s/rad", ""),
        "nm/rad/s": ("N*m*s/rad", "read as N*m/(rad/s)"),
        "n*m/rad/s": ("N*m*s/rad", "read as N*m/(rad/s)"),
    },
)
TORSION_RATE = Dimension(
    name="a torque per angle",
    vectors=(_v(kg=1, m=2, s=-2, rad=-1),),
    offers=("N*m/deg", "N*m/rad", "mN*m/deg"),
    likely=("N*m/deg",),
    shows=(("N*m/rad", 1.0), ("N*m/deg", 1.0 / _DEG)),
)
SPRING_RATE = Dimension(
    name="a force per length",
    vectors=(_v(kg=1, s=-2),),
    offers=("N/mm", "N/m", "lbf/in"),
    likely=("N/mm",),
    shows=(("N/mm", 1e3),),
)
LINE_DAMPING = Dimension(
    name="a force per speed along a path",
    vectors=(_v(kg=1, s=-1),),
    offers=("N*s/m", "N*s/mm"),
    likely=("N*s/m",),
    shows=(("N*s/m", 1.0),),
)
THERMAL_RESISTANCE = Dimension(
    name="a thermal resistance",
    vectors=(_v(kg=-1, m=-2, s=3, K=1),),
    offers=("K/W", "degC/W"),
    likely=("K/W",),
    shows=(("K/W", 1.0),),
    spellings={"c/w": ("K/W", "")},
)
HEAT_CAPACITY = Dimension(
    name="a heat capacity",
    vectors=(_v(kg=1, m=2, s=-2, K=-1),),
    offers=("J/K", "kJ/K"),
    likely=("J/K",),
    shows=(("J/K", 1.0),),
    spellings={"j/c": ("J/K", ""), "w*s/k": ("J/K", ""), "ws/k": ("J/K", "")},
)
TEMPERATURE = Dimension(
    name="a temperature",
    vectors=(units.KELVIN,),
    offers=("degC", "degF", "K"),
    likely=("degC",),
    shows=(("degC", 1.0),),
)
STRESS = Dimension(
    name="a stress",
    vectors=(units.STRESS,),
    offers=("MPa", "N/mm^2", "psi", "ksi"),
    likely=("MPa", "psi"),
    shows=(("MPa", 1e6),),
)
VISCOSITY = Dimension(
    name="a dynamic viscosity",
    vectors=(units.VISCOSITY,),
    offers=("mPa*s", "Pa*s", "cP"),
    likely=("mPa*s",),
    shows=(("mPa*s", 1e-3),),
    refused=dict.fromkeys(
        ("cst", "mm^2/s", "mm2/s", "centistokes"),
        ("a kinematic viscosity, which is the dynamic one over the density", "for oil write 0.87 x {n} in mPa*s"),
    ),
)
#: where a unit of the wrong kind comes from
ALL = (
    LENGTH, MASS, FORCE, TORQUE, ANGLE, SPEED, VELOCITY, VOLTAGE, CURRENT, RESISTANCE, INDUCTANCE, INERTIA, TIME,
    CHARGE, POWER, AREA, TORQUE_CONSTANT, BACK_EMF_CONSTANT, VELOCITY_CONSTANT, VISCOUS, TORSION_RATE, SPRING_RATE,
    CAPACITANCE, FREQUENCY, LINE_DAMPING, THERMAL_RESISTANCE, HEAT_CAPACITY, TEMPERATURE,
    STRESS, VISCOSITY,
)  # fmt: skip


def understood(value: float, dimension: Dimension) -> str:
    """The echo of a value: what was understood, in ASCII."""
    first, *others = (f"{value / size:.6g} {unit}" for unit, size in dimension.shows)
    return f"{first} ({', '.join(others)})" if others else first
