"""One self-contained page of a Markdown report: figures and style inside, nothing to fetch, no script.

The Markdown is that of our own reports: one first-level heading, then sections. Their text may quote people, so raw
HTML in it is shown and not obeyed, and a content policy keeps the page from loading anything, whatever it says.
"""

import re
from base64 import b64encode
from collections.abc import Iterator, Mapping, Sequence
from html import escape
from importlib.resources import files
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from markdown_it.token import Token

MAIN = "main-content"  #: where the skip link leads
LONG, SHORT, TINY = 60, 24, 12  #: letters of a cell: more than these are a sentence, a phrase; fewer stay on one line
LEVELS = {"PASS": "pass", "FAIL": "fail", "NOT KNOWN": "unknown", "error": "fail", "warning": "unknown"}
BREAKS = re.compile(r"(?<=[\w\]][._/-])(?=\w)|(?<=\w)(?=\[)")  #: where a key may be broken
NUMBER = r"(?<!\w)[-+]?\d\w*(?:[.:/-]\d\w*)*"
KEPT = re.compile(rf"{NUMBER} (?:[^\W\d_]|[%°])\S{{0,5}}(?!\S)|\d\w*-\d\w*")  #: number and unit; 14-70
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


class Heading(NamedTuple):
    """A heading and where it is."""

    anchor: str
    text: str


def page(markdown: str, title: str, figures: Mapping[str, bytes | str]) -> str:
    """The report as one HTML text.

    `figures` gives for every image that the Markdown links, by the link as it is written there, what to show: the text
    of an SVG or the bytes of a PNG. Raises KeyError for an image that is not among them.
    """
    from markdown_it import MarkdownIt

    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = reader.parse(markdown)
    _take_in(tokens, figures)
    headings = _anchored(tokens)
    dressed = list(_dressed(tokens))
    start = next((k for k, token in enumerate(dressed) if token.type == "heading_open" and token.tag == "h2"), 0)
    head, body = (reader.renderer.render(part, reader.options, {}) for part in (dressed[:start], dressed[start:]))
    return _frame(title, head, headings, body)


def _frame(title: str, head: str, headings: Sequence[Heading], body: str) -> str:
    style = files("armsim.report").joinpath("page.css").read_text(encoding="utf-8")
    links = "\n".join(f'<li><a href="#{h.anchor}">{escape(h.text)}</a></li>' for h in headings)
    nav = f'<nav aria-labelledby="contents">\n<p id="contents">Contents</p>\n<ul>\n{links}\n</ul>\n</nav>\n'
    before = (f"<header>\n{head}</header>\n" if head else "") + (nav if headings else "")
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        f'<a class="skip" href="#{MAIN}">Skip to the report</a>\n'
        f'{before}<main id="{MAIN}" tabindex="-1">\n{body}</main>\n</body>\n</html>\n'
    )


def _take_in(tokens: Sequence["Token"], figures: Mapping[str, bytes | str]) -> None:
    """Put every image's content in place of its link."""
    # an image of its own rather than part of the page: ids, styles and scripts of one cannot meet those of another
    for image in (child for token in tokens for child in token.children or () if child.type == "image"):
        shown = figures[str(image.attrGet("src"))]
        kind, content = ("svg+xml", shown.encode()) if isinstance(shown, str) else ("png", shown)
        image.attrSet("src", f"data:image/{kind};base64,{b64encode(content).decode('ascii')}")


def _anchored(tokens: Sequence["Token"]) -> list[Heading]:
    """Give every heading an anchor, as code hosts name them; the sections, for the contents."""
    used = {MAIN, "contents"}
    sections = []
    for opening, inline in pairwise(tokens):
        if opening.type != "heading_open":
            continue
        text = _plain(inline)
        slug = re.sub(r"[^\w\- ]", "", text.lower()).replace(" ", "-") or "section"
        anchor = next(name for k in range(len(tokens)) if (name := f"{slug}-{k}" if k else slug) not in used)
        used.add(anchor)
        opening.attrSet("id", anchor)
        if opening.tag == "h2":
            sections.append(Heading(anchor, text))
    return sections


def _plain(inline: "Token") -> str:
    """The words of a line without their marks."""
    return "".join(child.content or " " * (child.type == "softbreak") for child in inline.children or ())


