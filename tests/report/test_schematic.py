"""The schematic: made for every demo and kind of train, its sentence on direction true to the senses."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex

from armsim.checks.transmission import inside_motor
from armsim.drivetrain.senses import motor_turning, turnings
from armsim.report.drawing import house_style
from armsim.report.schematic import schematic
from armsim.report.turning import motor_text
from armsim.scenario import load
from tests.drivetrain.test_layout import BACK, BARE, BEVEL, BOX, CROSSED, LINKS, PLAIN, RING, RINGS, SUN, WORM
from tests.report.audit import LEAST, contrast
from tests.scenario.texts import read

DEMOS = sorted(Path("scenarios").glob("*.yaml"))


PLACED = (
    "[{gears: {driver: 16, driven: 80, module: 1 mm}}, "
    "{worm: {starts: 1, wheel: 40, module: 2 mm, diameter: 24 mm, hand: left, placement: below}}, "
    "{bevel: {driver: 18, driven: 43, module: 2 mm, placement: opposite-side}}]"
)


LONG_BOX = BOX.replace("efficiency: 0.73", "efficiency: 0.73, name: right-angle gearbox of the tipping frame")
IDLERS = "[{gears: {driver: 12, idlers: [18, 30], driven: 55, module: 1.5 mm}}, {gears: {driver: 15, driven: 60}}]"
TRAINS = [PLAIN, RING, SUN, WORM, CROSSED, BEVEL, BOX, PLACED, RINGS, LINKS, BACK, BARE, LONG_BOX, IDLERS]
ROW = "nominal_voltage: 24 V, no_load_speed: 1500 rpm, stall_torque: 2 N*m, stall_current: 15 A, no_load_current: 1 A"
MARKED = {
    "transmission": PLAIN,
    "side_loads": "[{shaft: 1, torque: 0.4 N*m, name: rake conveyor}]",
    "more_motors": f"[{{shaft: 2, name: helper, motor: {{{ROW}}}}}, {{shaft: motor, name: twin, motor: {{{ROW}}}}}]",
}
CARRIAGE = {"arm": "", "carriage": "{mass: 6 kg}", "start": "0 mm", "moves": "[{lift: {to: 500 mm}}]"}
RACK = CARRIAGE | {
    "transmission": "[{gears: {driver: 15, driven: 60, module: 1.5 mm}}, {rack: {pinion: 19, module: 1.5 mm}}]"
}
DRUM = CARRIAGE | {
    "transmission": "[{gears: {driver: 15, driven: 60}}, {drum: {diameter: 60 mm, rope_diameter: 4 mm}}]"
}
CROWDED = {
    "transmission": "[{worm: {starts: 1, wheel: 43, module: 2 mm, diameter: 24 mm, placement: above}}, "
    "{planetary: {sun: 21, planet: 27, ring: 75, planets: 4, fixed: ring, input: sun, module: 1 mm}}, "
    "{gearbox: {reduction: 14, efficiency: 0.8, name: a long name of a gearbox of the press}}, "
    "{worm: {starts: 2, wheel: 44, module: 2 mm, diameter: 24 mm, placement: above}}]",
    "side_loads": "[{shaft: 1, torque: 0.4 N*m, name: rake conveyor}, {shaft: motor, torque: 0.1 N*m}]",
    "more_motors": f"[{{shaft: 2, name: helper of the long bar, motor: {{{ROW}}}}}]",
}
CASES = [*({"transmission": text} for text in TRAINS), MARKED, RACK, DRUM, CROWDED]


def ways(picture, name):
    """How the curved arrows of a name bend on their way to the head: +1 to the left, which is counter-clockwise."""
    (axes,) = picture.figure.axes
    found = []
    for patch in axes.patches:
        if patch.get_gid() == name:
            tail, bend, head = patch.get_path().vertices[:3]
            found.append(int(np.sign(np.linalg.det([bend - tail, head - bend]))))
    return found


def drawn(machine):
    with house_style():
        return schematic(machine)


@pytest.mark.parametrize("text", TRAINS)
def test_each_kind_of_train_is_drawn_with_its_numbers(text):
    machine = read(transmission=text).machine
    picture = drawn(machine)
    (axes,) = picture.figure.axes
    words = {item.get_text() for item in axes.texts}
    shafts = len(turnings(machine)) - inside_motor(machine)
    assert any(word.startswith("M 1") for word in words)
    assert "arm" in words
    assert {str(k) for k in range(2, shafts + 1)} <= words
    assert motor_text(motor_turning(machine)) in picture.text
    behind = turnings(machine)[inside_motor(machine) :]
    known = [turning.sense for turning in behind if turning.sense is not None]
    assert ways(picture, "shaft turns") == known
    assert len(ways(picture, "idler turns")) == {PLAIN: 1, IDLERS: 2}.get(text, 0)


def written(picture):
    """Every text with its box, and every arrow's box, as drawn. [px]"""
    renderer = FigureCanvasAgg(picture.figure).get_renderer()
    (axes,) = picture.figure.axes
    texts = [(t.get_text(), t.get_window_extent(renderer)) for t in axes.texts if t.get_text()]
    arrows = [p.get_window_extent(renderer) for p in axes.patches if str(p.get_gid()).endswith(("turns", "goes"))]
    return texts, arrows, axes.get_window_extent(renderer)


