"""What is wrong with a scenario: where, what, and what to write instead; all of it told at once."""

import re
from dataclasses import dataclass

#: Every code a scenario can be answered with. SCN13x are warnings: the run goes on.
CODES = {
    "SCN101": "the file cannot be read",
    "SCN102": "unknown key",
    "SCN103": "a key is missing",
    "SCN104": "the same key twice",
    "SCN105": "not YAML",
    "SCN106": "a feature of YAML that scenarios do without",
    "SCN107": "a variant that leads nowhere",
    "SCN108": "empty value",
    "SCN109": "a section where one value belongs, or the other way round",
    "SCN110": "a number without its unit",
    "SCN111": "a unit of the wrong kind",
    "SCN112": "unknown unit",
    "SCN113": "not a number",
    "SCN114": "more than one meaning",
    "SCN115": "not one of the words known here",
    "SCN120": "out of range",
    "SCN121": "entries that disagree",
    "SCN122": "two ways of saying one thing, or none",
    "SCN130": "a value far from the usual",
    "SCN131": "figures of a motor that contradict each other",
    "SCN132": "motor and supply of different voltage",
    "SCN133": "a point beyond the arm's tip",
}

_SHOWN = 100  # longest piece of a source line worth printing
_UNPRINTABLE = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")


def printable(text: str) -> str:
    """The text without characters that would steer a terminal."""
    return _UNPRINTABLE.sub(" ", text)


def shortened(text: str, length: int = 40) -> str:
    """The text as it can be quoted inside a sentence."""
    plain = printable(text)
    return plain if len(plain) <= length else plain[: length - 3] + "..."


def quoted(text: str) -> str:
    """The text as it can stand in a sentence, in quotes that it does not hold itself."""
    mark = '"' if "'" in text else "'"
    return f"{mark}{shortened(text)}{mark}"


class Misreading(Exception):
    """A text that is not what its key wants: code, what is wrong, what to write."""

    def __init__(self, code: str, text: str, hint: str = "") -> None:
        super().__init__(text)
        self.code = code
        self.text = text
        self.hint = hint


@dataclass(frozen=True, kw_only=True)
class Place:
    """A point in a file; lines and columns count from 1, line 0 is the file as a whole."""

    file: str
    line: int = 0
    column: int = 0


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One fault, or one warning, with its place."""

    file: str
    line: int
    column: int
    code: str
    key: str  #: dotted, lists as [0]
    text: str
    hint: str = ""
    severity: str = "error"  #: error or warning
    source_line: str = ""
    width: int = 1  #: characters to underline

    def __str__(self) -> str:
        where = self.file if self.line == 0 else f"{self.file}:{self.line}:{self.column}"
        subject = f" {self.key}" if self.key else ""
        lines = [f"{where}: {self.code}{subject}: {self.text}"]
        if self.line and self.source_line.strip():
            lines += self._excerpt()
        if self.hint:
            lines.append(f"      hint: {self.hint}")
        return "\n".join(lines)

    def _excerpt(self) -> list[str]:
        start = max(0, self.column - 1 - _SHOWN // 2) if len(self.source_line) > _SHOWN else 0
        piece = printable(self.source_line[start : start + _SHOWN]).rstrip()
        indent = self.column - 1 - start
        carets = "^" * max(1, min(self.width, len(piece) - indent))
        head = f"{self.line:>5} | "
        return [head + piece, " " * (len(head) + indent) + carets]


class ScenarioError(Exception):
    """A scenario that cannot be run. Carries every problem found; its text is ready to print."""

    exit_status = 2

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        self.file = file
        self.problems = problems
        super().__init__(file, problems)

    def __str__(self) -> str:
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        return "\n\n".join([f"{self.file}: {count}, nothing was run", *map(str, self.problems)])
