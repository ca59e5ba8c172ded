"""A report as one page: nothing to fetch, nothing lost, nothing that some readers cannot reach."""

import re
from base64 import b64decode
from html import unescape
from importlib.resources import files
from pathlib import Path

import pytest

from armsim.report.html import page
from tests.report import sample
from tests.report.audit import LEAST, Tree, contrast, contrasts, faults
from tests.report.test_markdown import written

REPORTS = sorted((Path(__file__).parents[2] / "reports").glob("*/report.md"))
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 3"><title>t</title></svg>'


class Everywhere(dict):
    """The same drawing whatever is asked for."""

    def __missing__(self, name):
        return SVG


def made(markdown, **figures):
    return page(markdown, "Title", {f"{name}.png": content for name, content in figures.items()})


def body_of(text):
    return re.search(r"<main[^>]*>\n(.*)</main>", text, re.S)[1]


@pytest.mark.parametrize("file", REPORTS, ids=lambda path: path.parent.name)
def test_every_sample_report_makes_a_page_without_faults(file):
    drawn = {f"{path.stem}.png": path.read_text(encoding="utf-8") for path in file.parent.glob("*.svg")}
    text = page(file.read_text(encoding="utf-8"), "Report", drawn)
    assert faults(text) == []
    assert len(text) < 3e6
    assert len(Tree(text).root.all("img")) == len(drawn)


@pytest.mark.parametrize("case", ["lifting", "checked"])
def test_every_heading_and_every_word_of_the_report_is_on_the_page(case):
    markdown = written(getattr(sample, case))
    root = Tree(page(markdown, "Report", Everywhere())).root
    assert faults(page(markdown, "Report", Everywhere())) == []
    told = re.findall(r"^#+ (.+)$", markdown, re.M)
    assert [re.sub(r"\\", "", h) for h in told] == [e.text() for e in root.all("h1", "h2", "h3")]
    shown = set(re.findall(r"\w+", root.all("body")[0].text()))
    alternatives = set(re.findall(r"\w+", " ".join(e.attrs["alt"] for e in root.all("img"))))
    # links, entities and image files are marks, not words
    plain = re.sub(r"\]\([^)]*\)", "]", markdown)
    assert set(re.findall(r"\w+", plain.replace("\\", ""))) <= shown | alternatives


def test_the_contents_list_every_section_and_lead_there():
    root = Tree(made("# A\n\n## One & two\n\ntext\n\n### Below\n\n## One & two\n\n## Ω, 3.5 N·m?\n")).root
    (nav,) = root.all("nav")
    assert [(a.attrs["href"], a.text()) for a in nav.all("a")] == [
        ("#one--two", "One & two"),
        ("#one--two-1", "One & two"),
        ("#ω-35-nm", "Ω, 3.5 N·m?"),
    ]
    assert [e.attrs["id"] for e in root.all("h2")] == ["one--two", "one--two-1", "ω-35-nm"]


@pytest.mark.parametrize(
    "typed",
    [
        "<script>alert(1)</script>",
        '<img src="http://example.com/x.png" onerror="x">',
        "[press](javascript:alert(1))",
        "&lt;b&gt; &amp; \" '",
    ],
)
def test_what_people_write_cannot_become_markup(typed):
    text = page(
        f"# {typed}\n\n{typed}\n\n## Next\n\n| a | b | c |\n| --- | --- | --- |\n| {typed} |  |  |\n", typed, {}
    )
    assert faults(text) == []
    assert Tree(text).root.all("title")[0].text() == typed


def test_a_policy_forbids_all_but_what_is_inside():
    assert (
        'http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; img-src data:; style-src 'unsafe-inline'\"" in made("# A\n")
    )


def test_figures_are_inside_as_they_were_drawn():
    markdown = "# A\n\n## B\n\n![A curve that rises to 3 N·m.](one.png)\n\n![Points, 12 of them in all.](two.png)\n"
    one, two = Tree(made(markdown, one=SVG, two=b"\x89PNG\x00")).root.all("img")
    assert one.attrs["alt"] == "A curve that rises to 3 N·m."
    kind, _, content = one.attrs["src"].partition(";base64,")
    assert (kind, b64decode(content).decode()) == ("data:image/svg+xml", SVG)
    kind, _, content = two.attrs["src"].partition(";base64,")
    assert (kind, b64decode(content)) == ("data:image/png", b"\x89PNG\x00")


def test_an_image_among_words_or_in_a_table_is_inside_too():
    markdown = "# A\n\n## B\n\nHere ![one arm, small, at rest](f.png) and there.\n\n"
    text = made(markdown + "| a | b |\n| --- | --- |\n| ![another arm, in motion](f.png) | 1 |\n", f=SVG)
    assert faults(text) == []
    assert text.count("data:image/svg+xml;base64,") == 2


def test_a_figure_that_is_not_given_is_a_fault_of_the_caller():
    with pytest.raises(KeyError, match="lost"):
        made("# A\n\n![A curve that rises to 3 N·m.](lost.png)\n")


def test_a_table_of_names_and_values_is_headed_by_its_rows():
    (table,) = Tree(made("# A\n\n## B\n\n|  | value |\n| --- | --- |\n| lift time | 2 s |\n")).root.all("table")
    assert [(e.text(), e.attrs["scope"]) for e in table.all("th")] == [("value", "col"), ("lift time", "row")]
    assert [e.text() for e in table.all("td")] == ["", "2 s"]


def test_a_table_without_any_heads_has_rows_with_them_and_no_empty_bar():
    (table,) = Tree(made("# A\n\n## B\n\n|  |  |\n| --- | --- |\n| system | none |\n")).root.all("table")
    assert [(e.tag, e.text()) for e in table.all("td", "th")] == [("th", "system"), ("td", "none")]
    assert table.all("thead") == []


