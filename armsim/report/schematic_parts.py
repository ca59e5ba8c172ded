"""The pieces of the schematic, each drawn on a sheet from the layout of the train."""

import math
import textwrap
from collections.abc import Iterator
from itertools import chain

import numpy as np
from matplotlib.patches import Circle, Polygon, Rectangle

from armsim.drivetrain.layout_parts import Block, Cone, Layout, Loop, Point, Wheel, bend, loose_ends, strands
from armsim.report import sheet as sheets
from armsim.report.drawing import BLACK, BLUE, GREEN, GREY, VERMILION, of_words
from armsim.report.placing import Box
from armsim.report.sheet import Array, Sheet

INK = {
    "ring": BLUE, "worm wheel": VERMILION, "planet": GREEN, "second ring": VERMILION, "second planet": VERMILION
}  # fmt: skip
HUB = 3.4  #: radius [pt]
ARCS = (10.5, 13.0, 15.5, 18.0, 8.5)  #: radii of arrows round a shaft, of which one is clear of the rims there [pt]
CLEAR = 3.0  #: of a rim [pt]
DASHED, DOTTED = (0, (4, 2)), (0, (1, 1.6))
WRAPPED = 22  #: characters of a mark's line

Hub = tuple[int, float, float, float]  #: number of a shaft, its place and the radius that is taken [pt]


def far_ends(plan: Layout) -> Iterator[Point]:
    """Ends of runs that go on beyond the wheels."""
    for loop in plan.loops:
        for _, end in loose_ends(loop):
            yield end


def draw_lines(sheet: Sheet, plan: Layout) -> None:
    """Axes between what is seen twice, and chains and belts."""
    for start, end in plan.axes:
        sheet.path((sheet.at(start), sheet.at(end)), color=GREY, linewidth=1.1, linestyle=(0, (8, 3, 2, 3)), zorder=0.8)
    for loop in plan.loops:
        style = "-" if loop.placed or loop.outside else DASHED
        for a, b in strands(loop):
            sheet.path((sheet.at(a), sheet.at(b)), color=BLACK, linewidth=1.8, linestyle=style, gid="run")
        for a, b in loose_ends(loop):
            sheet.path((sheet.at(a), sheet.at(b)), color=BLACK, linewidth=1.8, linestyle=DOTTED, gid="loose run")
        if loop.outside:
            _draw_bend(sheet, loop)


def _draw_bend(sheet: Sheet, loop: Loop) -> None:
    """The arc of a run round the wheel on its back."""
    wheel, (first, last) = loop.second, bend(loop)
    arc = [sheet.at(wheel.centre.towards(wheel.radius, angle)) for angle in np.linspace(first, last, 30)]
    sheet.path(arc, color=BLACK, linewidth=3.0, gid="bend")


def draw_wheels(sheet: Sheet, plan: Layout) -> list[Array]:
    """Pitch circles, rings with a second rim: the trace of each."""
    traces = []
    for wheel in plan.wheels:
        style = "-" if wheel.sized else DASHED
        colour = of_words(INK.get(wheel.kind, BLACK))
        traces.append(
            sheet.circle(
                wheel.centre,
                wheel.radius,
                edgecolor=colour,
                linewidth=2.6 if wheel.kind == "second ring" else 1.6,
                linestyle=style,
                gid=wheel.kind,
            )
        )
        if wheel.kind == "ring":
            x, y = sheet.at(wheel.centre)
            rim = wheel.radius * sheet.scale + 3.0
            sheet.axes.add_patch(Circle((x, y), rim, fill=False, edgecolor=colour, linewidth=1.0, linestyle=style))
    for cone in plan.cones:
        corners = [sheet.at(p) for p in cone.outline]
        style = "-" if cone.sized else DASHED
        sheet.axes.add_patch(
            Polygon(
                corners, closed=True, facecolor="white", edgecolor=BLACK, linewidth=1.6, linestyle=style, gid="bevel"
            )
        )
        sheet.note([*corners, corners[0]])
        back, apex = sheet.at(cone.back), sheet.at(cone.apex)
        sheet.path((back, apex), color=GREY, linewidth=1.1, linestyle=(0, (8, 3, 2, 3)))
    return traces


