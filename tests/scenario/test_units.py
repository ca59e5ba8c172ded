"""Units and quantities: every factor against an independent library, every habit of writing against its meaning."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armsim.scenario import dimensions as d
from armsim.scenario.problems import Misreading
from armsim.scenario.quantities import read_quantity
from armsim.scenario.units import UNITS, parse

ORACLE = pint.UnitRegistry()
#: what the independent library calls our units; the rest have the same name there
ORACLE_NAMES = {
    "in": "inch", "kgf": "kilogram_force", "lbf": "pound_force", "ozf": "ounce_force", "gf": "gram_force",
    "t": "metric_ton",
    "min": "minute", "h": "hour", "mohm": "milliohm", "uohm": "microohm", "kohm": "kiloohm", "Mohm": "megaohm",
    "um": "micrometer", "uH": "microhenry", "Ah": "ampere * hour", "mAh": "milliampere * hour", "Wh": "watt * hour",
    "degF": "delta_degree_Fahrenheit", "K": "kelvin", "deg": "degree", "rps": "turn / second", "krpm": "1000 * rpm",
    "lb": "pound", "oz": "ounce", "A": "ampere", "V": "volt", "rad": "radian",
}  # fmt: skip


@pytest.mark.parametrize("unit", sorted(set(UNITS.values()), key=lambda unit: unit.name), ids=lambda u: u.name)
def test_every_factor_agrees_with_an_independent_library(unit):
    name = ORACLE_NAMES.get(unit.name, unit.name)
    theirs = ORACLE.parse_expression(f"1 * {name}").to_base_units()
    assert float(unit.factor) == pytest.approx(theirs.magnitude, rel=1e-12)
    powers = {str(k): v for k, v in theirs.units._units.items()}
    ours = dict(zip(("kilogram", "meter", "second", "ampere", "kelvin", "radian"), unit.vector, strict=True))
    if unit.name == "Hz":  # counted as turns there, as nothing here
        powers.pop("radian", None)
    assert {name: power for name, power in ours.items() if power} == powers


TORQUES = {
    **dict.fromkeys(
        [
            "in-lbs",
            "in-lb",
            "lb-in",
            "lb*in",
            "in.lb",
            "inlb",
            "lbf-in",
            "in-lbf",
            "lb·in",
            "lbf*in",
            "inch pounds",
            "in. lbs.",
            "LB-IN",
        ],
        0.1129848290276167,
    ),
    **dict.fromkeys(["oz-in", "ozin", "oz/in", "in-oz", "ozf-in", "OZ-IN"], 0.00706155181422604),
    **dict.fromkeys(["kg-cm", "kg.cm", "kgf·cm", "kg*cm", "kgcm", "Kg/Cm", "kgf-cm", "KGCM"], 0.0980665),
    **dict.fromkeys(
        ["n/m", "Nm", "N.m", "nm", "N-m", "Newton meters", "N*m", "N·m", "N m", "NM", "newton-metres"], 1.0
    ),
    **dict.fromkeys(["mNm", "mN*m", "mN-m"], 1e-3),
    **dict.fromkeys(["Ncm", "N-cm"], 1e-2),
    **dict.fromkeys(["ft-lb", "ftlbs", "pound-feet", "lbf*ft"], 1.3558179483314004),
}


@pytest.mark.parametrize(("unit", "size"), TORQUES.items())
def test_a_torque_is_read_in_every_usual_spelling(unit, size):
    for text in (f"12 {unit}", f"12{unit}"):
        assert read_quantity(text, d.TORQUE).value == pytest.approx(12 * size, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("10 lb", d.MASS, 4.5359237),
        ("15lbs", d.MASS, 6.80388555),
        ("10#", d.MASS, 4.5359237),
        ("5 pounds", d.MASS, 2.26796185),
        ("40 ounces", d.MASS, 1.133980925),
        ("½ lb", d.MASS, 0.226796185),
        ("2½ lb", d.MASS, 1.133980925),
        ("1e3 g", d.MASS, 1.0),
        ("5 Kg", d.MASS, 5.0),
        ("0,5 kg", d.MASS, 0.5),
        ("0,001 kg", d.MASS, 0.001),
        ("1,234.5 kg", d.MASS, 1234.5),
        ('4"', d.LENGTH, 0.1016),
        ("9'", d.LENGTH, 2.7432),
        ("9'6\"", d.LENGTH, 2.8956),
        ("9'-6\"", d.LENGTH, 2.8956),
        ("1/2 in", d.LENGTH, 0.0127),
        ('3/8"', d.LENGTH, 0.009525),
        ('2-7/8"', d.LENGTH, 0.073025),
        ("1 1/2 in", d.LENGTH, 0.0381),
        ("½ in", d.LENGTH, 0.0127),
        ("3-1/2 in", d.LENGTH, 0.0889),
        ("1 1/4 in", d.LENGTH, 0.03175),
        ("“12 in”", d.LENGTH, 0.3048),
        ("12\u00a0in", d.LENGTH, 0.3048),
        ("620 mm", d.LENGTH, 0.62),
        ("-30°", d.ANGLE, -math.pi / 6),
        ("−30 deg", d.ANGLE, -math.pi / 6),
        ("90 degrees", d.ANGLE, math.pi / 2),
        ("1.57 rad", d.ANGLE, 1.57),
        ("14-1/2 deg", d.ANGLE, math.radians(14.5)),
        ("-14-1/2 deg", d.ANGLE, -math.radians(14.5)),
        ("19300 rpm", d.SPEED, 19300 * math.tau / 60),
        ("10 RPM", d.SPEED, math.pi / 3),
        ("10 r/min", d.SPEED, math.pi / 3),
        ("10 rev/min", d.SPEED, math.pi / 3),
        ("10 rad/s", d.SPEED, 10.0),
        ("360 deg/s", d.SPEED, math.tau),
        ("360 °/s", d.SPEED, math.tau),
        ("12V", d.VOLTAGE, 12.0),
        ("12v", d.VOLTAGE, 12.0),
        ("12 volts", d.VOLTAGE, 12.0),
        ("40 amps", d.CURRENT, 40.0),
        ("20 mOhm", d.RESISTANCE, 0.02),
        ("20mΩ", d.RESISTANCE, 0.02),
        ("20m\u2126", d.RESISTANCE, 0.02),
        ("0.020 Ohms", d.RESISTANCE, 0.02),
        ("20 milliohm", d.RESISTANCE, 0.02),
        ("20 MILLIOHM", d.RESISTANCE, 0.02),
        ("800 rpm/V", d.VELOCITY_CONSTANT, 83.77580409572782),
        ("83 rad/s/V", d.VELOCITY_CONSTANT, 83.0),
        ("54 mN·m/A", d.TORQUE_CONSTANT, 0.054),
        ("54 mNm/A", d.TORQUE_CONSTANT, 0.054),
        ("1 oz-in/A", d.TORQUE_CONSTANT, 0.00706155181422604),
        ("1 V/krpm", d.BACK_EMF_CONSTANT, 0.009549296585513721),
        ("1 mV/rpm", d.BACK_EMF_CONSTANT, 0.009549296585513721),
        ("0.05 V*s/rad", d.BACK_EMF_CONSTANT, 0.05),
        ("0.05 V/(rad/s)", d.BACK_EMF_CONSTANT, 0.05),
        ("0.05 Vs", d.BACK_EMF_CONSTANT, 0.05),
        ("2 gcm²", d.INERTIA, 2e-7),
        ("2 g*cm^2", d.INERTIA, 2e-7),
        ("2 kg-m2", d.INERTIA, 2.0),
        ("1 oz-in-s^2", d.INERTIA, 0.00706155181422604),
        ("1 lb*in^2", d.INERTIA, 0.00029263965343),
        ("0.05 N*m/(rad/s)", d.VISCOUS, 0.05),
        ("1 N*m/rpm", d.VISCOUS, 9.549296585513721),
        ("12 Ah", d.CHARGE, 43200.0),
        ("2200mAh", d.CHARGE, 7920.0),
        ("25 °C", d.TEMPERATURE, 25.0),
        ("77 F", d.TEMPERATURE, 25.0),
        ("300 K", d.TEMPERATURE, 26.85),
        ("1.2 °C/W", d.THERMAL_RESISTANCE, 1.2),
        ("40 J/K", d.HEAT_CAPACITY, 40.0),
        ("90sec", d.TIME, 90.0),
        ("1.5 min", d.TIME, 90.0),
        ("2h", d.TIME, 7200.0),
        ("2.5mm²", d.AREA, 2.5e-6),
        ("0.35 mH", d.INDUCTANCE, 3.5e-4),
        ("1.5 ft/s", d.VELOCITY, 0.4572),
    ],
)
def test_one_sensible_meaning_is_taken(text, dimension, value):
    assert read_quantity(text, dimension).value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "note"),
    [
        ("70 oz/in", d.TORQUE, "read as ounce-inch"),
        ("12 kg/cm", d.TORQUE, "read as kilogram-centimetre"),
        ("2.41 n/m", d.TORQUE, "read as newton-metre"),
        ("12 kg-cm", d.TORQUE, "kg taken for its weight"),
        ("0,5 kg", d.MASS, "decimal comma, read as 0.5"),
        ("90", d.ANGLE, "no unit, read as deg"),
        ("3100 1/min", d.SPEED, "read as turns per minute"),
        ("800KV", d.VELOCITY_CONSTANT, "KV read as rpm/V"),
        ("0.17 s/60°", d.SPEED, "0.17 s for 60 deg"),
    ],
)
def test_what_had_to_be_settled_is_said(text, dimension, note):
    assert read_quantity(text, dimension).note == note


@pytest.mark.parametrize("text", ["0.17 s/60°", "0.17sec/60deg", ".17 sec.60"])
def test_servo_speed_is_seconds_for_sixty_degrees(text):
    assert read_quantity(text, d.SPEED).value * 60 / math.tau == pytest.approx(58.8, abs=0.05)


@pytest.mark.parametrize(
    ("text", "dimension", "code", "words"),
    [
        ("25kg", d.TORQUE, "SCN111", "did you mean 25 kg-cm (2.45166 N*m)?"),
        ("20 MOhm", d.RESISTANCE, "SCN114", "did you mean 20 mohm"),
        ("20 MΩ", d.RESISTANCE, "SCN114", "did you mean 20 mohm"),
        ("1 MNm", d.TORQUE, "SCN112", "unknown unit"),
        ("800KV", d.VOLTAGE, "SCN114", "800 rpm/V"),
        ("3S", d.VOLTAGE, "SCN114", "11.1 V nominal, 12.6 V full"),
        ("3S 2200mAh 25C", d.VOLTAGE, "SCN114", "do not give the inner resistance"),
        ("50 Hz", d.SPEED, "SCN114", "50 rps"),
        ("19,300rpm", d.SPEED, "SCN114", "write 19300 rpm or 19.3 rpm"),
        ("1,621 rpm", d.SPEED, "SCN114", "two meanings, 1621 and 1.621"),
        ("1.234,5 kg", d.MASS, "SCN114", "write 1234.5 kg"),
        ("7'-9'", d.LENGTH, "SCN114", "range"),
        ("10-15 lbs", d.MASS, "SCN114", "range"),
        ("180 to 90", d.ANGLE, "SCN114", "range"),
        ("~10 pounds", d.MASS, "SCN114", "give one number, such as 10 pounds"),
        ("about 25", d.MASS, "SCN114", "guess"),
        ("<16A", d.CURRENT, "SCN114", "bound"),
        ("1:30", d.TIME, "SCN114", "90 s or 1.5 min"),
        ("nan", d.MASS, "SCN113", "not a usable number"),
        (".inf", d.MASS, "SCN113", "not a usable number"),
        ("1e999 kg", d.MASS, "SCN113", "not a usable number"),
        ("012 kg", d.MASS, "SCN114", "write 12"),
        ("12_000 g", d.MASS, "SCN113", "underscore"),
        ("14", d.LENGTH, "SCN110", "one of m, cm, mm, in, ft"),
        ("5 N·m", d.MASS, "SCN111", "expected a mass, got a torque"),
        ("3 kg", d.LENGTH, "SCN111", "expected a length, got a mass"),
        ("12 V", d.CURRENT, "SCN111", "expected a current, got a voltage"),
        ("3 J", d.TORQUE, "SCN111", "got an energy"),
        ("2 lbf", d.MASS, "SCN111", "not its weight"),
        ("5 M", d.LENGTH, "SCN112", "unknown unit 'M'"),
        ("10 mils", d.LENGTH, "SCN112", "unknown unit"),
        ("1/0 kg", d.MASS, "SCN113", "divides by zero"),
        ("5**9**9 m", d.LENGTH, "SCN112", "unknown unit"),
        ("1.2.3 kg", d.MASS, "SCN113", "not one number"),
    ],
)
def test_what_has_two_meanings_or_none_is_refused_with_the_line_to_write(text, dimension, code, words):
    with pytest.raises(Misreading) as caught:
        read_quantity(text, dimension)
    assert caught.value.code == code
    assert words in f"{caught.value.text} {caught.value.hint}"


def test_a_hyphen_between_units_is_never_a_minus():
    assert read_quantity("2-7/8 in", d.LENGTH).value > 0
    assert parse("oz-in").vector == parse("oz*in").vector


def answers(text, dimension):
    """True where a text gives a finite number, or a misreading that says something."""
    try:
        return math.isfinite(read_quantity(text, dimension).value)
    except Misreading as fault:
        return fault.code.startswith("SCN1") and bool(fault.text)


@given(st.text(max_size=40), st.sampled_from(d.ALL))
def test_any_text_gives_a_finite_number_or_a_misreading(text, dimension):
    assert answers(text, dimension)


PIECES = [
    "1", "12", ".5", "1/2", "0", "-", "+", " ", "e", "E9", ",", ".", "/", "*", "^", "2", "(", ")", "N", "m", "kg", "in",
    "rpm", "V",
    "°", "²", "x", "%", "'", '"', "#", "nan", "~", ":", "to", "M", "Ω", "½",
]  # fmt: skip


@given(st.lists(st.sampled_from(PIECES), max_size=10).map("".join), st.sampled_from(d.ALL))
def test_any_heap_of_pieces_gives_a_finite_number_or_a_misreading(text, dimension):
    assert answers(text, dimension)


@given(st.floats(1e-6, 1e6), st.sampled_from([(k, u) for k in d.ALL for u in k.offers]))
def test_the_echo_of_a_value_reads_back_as_that_value(number, kind_and_unit):
    dimension, unit = kind_and_unit
    value = read_quantity(f"{number:.9f} {unit}", dimension).value
    again = read_quantity(d.understood(value, dimension).split(" (")[0], dimension).value
    assert again == pytest.approx(value, rel=1e-5, abs=1e-3 if dimension is d.TEMPERATURE else 0.0)
