"""What keeps a page from being read by everybody, everywhere: found in its text alone, as sentences."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from itertools import pairwise

VOID = {"meta", "img", "br", "wbr", "hr", "link", "input"}
LOADING = {"src", "srcset", "href", "data", "poster", "action", "background"}
LEAST = 4.5  #: contrast of text, WCAG 2.2, 1.4.3; none is taken as large


@dataclass
class Element:
    """A tag with what is in it."""

    tag: str
    attrs: dict[str, str]
    parent: "Element | None" = None
    children: list["Element | str"] = field(default_factory=list)

    def text(self) -> str:
        return "".join(c if isinstance(c, str) else c.text() for c in self.children)

    def all(self, *tags: str) -> list["Element"]:
        found = []
        for child in self.children:
            if isinstance(child, Element):
                found += [child] * (not tags or child.tag in tags) + child.all(*tags)
        return found


class Tree(HTMLParser):
    """The page as elements; a tag that is never closed, or closed by another, is a fault."""

    def __init__(self, page: str):
        super().__init__(convert_charrefs=True)
        self.root = self.here = Element("", {})
        self.faults: list[str] = []
        self.feed(page)
        self.close()
        if self.here is not self.root:
            self.faults.append(f"<{self.here.tag}> is not closed")

    def handle_starttag(self, tag, attrs):
        if len({name for name, _ in attrs}) < len(attrs):
            self.faults.append(f"<{tag}> has an attribute twice")
        element = Element(tag, {name: value or "" for name, value in attrs}, self.here)
        self.here.children.append(element)
        if tag not in VOID:
            self.here = element

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        if self.here.tag != tag:
            self.faults.append(f"</{tag}> closes <{self.here.tag}>")
        if self.here.parent is not None:
            self.here = self.here.parent

    def handle_data(self, data):
        self.here.children.append(data)


def faults(page: str) -> list[str]:
    """Everything wrong with a page."""
    tree = Tree(page)
    checks = (_frame, _headings, _tables, _pictures, _names, _fetches, _scrollers)
    return [*tree.faults, *(fault for check in checks for fault in check(tree.root))]


def _frame(root: Element) -> Iterator[str]:
    if [e.attrs.get("lang") for e in root.all("html")] != ["en"]:
        yield "the page does not say its language"
    if not "".join(e.text() for e in root.all("title")).strip():
        yield "no title"
    if len(root.all("main")) != 1:
        yield "not one main part"
    links = root.all("a")
    mains = [e.attrs.get("id") for e in root.all("main")]
    if not links or links[0].attrs.get("href", "").removeprefix("#") not in mains:
        yield "the first link does not skip to the main part"
    if len(root.all("h2")) > 1 and not root.all("nav"):
        yield "no contents"
    if root.all("script", "iframe", "object", "embed", "link", "base"):
        yield "scripts or other pages in it"


def _headings(root: Element) -> Iterator[str]:
    levels = [int(e.tag[1]) for e in root.all("h1", "h2", "h3", "h4", "h5", "h6")]
    if levels.count(1) != 1 or levels[:1] != [1]:
        yield "not one first-level heading, first"
    if any(b > a + 1 for a, b in pairwise(levels)):
        yield "a heading leaves out a level"
    if any(not e.text().strip() for e in root.all("h1", "h2", "h3", "h4", "h5", "h6")):
        yield "an empty heading"


def _tables(root: Element) -> Iterator[str]:
    for table in root.all("table"):
        heads = table.all("th")
        if not heads:
            yield "a table without heads"
        for head in heads:
            row = head.parent
            of_columns = row is not None and row.parent is not None and row.parent.tag == "thead"
            if head.attrs.get("scope") != ("col" if of_columns else "row"):
                yield f"the head {head.text()!r} does not say what it heads"
            if not head.text().strip():
                yield "an empty table head"
        if len({len([*row.all("td", "th")]) for row in table.all("tr")}) > 1:
            yield "rows of a table differ in length"


def _pictures(root: Element) -> Iterator[str]:
    for image in root.all("img"):
        if len(image.attrs.get("alt", "").strip()) < 20:
            yield "a picture without a sentence in its place"
    for drawing in root.all("svg"):
        if drawing.attrs.get("role") != "img" or not drawing.all("title"):
            yield "a drawing without role and title"


def _names(root: Element) -> Iterator[str]:
    ids = [e.attrs["id"] for e in root.all() if "id" in e.attrs]
    yield from (f"the id {name} stands twice" for name in {n for n in ids if ids.count(n) > 1})
    for element in root.all():
        for key in ("aria-labelledby", "aria-describedby"):
            if key in element.attrs and element.attrs[key] not in ids:
                yield f"nothing has the id {element.attrs[key]}"
    for link in root.all("a"):
        target = link.attrs.get("href", "")
        if target.startswith("#") and target[1:] not in ids:
            yield f"the link to {target} leads nowhere"
        if link.text().strip().lower() in ("", "here", "link", "more", "this"):
            yield "a link that does not say where it leads"


def _fetches(root: Element) -> Iterator[str]:
    for element in root.all():
        for key in LOADING & element.attrs.keys() if element.tag != "a" else ():
            if not element.attrs[key].startswith("data:"):
                yield f"<{element.tag}> loads {element.attrs[key]}"
        if "style" in element.attrs and "url(" in element.attrs["style"]:
            yield "a style that loads"
        if any(key.startswith("on") for key in element.attrs):
            yield "a script in an attribute"
    if any(re.search(r"@import|url\(", e.text()) for e in root.all("style")):
        yield "the style sheet loads"
    policies = [e.attrs["content"] for e in root.all("meta") if "http-equiv" in e.attrs]
    if not any("default-src 'none'" in policy for policy in policies):
        yield "no policy that keeps it from loading"


def _scrollers(root: Element) -> Iterator[str]:
    boxes = [e for e in root.all("div") if "wide" in e.attrs.get("class", "").split()] + root.all("figure")
    for box in boxes:
        if box.attrs.get("tabindex") != "0" or not box.attrs.get("aria-label") or "role" not in box.attrs:
            yield "a box to be scrolled that keys cannot reach"


def rules(style: str) -> Iterator[tuple[str, dict[str, str]]]:
    """Selectors of a style sheet with their declarations, those inside @media too."""
    style = re.sub(r"/\*.*?\*/", "", style, flags=re.S)
    for selector, body in re.findall(r"([^{};]+)\{([^{}]*)\}", style):
        pairs = (part.partition(":") for part in body.split(";") if ":" in part)
        yield selector.strip(), {name.strip(): value.strip() for name, _, value in pairs}


def contrasts(style: str) -> dict[tuple[str, str], float]:
    """The contrast of every colour of text with every colour it may stand on.

    A rule that sets both settles its own; any other colour may stand on any ground that a rule sets by itself, and
    on what a ground shades off into.
    """
    found = [(body.get("color", ""), body.get("background", "")) for _, body in rules(style)]
    pairs = {(ink, ground) for ink, ground in found if ink[:1] == ground[:1] == "#"}
    inks = {ink for ink, ground in found if ink.startswith("#") and not ground} | {_of_page(style)["color"]}
    grounds = {ground for ink, ground in found if ground.startswith("#") and not ink} | {_of_page(style)["background"]}
    grounds |= {
        shade for _, body in rules(style) for shade in re.findall("#[0-9a-f]{6}", body.get("background-image", ""))
    }
    pairs |= {(ink, ground) for ink in inks for ground in grounds}
    return {pair: contrast(*pair) for pair in pairs}


def _of_page(style: str) -> dict[str, str]:
    return next(body for selector, body in rules(style) if selector == "html")


def contrast(one: str, other: str) -> float:
    """Of two colours (#rrggbb), 1 to 21: WCAG 2.2, definitions of relative luminance and contrast ratio."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