def draw_blocks(sheet: Sheet, plan: Layout) -> None:
    """Worms and bought boxes with their labels."""
    for block in plan.blocks:
        x, y = sheet.at(block.centre)
        width, height = block.width * sheet.scale, block.height * sheet.scale
        corner = (x - width / 2.0, y - height / 2.0)
        face = "white" if block.kind == "gearbox" else "none"
        body = Rectangle(corner, width, height, facecolor=face, edgecolor=BLACK, linewidth=1.6, gid=block.kind)
        sheet.axes.add_patch(body)
        ends = [(corner[0], corner[1]), (x + width / 2.0, corner[1]), (x + width / 2.0, y + height / 2.0)]
        sheet.note([*ends, (corner[0], y + height / 2.0), corner])
        if block.kind == "worm":
            _draw_worm(sheet, block, (x, y), (width, height))
        else:
            _name_box(sheet, block, (x, y), (width, height))


def _draw_worm(sheet: Sheet, block: Block, middle: tuple[float, float], size: tuple[float, float]) -> None:
    """Threads, how its front goes, and its starts."""
    (x, y), (width, height) = middle, size
    slant, count = 0.25 * height * math.copysign(1.0, block.lean), 9
    for k in range(1, count):
        at = x - width / 2.0 + width * k / count
        sheet.axes.plot((at - slant, at + slant), (y - height / 2.0, y + height / 2.0), color=BLACK, linewidth=1.0)
    if block.sense is not None:
        beside, length = x - 0.3 * width, max(1.5 * height, 30.0)
        side = block.sense * length / 2.0
        sheet.arrow((beside, y + side), (beside, y - side), gid="goes")
        sheet.keep_clear(beside, y, 6.0, length / 2.0)
    sheet.keep_clear(x, y, width / 2.0, height / 2.0)
    size = sheets.letters(block.label)
    right, out = x + width / 2.0 + 3.0 + size[0] / 2.0, height / 2.0 + 2.0 + size[1] / 2.0
    places = [sheets.box_at(*at, size) for at in ((right, y), (x, y + out), (x, y - out), (right, y + out))]
    ends = (sheets.round_a_shaft(x + side * width / 2.0, y, 0.0, size) for side in (1.0, -1.0))
    sheet.write(block.label, [*places, *chain.from_iterable(ends)])


def _name_box(sheet: Sheet, block: Block, middle: tuple[float, float], size: tuple[float, float]) -> None:
    """Inside where the name goes in, on several lines if need be; else over or under the box."""
    (x, y), (width, height) = middle, size
    for across in range(len(block.label), 5, -1):
        text = textwrap.fill(block.label, across, break_long_words=False)
        wide, high = sheets.letters(text)
        if wide <= width - 4.0 and high <= height - 4.0:
            sheet.put(text, sheets.box_at(x, y, (wide, high)), gid="box label")
            sheet.keep_clear(x, y, width / 2.0, height / 2.0)
            return
    sheet.keep_clear(x, y, width / 2.0, height / 2.0)
    text = textwrap.fill(block.label, WRAPPED)
    size = sheets.letters(text)
    outs = [side * (height / 2.0 + size[1] / 2.0 + away) for away in (3.0, 14.0, 26.0) for side in (1.0, -1.0)]
    shifts = (0.0, 30.0, 60.0, -30.0)
    box = sheet.write(text, [sheets.box_at(x + s, y + out, size) for out in outs for s in shifts], gid="box label")
    edge = y + math.copysign(height / 2.0, (box.bottom + box.top) / 2.0 - y)
    sheet.lead(box, x, edge)


