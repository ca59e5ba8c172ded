"""YAML text to a tree in which every value keeps the text that was typed and its place.

Nothing is converted here, so 20:1 stays 20:1 and `off` stays off. Aliases, tags and merge keys are refused: a
scenario needs none of them, and they hide what a file says.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from armsim.scenario.problems import Misreading, Place, Problem, ScenarioError, quoted, shortened

LARGEST = 1_000_000  #: bytes of one file
DEEPEST = 20  #: levels of nesting

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_LINE_END = re.compile("\r\n|[\n\r\x85\u2028\u2029]")


@dataclass(frozen=True, kw_only=True)
class Leaf:
    """One value as typed."""

    text: str
    place: Place
    quoted: bool = False
    key: str = ""  #: dotted path, set once the files are merged

    @property
    def empty(self) -> bool:
        """Left empty, or one of YAML's ways of saying nothing."""
        return not self.text.strip() or (not self.quoted and self.text in ("~", "null", "Null", "NULL"))


@dataclass(frozen=True, kw_only=True)
class Listing:
    """A list."""

    items: tuple["Tree", ...]
    place: Place


@dataclass(frozen=True, kw_only=True)
class Section:
    """Keys and what they hold, with the place of each key."""

    entries: dict[str, "Tree"]
    keys: dict[str, Place]
    place: Place


Tree = Leaf | Listing | Section


@dataclass
class Sources:
    """The lines of every file read, to quote them."""

    lines: dict[str, list[str]] = field(default_factory=dict)

    def add(self, file: str, text: str) -> None:
        """Keep the lines of a file."""
        self.lines[file] = _LINE_END.split(text)

    def line(self, place: Place) -> str:
        """The line a place points at; empty if there is none."""
        lines = self.lines.get(place.file, [])
        return lines[place.line - 1] if 0 < place.line <= len(lines) else ""

    def problem(self, place: Place, key: str, fault: Misreading, *, width: int = 1, severity: str = "error") -> Problem:
        """A fault at a place, with the line quoted."""
        return Problem(
            file=place.file, line=place.line, column=place.column, code=fault.code, key=key, text=fault.text,
            hint=fault.hint, severity=severity, source_line=self.line(place), width=width,
        )  # fmt: skip