def _dressed(tokens: Sequence["Token"]) -> Iterator["Token"]:
    """The same tokens with images as figures, tables that can be read, and keys that can be broken."""
    heading, tables, drawn = "", 0, 0
    k = 0
    while k < len(tokens):
        token = tokens[k]
        if token.type == "table_open":
            end = next(j for j in range(k, len(tokens)) if tokens[j].type == "table_close")
            tables += 1
            yield from _table(tokens[k : end + 1], f"{heading}, table {tables}")
            k = end + 1
        elif (image := _lone_image(tokens, k)) is not None:
            drawn += 1
            yield _raw(_figure(image, f"{heading}, figure {drawn}"))
            k += 3
        else:
            if token.type == "heading_open":
                heading, tables, drawn = _plain(tokens[k + 1]), 0, 0
            _set_breaks(token)
            yield token
            k += 1


def _raw(text: str) -> "Token":
    from markdown_it.token import Token

    return Token("html_block", "", 0, content=text)


def _lone_image(tokens: Sequence["Token"], k: int) -> "Token | None":
    """The image of a paragraph that has nothing else."""
    children = tokens[k + 1].children if tokens[k].type == "paragraph_open" else None
    return children[0] if children and len(children) == 1 and children[0].type == "image" else None


def _figure(image: "Token", name: str) -> str:
    box = f'<figure role="group" aria-label="{escape(name)}" tabindex="0">'
    return f'{box}\n<img alt="{escape(image.content)}" src="{image.attrGet("src")}">\n</figure>\n'


def _set_breaks(inline: "Token") -> None:
    """Let keys be broken at their joints, and nothing come between a number and its unit."""
    for child in inline.children or ():
        if child.type == "code_inline":
            child.type, child.content = "html_inline", f"<code>{BREAKS.sub('<wbr>', escape(child.content))}</code>"
        elif child.type == "text" and KEPT.search(child.content):
            kept = KEPT.sub(r'<span class="kept">\g<0></span>', escape(child.content, quote=False))
            child.type, child.content = "html_inline", kept


def _table(tokens: Sequence["Token"], name: str) -> Iterator["Token"]:
    """A table whose heads say what they head, in a box that it may be wider than."""
    cells = [(token, tokens[k + 1]) for k, token in enumerate(tokens) if token.type in ("th_open", "td_open")]
    width = sum(opening.type == "th_open" for opening, _ in cells)
    columns = [cells[k::width] for k in range(width)]
    heads = [_plain(column[0][1]) for column in columns]
    for column in columns:
        _dress_column(column)
    if heads[0] == "":  # the corner heads nothing; the cells under it head their rows
        _let_head_rows(tokens, width)
    box = f'<div class="wide" role="group" aria-label="{escape(name)}" tabindex="0">\n' if width > 2 else "<div>\n"
    body = next(k for k, token in enumerate(tokens) if token.type == "thead_close") + 1
    yield _raw(box)
    yield from tokens if any(heads) else (tokens[0], *tokens[body:])
    yield _raw("</div>\n")


def _dress_column(cells: Sequence[tuple["Token", "Token"]]) -> None:
    """Classes for the style, and a scope for the head."""
    longest = max(len(_plain(inline)) for _, inline in cells)
    of_keys = all([child.type for child in inline.children or ()] == ["code_inline"] for _, inline in cells[1:])
    for opening, inline in cells:
        text = _plain(inline)
        if opening.attrs.pop("style", "") == "text-align:right":
            opening.attrJoin("class", "number")
        if of_keys and longest > TINY:
            opening.attrJoin("class", "key")
        elif longest > SHORT:
            opening.attrJoin("class", "words" if longest > LONG else "phrase")
        if opening.type == "td_open" and text in LEVELS:
            opening.attrJoin("class", LEVELS[text])
        if opening.type == "td_open" and " " in text and len(text) <= TINY:
            opening.attrJoin("class", "kept")
        if opening.type == "th_open":
            opening.attrSet("scope", "col")
        _set_breaks(inline)


def _let_head_rows(tokens: Sequence["Token"], width: int) -> None:
    openings = [k for k, token in enumerate(tokens) if token.type in ("th_open", "td_open")]
    for place, k in enumerate(openings):
        head = tokens[k].type == "th_open"
        if head and not _plain(tokens[k + 1]):
            tokens[k].attrs.pop("scope")
            tokens[k].tag = tokens[k + 2].tag = "td"
        elif not head and place % width == 0:
            tokens[k].attrSet("scope", "row")
            tokens[k].tag = tokens[k + 2].tag = "th"