def draw_load(sheet: Sheet, plan: Layout, carriage: bool) -> None:
    """The arm to the right with its payload, or the rack or rope of a carriage."""
    x, y = sheet.at(plan.shafts[-1])
    if not carriage:
        end = max([x, *(sheet.at(Point(w.centre.x + w.radius, 0.0))[0] for w in plan.wheels)]) + 82.0
        end = min(end, sheet.width - 14.0)
        sheet.path(((x, y), (end, y)), color=BLACK, linewidth=4.5, solid_capstyle="round", gid="arm", zorder=3)
        sheet.axes.plot([end], [y], marker="o", markersize=11, color=BLACK)
        sheet.keep_clear(end, y, 7.0, 7.0)
        size = sheets.letters("arm")
        near = (end - 40.0, end - 26.0, end - 54.0)
        sheet.write("arm", [sheets.box_at(a, y + side * (size[1] / 2.0 + 5.0), size) for a in near for side in (1, -1)])
        return
    across = x + plan.wheels[-1].radius * sheet.scale
    top = sheet.height - 6.0
    sheet.path(((across, 34.0), (across, top)), color=BLACK, linewidth=3.5, gid="carriage", zorder=3)
    upper = top - 24.0
    sheet.arrow((across, upper - 18.0), (across, upper + 18.0), gid="goes")
    sheet.keep_clear(across, upper, 7.0, 18.0)
    size = sheets.letters("carriage")
    aside = across + 8.0 + size[0] / 2.0
    sheet.write("carriage", [sheets.box_at(aside, upper - down, size) for down in (0.0, -10.0, 20.0, 40.0)])


def draw_shafts(sheet: Sheet, plan: Layout) -> list[Hub]:
    """Hubs, those that motors turn filled, and arrows round those whose sense is known."""
    driven = {0, *(mark.shaft for mark in plan.marks if mark.drives)}
    loaded = {mark.shaft for mark in plan.marks if not mark.drives}
    hubs = []
    for k, (shaft, sense) in enumerate(zip(plan.shafts, plan.senses, strict=True)):
        if shaft in plan.shafts[:k]:  # the travel of a carriage stands where its pinion does
            continue
        x, y = sheet.at(shaft)
        face = BLACK if k in driven else "white"
        sheet.axes.add_patch(Circle((x, y), HUB, facecolor=face, edgecolor=BLACK, linewidth=1.3, zorder=5))
        if k in loaded:
            square = Rectangle((x - 6.0, y - 6.0), 12.0, 12.0, facecolor="white", edgecolor=BLACK, linewidth=1.3)
            square.set(zorder=4.8, gid="side load")
            sheet.axes.add_patch(square)
        sheet.keep_clear(x, y, HUB + 1.0, HUB + 1.0)
        if sense is not None:
            _arrow(sheet, plan, shaft, sense, "shaft turns")
        hubs.append((k + 1, x, y, 7.0 if k in loaded else HUB))
    for wheel in plan.wheels:
        if wheel.kind == "gear" and wheel.sense is not None and wheel.centre not in plan.shafts:  # an idler
            _arrow(sheet, plan, wheel.centre, wheel.sense, "idler turns")
    return hubs


def name_shafts(sheet: Sheet, hubs: list[Hub]) -> None:
    """Numbers beside the hubs."""
    for number, x, y, taken in hubs:
        text = f"M {number}" if number == 1 else str(number)
        box = sheet.write(text, list(sheets.round_a_shaft(x, y, taken, sheets.letters(text))), weight="bold")
        sheet.lead(box, x, y)


def name_wheels(sheet: Sheet, plan: Layout, traces: list[Array]) -> None:
    """Teeth beside the wheels, of the smallest first, which have least room."""
    order = sorted(zip(plan.wheels, traces, strict=True), key=lambda pair: pair[0].radius)
    for planet in (wheel for wheel in plan.wheels if wheel.kind == "planet"):
        _name_planet(sheet, planet)
    for wheel, trace in order:
        if wheel.kind == "planet":
            continue
        if wheel.label:
            places = list(_places(sheet, plan, wheel))
            box = sheet.write(wheel.label, places, trace, color=of_words(INK.get(wheel.kind, BLACK)))
            x, y = sheet.at(wheel.centre)
            towards = math.atan2((box.bottom + box.top) / 2.0 - y, (box.left + box.right) / 2.0 - x)
            sheet.lead(box, *sheet.at(wheel.centre.towards(wheel.radius, towards)))
    for cone, mate in zip(plan.cones, _mates(plan), strict=True):
        size = sheets.letters(cone.label)
        edges = [cone.back.towards(cone.radius, cone.away + side * math.pi / 2.0) for side in (1.0, -1.0)]
        free = max(edges, key=lambda edge: math.dist(edge, mate.back))
        sheet.write(cone.label, list(sheets.round_a_shaft(*sheet.at(free), 0.0, size)))