def decode(data: bytes, file: str) -> str:
    """The text of a file's bytes; ScenarioError for what cannot be a scenario."""
    if len(data) > LARGEST:
        raise unreadable(
            file, f"is larger than {LARGEST // 1000} kB", "a scenario is a page of text; is this the right file?"
        )
    if b"\x00" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise unreadable(file, "is not a text file", "a scenario is a YAML text file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise unreadable(file, f"is not UTF-8 text (line {line})", "save it as UTF-8 in the editor") from None


def unreadable(file: str, what: str, hint: str = "") -> ScenarioError:
    """A file that gives no tree at all."""
    return ScenarioError(file, (Problem(file=file, line=0, column=0, code="SCN101", key="", text=what, hint=hint),))


def parse(text: str, file: str, sources: Sources) -> Section:
    """The tree of a scenario's text; ScenarioError with the place of the fault."""
    sources.add(file, text)
    plain = text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2007", " ")
    reader = _Reader(file, sources)
    try:
        tree = reader.document(yaml.parse(plain, Loader=_LOADER))
    except yaml.YAMLError as error:
        raise ScenarioError(file, (*reader.problems, _syntax_problem(error, file, sources))) from None
    except Misreading as refusal:
        raise ScenarioError(file, (*reader.problems, sources.problem(reader.at, "", refusal))) from None
    if reader.problems:
        raise ScenarioError(file, tuple(reader.problems))
    if tree is None or (isinstance(tree, Leaf) and tree.empty):
        raise unreadable(file, "is empty", "`armsim new FILE` writes one to start from")
    if not isinstance(tree, Section):
        fault = Misreading(
            "SCN109", "a scenario is made of lines such as `title: ...`", "`armsim new FILE` writes one to start from"
        )
        raise ScenarioError(file, (sources.problem(tree.place, "", fault),))
    return tree


class _Reader:
    """Builds the tree from the parser's events, refusing on the way what scenarios do without."""

    def __init__(self, file: str, sources: Sources) -> None:
        self.file = file
        self.sources = sources
        self.problems: list[Problem] = []
        self.at = Place(file=file)

    def document(self, events: Iterator[yaml.Event]) -> Tree | None:
        tree: Tree | None = None
        documents = 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                self.move(event)
                if documents > 1:
                    raise Misreading(
                        "SCN106", "a second document starts here", "one scenario a file: take out the `---`"
                    )
            elif isinstance(event, yaml.NodeEvent):
                tree = self.node(event, events, 0)
        return tree

    def move(self, event: yaml.Event) -> Place:
        mark = event.start_mark
        assert mark is not None  # the parser marks every event of a text
        self.at = Place(file=self.file, line=mark.line + 1, column=mark.column + 1)
        return self.at

    def node(self, event: yaml.Event, events: Iterator[yaml.Event], depth: int) -> Tree:
        place = self.move(event)
        if depth > DEEPEST:
            raise Misreading("SCN106", f"more than {DEEPEST} levels of nesting")
        if isinstance(event, yaml.AliasEvent):
            raise Misreading(
                "SCN106",
                f"an alias, '*{shortened(event.anchor or '')}'",
                "write the values out, or use variant_of; put text that starts with * in quotes",
            )
        assert isinstance(event, yaml.NodeEvent)
        if event.anchor is not None:
            raise Misreading(
                "SCN106",
                f"an anchor, '&{shortened(event.anchor or '')}'",
                "leave it out; put text that starts with & in quotes",
            )
        if getattr(event, "tag", None) not in (None, "!"):
            raise Misreading(
                "SCN106", "a tag, starting with '!'", "leave it out; put text that starts with ! in quotes"
            )
        if isinstance(event, yaml.ScalarEvent):
            return Leaf(text=event.value, place=place, quoted=event.style not in (None, ""))
        if isinstance(event, yaml.SequenceStartEvent):
            return self.listing(events, place, depth)
        return self.section(events, place, depth)

    def listing(self, events: Iterator[yaml.Event], place: Place, depth: int) -> Listing:
        items = []
        for event in events:
            if isinstance(event, yaml.SequenceEndEvent):
                break
            items.append(self.node(event, events, depth + 1))
        return Listing(items=tuple(items), place=place)

    def section(self, events: Iterator[yaml.Event], place: Place, depth: int) -> Section:
        entries: dict[str, Tree] = {}
        keys: dict[str, Place] = {}
        for event in events:
            if isinstance(event, yaml.MappingEndEvent):
                break
            key = self.node(event, events, depth + 1)
            value = self.node(next(events), events, depth + 1)
            if not isinstance(key, Leaf):
                self.at = key.place
                raise Misreading("SCN106", "a key that is not plain text")
            self.refuse_key(key, keys)
            if key.text not in keys:
                entries[key.text], keys[key.text] = value, key.place
        return Section(entries=entries, keys=keys, place=place)

    def refuse_key(self, key: Leaf, keys: dict[str, Place]) -> None:
        if key.text == "<<":
            self.at = key.place
            raise Misreading("SCN106", "a merge key, '<<'", "write the values out, or use variant_of")
        if key.text in keys:
            first = keys[key.text]
            fault = Misreading(
                "SCN104",
                f"given twice, on lines {first.line} and {key.place.line}",
                "keep one of them; only the last would count",
            )
            self.problems.append(self.sources.problem(key.place, shortened(key.text), fault, width=len(key.text)))


def _syntax_problem(error: yaml.YAMLError, file: str, sources: Sources) -> Problem:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is None:
        return Problem(
            file=file,
            line=0,
            column=0,
            code="SCN101",
            key="",
            text="holds characters that no text has",
            hint="a scenario is a YAML text file",
        )
    if "quoted scalar" in str(getattr(error, "context", "")):
        mark = getattr(error, "context_mark", None) or mark  # where the quote was opened
    place = Place(file=file, line=mark.line + 1, column=mark.column + 1)
    return sources.problem(place, "", _syntax_fault(error, sources.line(place), place))


def _syntax_fault(error: yaml.YAMLError, line: str, place: Place) -> Misreading:
    said = str(getattr(error, "problem", "") or "")
    if re.match(r" *\t", line):
        return Misreading(
            "SCN105", f"line {place.line} starts with a tab; YAML wants spaces", "indent with two spaces a level"
        )
    if "mapping values" in said:
        return Misreading(
            "SCN105",
            "a second colon on the line, or an indent that does not fit",
            "text with ': ' in it goes in quotes; keys of one section line up",
        )
    if "cannot start any token" in said:
        return Misreading(
            "SCN105", f"a value cannot start with {quoted(line[place.column - 1 : place.column])}", "put it in quotes"
        )
    if "',' or" in said:
        return Misreading("SCN105", "a comma is missing before this, or a bracket is never closed")
    if "<block end>" in said or "expected key" in said or "block" in said or "simple key" in said:
        return Misreading(
            "SCN105",
            "this line fits neither the list nor the section it stands in",
            "keys of one section line up, each with a colon and a space after it",
        )
    if "quoted scalar" in str(getattr(error, "context", "")):
        return Misreading("SCN105", "a quote that is opened and never closed")
    return Misreading(
        "SCN105",
        f"not YAML: {shortened(said, 80) or 'cannot be read'}",
        "check colons, brackets and quotes on this line and the one before",
    )
