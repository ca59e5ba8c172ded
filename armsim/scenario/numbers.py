"""The number at the head of a written quantity: decimals, fractions, decimal commas; never a guess between two."""

import re
from dataclasses import dataclass
from fractions import Fraction

from armsim.scenario.problems import Misreading, quoted, shortened

LONGEST = 120  #: characters of a quantity
LARGEST_EXPONENT = 30  #: of ten

_PLAIN_FORMS = str.maketrans(
    {
        **dict.fromkeys("\u00a0\u2007\u2009\u202f\u3000\t", " "),
        **dict.fromkeys("\u2212\u2010\u2011\u2013\u2014\u2012", "-"),
        **dict.fromkeys("\u201c\u201d\u201e\u2033", '"'),
        **dict.fromkeys("\u2018\u2019\u2032", "'"),
        "\u00ba": "\u00b0",
        "\u2044": "/",
    }
)
_FRACTION_SIGNS = {
    "\u00bd": Fraction(1, 2),
    "\u00bc": Fraction(1, 4),
    "\u00be": Fraction(3, 4),
    "\u2153": Fraction(1, 3),
    "\u2154": Fraction(2, 3),
    "\u215b": Fraction(1, 8),
    "\u215c": Fraction(3, 8),
    "\u215d": Fraction(5, 8),
    "\u215e": Fraction(7, 8),
}
_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_NUMBER = re.compile(rf"{_DECIMAL}(?:[eE]([+-]?[0-9]+))?")
_MIXED = re.compile(r"([0-9]+)(?:\s+|\s*-\s*)([0-9]+)\s*/\s*([0-9]+)(?![0-9.])")
_FRACTION = re.compile(r"([0-9]+)\s*/\s*([0-9]+)(?![0-9.])")
_SIGNED_FRACTION = re.compile(rf"([0-9]*)\s*-?\s*([{''.join(_FRACTION_SIGNS)}])")
_FEET_INCHES = re.compile(rf"([0-9]+)\s*'\s*-?\s*((?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+|{_DECIMAL})\s*\"$")
_RANGE = re.compile(
    rf"[+-]?(?>{_DECIMAL}(?:[eE][+-]?[0-9]+)?)\s*[A-Za-z\"'\u00b0%]*\s*(?:-|to\b|\.\.+|\u2026|\u00b1|\+/-)\s*[+-]?{_DECIMAL}"
)
_GUESS = re.compile(
    r"(?:[~<>\u2248\u2264\u2265]=?|about|approx\w*\.?|around|circa|ca\.?|up to|at least|at most|roughly)\s*(.*)", re.I
)
_GROUPED = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?(?![0-9,.])")
_COMMA = re.compile(r"([0-9]+),([0-9]+)(?![0-9,.])")
_POINT_GROUPED = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+")
_MORE_DIGITS = re.compile(r"[.,]?[0-9](?!\s*/\s*[A-Za-z])")  # 10 1/min is one number, 10 12 is not
_NOT_FINITE = re.compile(r"[+-]?\.?(?:nan|inf(?:inity)?)\b", re.I)


@dataclass(frozen=True, kw_only=True)
class Number:
    """A number and what stands after it."""

    value: Fraction
    rest: str  #: the unit, as typed
    typed: str  #: the number, as typed
    note: str = ""


def clean(text: str) -> str:
    """Typographic quotes, spaces and minus signs made plain, and quotes around the whole taken off."""
    plain = text.translate(_PLAIN_FORMS).strip()
    if len(plain) > 2 and plain[0] == plain[-1] and plain[0] in "\"'":
        plain = plain[1:-1].strip()
    return plain


def shown(value: float | Fraction) -> str:
    """A number as a person would type it back."""
    return f"{float(value):.6g}"


def read_number(text: str) -> Number:
    """The number at the head of a cleaned text; Misreading if there is none, or more than one meaning."""
    if len(text) > LONGEST:
        raise Misreading("SCN113", f"a text of {len(text)} characters is not a quantity")
    _refuse_guesses(text)
    feet = _FEET_INCHES.match(text)
    if feet:
        inches = read_number(feet[2]).value
        return Number(value=12 * Fraction(feet[1]) + inches, rest="in", typed=text)
    sign = re.match(r"([+-]?)\s*", text)
    assert sign is not None  # the pattern matches the empty text too
    number = _unsigned(text[sign.end() :], text)
    if _MORE_DIGITS.match(number.rest):
        raise Misreading("SCN113", f"{quoted(text)} is not one number", "give one number and its unit")
    typed = text[: len(text) - len(number.rest)].strip()
    value = -number.value if sign[1] == "-" else number.value
    return Number(value=value, rest=number.rest, typed=typed, note=number.note)