def _mates(plan: Layout) -> Iterator[Cone]:
    """The other gear of each bevel pair."""
    for first, second in zip(plan.cones[::2], plan.cones[1::2], strict=True):
        yield from (second, first)


def _name_planet(sheet: Sheet, planet: Wheel) -> None:
    """In its middle, where it goes in; other numbers are not to be read as its own."""
    x, y = sheet.at(planet.centre)
    size, room = sheets.letters(planet.label or "0"), 0.9 * planet.radius * sheet.scale
    if planet.label:
        outside = sheets.round_a_wheel(x, y, planet.radius * sheet.scale, size)
        fits = math.hypot(*size) / 2.0 <= planet.radius * sheet.scale
        inside = [sheets.box_at(x, y, size)] if fits else []
        sheet.write(planet.label, [*inside, *outside], color=of_words(GREEN))
    sheet.keep_clear(x, y, room, room)


def _places(sheet: Sheet, plan: Layout, wheel: Wheel) -> Iterator[Box]:
    """Round the wheel; of a sun too small for its number round the ring as well, for planets fill what is between."""
    x, y = sheet.at(wheel.centre)
    size, radius = sheets.letters(wheel.label), wheel.radius * sheet.scale
    yield from sheets.round_a_wheel(x, y, radius + (3.0 if wheel.kind == "ring" else 0.0), size)
    if wheel.kind == "sun":
        ring = max(w.radius for w in plan.wheels if w.centre == wheel.centre) * sheet.scale
        yield from sheets.round_a_wheel(x, y, ring + 8.0, size)


def draw_marks(sheet: Sheet, plan: Layout) -> None:
    """What else shafts carry, in frames: a motor's thick, after an M."""
    for mark in plan.marks:
        x, y = sheet.at(plan.shafts[mark.shaft])
        text = textwrap.fill(f"M  {mark.text}" if mark.drives else mark.text, WRAPPED)
        wide, high = sheets.letters(text)
        frame = {"edgecolor": BLACK, "linewidth": 2.0 if mark.drives else 1.0, "pad": 2.5}
        places = list(sheets.far_from(x, y, (wide + 6.0, high + 6.0)))
        places = [place for place in places if sheet.is_open(place, x, y)] or places
        box = sheet.write(text, places, bbox=frame, gid="motor mark" if mark.drives else "load mark")
        sheet.lead(box, x, y, color=BLACK, linewidth=1.3)


def draw_scale(sheet: Sheet, plan: Layout) -> None:
    """A bar of a round length, where anything is to scale; else that nothing is."""
    x, y = 14.0, 14.0
    if not any(plan.sizes):
        _write_from(sheet, "not to scale", x, y)
        return
    longest = 0.22 * sheet.width / sheet.scale
    power = 10.0 ** math.floor(math.log10(longest))
    length = max(step * power for step in (1.0, 2.0, 5.0) if step * power <= longest)
    end = x + length * sheet.scale
    sheet.path(((x, y), (end, y)), color=GREY, linewidth=3.0, solid_capstyle="butt", gid="scale")
    _write_from(sheet, f"{1e3 * length:.4g} mm", end + 5.0, y)


def _write_from(sheet: Sheet, text: str, x: float, y: float) -> None:
    size = sheets.letters(text)
    sheet.put(text, sheets.box_at(x + size[0] / 2.0, y, size), color=GREY)


def _arrow(sheet: Sheet, plan: Layout, centre: Point, sense: int, name: str) -> None:
    """Over a shaft, counter-clockwise for +1, clear of the rims round it."""
    x, y = sheet.at(centre)
    rims = [w.radius * sheet.scale for w in plan.wheels if w.centre == centre]
    fitting = [r for r in ARCS if all(abs(r - rim) > CLEAR for rim in rims)]
    radius = (fitting or ARCS)[0]
    start, end = math.radians(5.0), math.radians(175.0)
    if sense < 0:
        start, end = end, start
    a, b = ((x + radius * math.cos(t), y + radius * math.sin(t)) for t in (start, end))
    sheet.arrow(a, b, bend=math.copysign(0.95, sense), gid=name)
    sheet.taken.append(Box(x - radius - 3.0, y - 1.0, x + radius + 3.0, y + radius + 2.0))