def assert_legible(picture):
    texts, arrows, panel = written(picture)
    for k, (text, box) in enumerate(texts):
        assert panel.contains(box.x0, box.y0), text
        assert panel.contains(box.x1, box.y1), text
        for other, there in texts[:k]:
            assert not box.overlaps(there), (text, other)
        for arrow in arrows:
            assert not box.overlaps(arrow), text


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["transmission"][:40])
def test_no_text_lies_on_another_on_an_arrow_or_outside(case):
    assert_legible(drawn(read(**case).machine))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["transmission"][:40])
def test_lines_and_words_are_dark_enough_for_a_print_in_greys(case):
    (axes,) = drawn(read(**case).machine).figure.axes
    colours = [t.get_color() for t in axes.texts] + [line.get_color() for line in axes.lines]
    colours += [patch.get_edgecolor() for patch in axes.patches]
    assert min(contrast(to_hex(colour), "#ffffff") for colour in colours) >= LEAST


@pytest.mark.parametrize("text", [BARE, BOX, LONG_BOX])
def test_the_name_of_a_box_lies_in_it_or_clear_of_it_and_its_shaft(text):
    picture = drawn(read(transmission=text).machine)
    renderer = FigureCanvasAgg(picture.figure).get_renderer()
    (axes,) = picture.figure.axes
    (box,) = (p.get_window_extent(renderer) for p in axes.patches if p.get_gid() == "gearbox")
    (name,) = (t.get_window_extent(renderer) for t in axes.texts if t.get_gid() == "box label")
    inside = box.x0 < name.x0 and name.x1 < box.x1 and box.y0 < name.y0 and name.y1 < box.y1
    assert inside or not box.overlaps(name)


def test_a_train_without_sizes_says_that_it_is_not_to_scale():
    picture = drawn(read(transmission=BARE).machine)
    (axes,) = picture.figure.axes
    assert "not to scale" in {t.get_text() for t in axes.texts}
    assert "not to scale" in picture.text
    assert "pitch circles" not in picture.text
    assert not [line for line in axes.lines if line.get_gid() == "scale"]


def test_the_bar_is_as_long_as_it_says():
    (axes,) = drawn(read(transmission=LINKS).machine).figure.axes
    (bar,) = (line for line in axes.lines if line.get_gid() == "scale")
    (told,) = (float(t.get_text().split()[0]) for t in axes.texts if t.get_text().endswith(" mm"))
    sprocket = max((p for p in axes.patches if p.get_gid() == "sprocket"), key=lambda p: p.radius)
    true = 12.7 / np.sin(np.pi / 44)  # over the pin centres [mm]
    assert np.ptp(bar.get_xdata()) / told == pytest.approx(2.0 * sprocket.radius / true)


def test_what_else_shafts_carry_is_marked_and_led_to():
    picture = drawn(read(**MARKED).machine)
    (axes,) = picture.figure.axes
    marks = {(t.get_gid(), t.get_text()) for t in axes.texts if str(t.get_gid()).endswith("mark")}
    assert marks == {("load mark", "rake conveyor"), ("motor mark", "M  helper"), ("motor mark", "M  twin")}
    assert "a further motor after an M" in picture.text


def test_what_is_not_told_is_dashed_and_nothing_else():
    def styles(text):
        (axes,) = drawn(read(transmission=text).machine).figure.axes
        return (
            {p.get_linestyle() for p in axes.patches if p.get_gid() in ("sprocket", "gear")},
            {line.get_linestyle() for line in axes.lines if line.get_gid() == "run"},
        )

    assert styles(LINKS) == ({"-"}, {"-"})
    assert styles(LINKS.replace(", links: 80", "")) == ({"-"}, {"--"})
    (axes,) = drawn(read(transmission=IDLERS).machine).figure.axes
    gears = [(p.get_linestyle() == "-") for p in axes.patches if p.get_gid() == "gear"]
    assert gears == [True] * 4 + [False] * 2  # the second pair has no module


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_has_one_that_can_be_read(path):
    picture = drawn(load(path).machine)
    assert picture.figure.axes
    assert_legible(picture)