def _refuse_guesses(text: str) -> None:
    if _NOT_FINITE.match(text):
        raise Misreading("SCN113", f"{quoted(text)} is not a usable number")
    guess = _GUESS.match(text)
    if guess:
        rest = shortened(guess[1]) or "a value"
        raise Misreading("SCN114", f"{quoted(text)} is a guess or a bound", f"give one number, such as {rest}")
    time_like = re.match(r"[+-]?([0-9]+):([0-9]+)(?::([0-9]+))?", text)
    if time_like:
        raise Misreading(
            "SCN114",
            f"{quoted(text)} can be a ratio or a time of day, and is a base-60 number to some readers",
            _colon_hint(time_like[1], time_like[2]),
        )
    first = _FEET_INCHES.match(text) or _MIXED.match(text.lstrip("+-"))
    if not first and _RANGE.match(text):
        raise Misreading(
            "SCN114",
            f"{quoted(text)} is a range",
            "give one value, such as the worst case; variants (variant_of) compare others",
        )


def _colon_hint(minutes: str, seconds: str) -> str:
    if len(minutes) > 4 or len(seconds) > 2:
        return "write one number and its unit"
    total = 60 * int(minutes) + int(seconds)
    return f"a time of {minutes} min {seconds} s is written {total} s or {shown(total / 60)} min"


def _unsigned(text: str, whole: str) -> Number:
    sign = _SIGNED_FRACTION.match(text)
    if sign:
        value = Fraction(sign[1] or 0) + _FRACTION_SIGNS[sign[2]]
        return Number(value=value, rest=text[sign.end() :].strip(), typed=sign[0])
    mixed = _MIXED.match(text)
    if mixed:
        return _number(text, mixed, Fraction(mixed[1]) + _ratio(mixed[2], mixed[3], whole))
    fraction = _FRACTION.match(text)
    if fraction:
        return _number(text, fraction, _ratio(fraction[1], fraction[2], whole))
    with_comma = _with_comma(text)
    if with_comma:
        return with_comma
    plain = _NUMBER.match(text)
    if not plain:
        raise Misreading("SCN113", f"{quoted(whole)} does not start with a number")
    _refuse_odd_digits(text, plain)
    if plain[1] and abs(int(plain[1])) > LARGEST_EXPONENT:
        raise Misreading("SCN113", f"{quoted(whole)} is not a usable number")
    return _number(text, plain, Fraction(plain[0]))


def _number(text: str, match: re.Match[str], value: Fraction, note: str = "") -> Number:
    return Number(value=value, rest=text[match.end() :].strip(), typed=match[0], note=note)


def _ratio(top: str, bottom: str, whole: str) -> Fraction:
    if int(bottom) == 0:
        raise Misreading("SCN113", f"{quoted(whole)} divides by zero")
    return Fraction(int(top), int(bottom))


def _with_comma(text: str) -> Number | None:
    if _POINT_GROUPED.match(text):
        point = text.replace(".", "").replace(",", ".")
        raise Misreading("SCN114", f"{quoted(text)} mixes points and commas", f"write {shortened(point)}")
    comma = _COMMA.match(text)
    if comma and len(comma[2]) == 3 and len(comma[1]) <= 3 and not comma[1].startswith("0"):
        joined, rest = comma[1] + comma[2], shortened(text[comma.end() :].strip())
        decimal = shown(Fraction(f"{comma[1]}.{comma[2]}"))
        raise Misreading(
            "SCN114",
            f"'{comma[0]}' has two meanings, {joined} and {decimal}",
            f"write {joined} {rest}".rstrip() + f" or {decimal} {rest}".rstrip(),
        )
    grouped = _GROUPED.match(text)
    if grouped and not comma:
        plain = grouped[0].replace(",", "")
        return _number(text, grouped, Fraction(plain), f"commas between thousands, read as {plain}")
    if comma:
        point = f"{comma[1]}.{comma[2]}"
        return _number(text, comma, Fraction(point), f"decimal comma, read as {point}")
    return None


def _refuse_odd_digits(text: str, plain: re.Match[str]) -> None:
    if re.match(r"0[0-9]", plain[0]):
        better = plain[0].lstrip("0") or "0"
        raise Misreading(
            "SCN114",
            f"{quoted(plain[0])} starts with 0, which means base eight to some readers",
            f"write {better}",
        )
    if re.match(r"_[0-9]", text[plain.end() :]):
        raise Misreading("SCN113", f"{quoted(text)} has an underscore among its digits", "write the digits only")
