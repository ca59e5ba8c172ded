"""The page as a browser shows and prints it; skipped where there is no Chromium."""

import json
import re
import shutil
import subprocess
from html import escape, unescape
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from armsim.report.html import page

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")

REPORTS = Path(__file__).parents[2] / "reports"
NAMES = sorted(path.parent.name for path in REPORTS.glob("*/report.md"))
OPTIONS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND",  # whatever it wishes to ask on its own account, nobody hears it
)


def browse(folder: Path, shown: Path, *options: str) -> str:
    """What a fresh browser prints about a page."""
    command = [str(BROWSER), *OPTIONS, f"--user-data-dir={folder / 'profile'}", *options, shown.as_uri()]
    return subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout


def sample_page(name: str) -> str:
    folder = REPORTS / name
    drawn = {f"{path.stem}.png": path.read_text(encoding="utf-8") for path in folder.glob("*.svg")}
    return page((folder / "report.md").read_text(encoding="utf-8"), name, drawn)


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    file = tmp_path_factory.mktemp("page") / "report.html"
    file.write_text(sample_page("seed-tray-lifter"), encoding="utf-8")
    return file


MEASURE = """
<script>
onload = () => {
  const of = frame => {
    const page = frame.contentDocument, root = page.documentElement;
    const all = selector => [...page.querySelectorAll(selector)];
    const boxed = element => element.closest(".wide, figure");
    return {
      name: frame.title, client: root.clientWidth, scroll: root.scrollWidth,
      pictures: all("img").map(image => [image.naturalWidth, image.clientWidth]),
      beyond: all("body *").filter(e => !boxed(e) && !e.matches(".skip")
        && e.getBoundingClientRect().right > root.clientWidth + 1).map(e => e.outerHTML.slice(0, 80)),
      cut: all(".wide").filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.getAttribute("aria-label")),
      smallest: Math.min(...all("main *").filter(e => e.innerText)
        .map(e => parseFloat(page.defaultView.getComputedStyle(e).fontSize))),
      top: page.querySelector("h1").getBoundingClientRect().top,
    };
  };
  const told = document.createElement("pre");
  told.textContent = JSON.stringify([...document.querySelectorAll("iframe")].map(of));
  document.body.replaceChildren(told);
};
</script>
"""


def measured(folder: Path, pages: dict[str, str], widths: tuple[int, ...]) -> list[dict]:
    """Each page in a frame of each width, measured by a script outside it."""
    frames = "\n".join(
        f'<iframe title="{name} {width}" width="{width}" height="900" frameborder="0" srcdoc="{escape(text)}"></iframe>'
        for name, text in pages.items()
        for width in widths
    )
    file = folder / "frames.html"
    file.write_text(f'<!DOCTYPE html><meta charset="utf-8">{MEASURE}<body>{frames}</body>', encoding="utf-8")
    told = browse(folder, file, "--dump-dom", "--window-size=1400,1000")
    return json.loads(unescape(re.search(r"<pre>(.*)</pre>", told, re.S)[1]))


def test_nothing_is_wider_than_a_phone_or_a_desk_and_every_figure_is_there(tmp_path):
    pages = {name: sample_page(name) for name in NAMES}
    found = measured(tmp_path, pages, (320, 390, 1280))
    assert len(found) == 3 * len(NAMES) > 0
    for each in found:
        name, width = each["name"].split()
        assert each["client"] == int(width)
        assert each["scroll"] <= each["client"], each["name"]
        assert each["beyond"] == [], each["name"]
        assert len(each["pictures"]) == pages[name].count("<img") > 0
        # of their own size as drawn, and as large as words in them can be read
        assert all(drawn > 300 and shown >= 340 for drawn, shown in each["pictures"]), each["name"]
        assert each["smallest"] >= 12, each["name"]
        assert 0 <= each["top"] < 100


def test_no_table_is_cut_off_on_paper(tmp_path):
    """The rules for print, in a frame as wide as A4 less its margins: 182 mm at 96 to the inch."""
    pages = {name: sample_page(name).replace("@media print", "@media all") for name in NAMES}
    for each in measured(tmp_path, pages, (688,)):
        assert each["cut"] == [], each["name"]
        assert each["beyond"] == [], each["name"]
    (narrow,) = measured(tmp_path, {NAMES[0]: pages[NAMES[0]]}, (200,))
    assert narrow["cut"] != []


def test_a_page_that_is_too_wide_would_be_noticed(tmp_path):
    wide = page("# A\n\n## B\n\n![A picture of 3 m.](a.png)\n", "A", {"a.png": b"nothing"})
    wide = wide.replace("</main>", '<p style="width: 500px">wide</p></main>')
    (found,) = measured(tmp_path, {"wide": wide}, (390,))
    assert found["scroll"] > found["client"]
    assert len(found["beyond"]) == 1
    assert found["pictures"][0][0] == 0


def addresses(log: Path) -> set[str]:
    """Every address that a page asked for; what the browser asks by itself has no page as its origin."""
    told = [event["params"] for event in json.loads(log.read_text(encoding="utf-8"))["events"] if "params" in event]
    assert len(told) > 100
    return {each["url"] for each in told if each.get("initiator", "not an origin") != "not an origin"}


@pytest.mark.parametrize("width", [390, 1280])
def test_it_is_shown_and_asks_for_nothing(report, tmp_path, width):
    picture, log = tmp_path / "shown.png", tmp_path / "net.json"
    browse(tmp_path, report, f"--screenshot={picture}", f"--window-size={width},1600", f"--log-net-log={log}")
    with Image.open(picture) as shown:
        assert shown.size == (width, 1600)
        greys = np.asarray(shown.convert("L"))
    assert 0.005 < np.mean(greys < 128) < 0.3  # ink on paper
    assert np.mean(greys > 250) > 0.6
    assert np.all(np.any(greys.reshape(8, 200, width) < 128, axis=(1, 2)))  # from top to bottom
    assert addresses(log) == set()


def test_a_page_that_asks_would_be_noticed(tmp_path):
    asks = tmp_path / "asks.html"
    sources = {"http://127.0.0.1:9/x.png", "https://example.com/y.png"}
    asks.write_text("".join(f'<img src="{source}">' for source in sorted(sources)), encoding="utf-8")
    browse(tmp_path, asks, f"--screenshot={tmp_path / 'x.png'}", f"--log-net-log={tmp_path / 'net.json'}")
    assert addresses(tmp_path / "net.json") == sources


def test_it_prints_on_a_few_sheets_of_a4(report, tmp_path):
    sheets = tmp_path / "report.pdf"
    browse(tmp_path, report, f"--print-to-pdf={sheets}", "--no-pdf-header-footer")
    told = sheets.read_bytes()
    assert 8 <= len(re.findall(rb"/Type\s*/Page\b", told)) <= 20
    sizes = {tuple(float(x) for x in box.split()) for box in re.findall(rb"/MediaBox\s*\[([^]]*)\]", told)}
    (size,) = sizes
    # 210 mm by 297 mm in points
    assert size == pytest.approx((0.0, 0.0, 595.28, 841.89), abs=1.0)