def test_numbers_stand_right_and_verdicts_are_words_before_they_are_colours():
    markdown = "# A\n\n## B\n\n| v | n | m |\n| --- | ---: | --- |\n| PASS | 2.5 N·m | x |\n| FAIL | 3 | passes |\n"
    cells = Tree(made(markdown)).root.all("td")
    assert [(e.text(), e.attrs.get("class")) for e in cells] == [
        ("PASS", "pass"),
        ("2.5 N·m", "number kept"),
        ("x", None),
        ("FAIL", "fail"),
        ("3", "number"),
        ("passes", None),
    ]
    assert "style=" not in body_of(made(markdown))


def test_keys_may_be_broken_without_a_letter_more():
    text = body_of(made("# A\n\n## B\n\nsee `motor.rotor_inertia` and `a < b`\n"))
    assert "<code>motor.<wbr>rotor_<wbr>inertia</code> and <code>a &lt; b</code>" in text
    assert unescape(re.sub(r"<[^>]+>", "", text)).split("\n") == ["B", "see motor.rotor_inertia and a < b", ""]


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("lifts in 2.5 s, at -35 deg/s (0.8 N·m)", ["2.5 s,", "-35 deg/s", "0.8 N·m)"]),
        ("gears 14-70, stage 2 & a < 3 %", ["14-70", "3 %"]),
        ("5.1e-12 A of 10 or 12 kg·m²", ["5.1e-12 A", "10 or", "12 kg·m²"]),
        ("160:1, stage1 x, thermal-auto-reset, 3 requirements", []),
    ],
)
def test_nothing_comes_between_a_number_and_its_unit(typed, kept):
    for markdown in (f"# A\n\n{typed}\n", f"# A\n\n| a | b | c |\n| --- | --- | --- |\n| {typed} | 1 | |\n"):
        root = Tree(made(markdown)).root
        assert [e.text() for e in root.all("span")] == kept
        assert typed in root.text()  # to be found and copied as it was
    assert re.search(r"\.kept \{ white-space: nowrap; \}", made("# A\n"))


def test_a_column_of_long_keys_has_room_for_them():
    key = "supply.battery.state_of_charge"
    cells = Tree(made(f"# A\n\n## B\n\n| k | a | b |\n| --- | --- | --- |\n| `{key}` | `x` | y |\n")).root.all("td")
    assert [e.attrs.get("class") for e in cells] == ["key", None, None]


def test_the_same_report_gives_the_same_page():
    markdown = written(sample.checked)
    assert page(markdown, "T", Everywhere()) == page(markdown, "T", Everywhere())


def test_contrast_of_known_pairs():
    # the extremes, and two greys of the standard's own examples
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_all_text_stands_out_from_what_it_may_stand_on():
    style = files("armsim.report").joinpath("page.css").read_text(encoding="utf-8")
    found = contrasts(style)
    assert {ground for _, ground in found} >= {"#ffffff", "#eceff2", "#c9ced3", "#0b3d70"}
    assert len({ink for ink, _ in found}) >= 6
    assert {pair: value for pair, value in found.items() if value < LEAST} == {}


def test_every_colour_of_the_style_is_one_that_contrast_is_computed_of():
    style = files("armsim.report").joinpath("page.css").read_text(encoding="utf-8")
    assert all(re.fullmatch(r"#[0-9a-f]{6}|inherit", value) for value in re.findall(r"[^-\w]color: ([^;]+);", style))
    assert all(re.fullmatch(r"#[0-9a-f]{6}", value) for value in re.findall(r"background: ([^;]+);", style))


GOOD = made(
    "# A\n\n## B\n\n"
    "| a | b | c |\n| --- | --- | --- |\n| 1 | 2 | 3 |\n\n![A curve that rises to 3 N·m.](f.png)\n\n## C\n",
    f=SVG,
)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('lang="en"', "", "language"),
        ("<title>Title</title>", "<title></title>", "no title"),
        ('<th scope="col">a', "<th>a", "'a' does not say"),
        ('<th scope="col">a', '<th scope="row">a', "'a' does not say"),
        ('<th scope="col">a</th>', '<th scope="col"></th>', "empty table head"),
        ("<td>2</td>\n", "", "differ in length"),
        ("A curve that rises to 3 N·m.", "", "without a sentence"),
        ('<h2 id="b">B</h2>', '<h3 id="b">B</h3>', "leaves out"),
        ('<h2 id="b">B</h2>', '<h1 id="b">B</h1>', "not one first-level"),
        ('id="c"', 'id="b"', "stands twice"),
        ('id="c"', 'id="d"', "leads nowhere"),
        ('href="#c">C', 'href="#c">', "does not say where"),
        ('href="#main-content"', 'href="#b"', "does not skip"),
        ("</main>", "</div>", "closes"),
        ("</main>", '<script src="data:x"></script></main>', "scripts"),
        ("</main>", '<img alt="A picture from elsewhere." src="http://example.com/x.png"></main>', "loads http"),
        ("</style>", "p { background: url(x.png) }</style>", "style sheet loads"),
        ("default-src 'none'", "default-src *", "no policy"),
        ('tabindex="0">\n<table', ">\n<table", "keys cannot reach"),
        ('tabindex="0">\n<img', ">\n<img", "keys cannot reach"),
    ],
    ids=lambda text: re.sub(r"\W+", "-", text),
)
def test_the_audit_finds_each_fault(old, new, fault):
    assert faults(GOOD) == []
    assert old in GOOD
    assert any(fault in found for found in faults(GOOD.replace(old, new)))
