"""The schematic of the train: pitch circles, chains and belts, shafts and which way they turn while lifting."""

import math

from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Rectangle

from armsim.drivetrain.layout import Block, Layout, Point, Wheel, laid_out, tangents
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.senses import motor_turning
from armsim.report.drawing import BLACK, BLUE, GREEN, GREY, VERMILION, of_words
from armsim.report.picture import Picture
from armsim.report.turning import motor_text

INK = {"ring": BLUE, "worm wheel": VERMILION, "planet": GREEN}
SMALL = 0.12  #: share of the figure's height below which a wheel's number stands clear of it
WIDTH, TALLEST = 8.0, 6.0  #: of the figure [in]


def schematic(machine: Machine) -> Picture:
    """The figure, with the sentence on direction."""
    from matplotlib.figure import Figure

    plan = laid_out(machine)
    low, high = _extent(plan)
    span = (high.x - low.x, high.y - low.y)
    figure = Figure(figsize=(WIDTH, min(TALLEST, max(2.6, WIDTH * span[1] / span[0]))), layout="constrained")
    axes = figure.add_subplot()
    axes.set_aspect("equal")
    axes.axis("off")
    axes.set_xlim(low.x, high.x)
    axes.set_ylim(low.y, high.y)
    for start, end in plan.axes:
        axes.plot((start.x, end.x), (start.y, end.y), color=GREY, linewidth=1.0, linestyle=(0, (8, 3, 2, 3)))
    for wheel in plan.wheels:
        within = any(other.centre == wheel.centre and other.radius > wheel.radius for other in plan.wheels)
        _draw_wheel(axes, wheel, span[1], within and wheel.kind != "sun")
    for loop in plan.loops:
        for a, b in tangents(loop):
            axes.plot((a.x, b.x), (a.y, b.y), color=BLACK, linewidth=1.6, gid="run")
    for block in plan.blocks:
        _draw_block(axes, block)
    _draw_load(axes, plan, machine)
    _draw_shafts(axes, plan, span[1])
    _draw_scale(axes, plan, low, high)
    scale = "to scale" if plan.to_scale else "to scale where sizes are known (dashed: not told)"
    text = f"The train from the motor (M 1) to the load, {len(set(plan.shafts))} shafts; pitch circles {scale}, teeth "
    text += "beside them, arrows for turning while lifting"
    if any(block.sense is not None for block in plan.blocks):
        text += " (the straight one for how a worm's front goes)"
    text += f", each shaft seen as in the table below. {motor_text(motor_turning(machine))}"
    return Picture(name="schematic", heading="Drivetrain", text=text, figure=figure)


def _extent(plan: Layout) -> tuple[Point, Point]:
    """Lower left and upper right corner of everything, with a margin. [m]"""
    boxes = [
        (w.centre.x - w.radius, w.centre.y - w.radius, w.centre.x + w.radius, w.centre.y + w.radius)
        for w in plan.wheels
    ]
    boxes += [
        (b.centre.x - b.width / 2, b.centre.y - b.height / 2, b.centre.x + b.width / 2, b.centre.y + b.height / 2)
        for b in plan.blocks
    ]
    boxes += [(s.x, s.y, s.x, s.y) for s in plan.shafts]
    left, bottom = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, top = max(box[2] for box in boxes), max(box[3] for box in boxes)
    size = max(right - left, top - bottom, 0.02)
    return Point(left - 0.08 * size, bottom - 0.12 * size), Point(right + 0.45 * size, top + 0.1 * size)


def _draw_wheel(axes: Axes, wheel: Wheel, height: float, within: bool) -> None:
    style = "-" if wheel.sized else (0, (4, 2))
    colour = INK.get(wheel.kind, BLACK)
    centre = (wheel.centre.x, wheel.centre.y)
    axes.add_patch(
        Circle(centre, wheel.radius, fill=False, edgecolor=colour, linewidth=1.6, linestyle=style, gid=wheel.kind)
    )
    if wheel.kind == "ring":
        rim = wheel.radius + 0.015 * height
        axes.add_patch(Circle(centre, rim, fill=False, edgecolor=colour, linewidth=0.8, linestyle=style))
    if wheel.label:
        small = wheel.radius < SMALL * height
        top, side = (0.0, wheel.radius), (wheel.radius, 0.0)
        off = side if within else top  # the number of a wheel before a larger one stands beside it
        axes.annotate(
            wheel.label,
            (wheel.centre.x + off[0], wheel.centre.y + off[1]),
            ((4, 0) if within else (0, 9)) if small else (0, 0),
            textcoords="offset points",
            ha="left" if within and small else "center",
            va="center",
            color=of_words(colour),
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.0 if small else 1.0},
        )


def _draw_block(axes: Axes, block: Block) -> None:
    corner = (block.centre.x - block.width / 2, block.centre.y - block.height / 2)
    axes.add_patch(
        Rectangle(
            corner,
            block.width,
            block.height,
            fill=block.kind == "gearbox",
            facecolor="white",
            edgecolor=BLACK,
            linewidth=1.6,
        )
    )
    if block.kind == "worm":
        slant, count = 0.25 * block.height * math.copysign(1.0, block.lean), 9
        for k in range(1, count):
            x = corner[0] + block.width * k / count
            axes.plot((x - slant, x + slant), (corner[1], corner[1] + block.height), color=BLACK, linewidth=0.9)
        axes.text(block.centre.x + 0.55 * block.width, block.centre.y, block.label, ha="left", va="center")
        if block.sense is not None:
            beside = Point(block.centre.x - 0.3 * block.width, block.centre.y)
            _straight_arrow(axes, beside, 1.4 * block.height, -block.sense)
        return
    axes.text(block.centre.x, block.centre.y, block.label, ha="center", va="center", wrap=True)


def _draw_load(axes: Axes, plan: Layout, machine: Machine) -> None:
    """The arm to the right with its payload, or the rack or rope of a carriage."""
    last = plan.shafts[-1]
    reach = 0.36 * (axes.get_xlim()[1] - axes.get_xlim()[0])
    end = min(last.x + reach, axes.get_xlim()[1] - 0.03 * reach)
    if machine.arm.kind == "arm":
        axes.plot((last.x, end), (last.y, last.y), color=BLACK, linewidth=4.0, solid_capstyle="round", gid="arm")
        axes.plot([end], [last.y], marker="o", markersize=11, color=BLACK)
        middle = (0.5 * (last.x + end), last.y)
        axes.annotate("arm", middle, (0, 6), textcoords="offset points", ha="center", va="bottom", color=BLACK)
        return
    radius = plan.wheels[-1].radius
    axes.plot((last.x + radius,) * 2, axes.get_ylim(), color=BLACK, linewidth=3.0, gid="carriage")
    low, high = axes.get_ylim()
    upper = Point(last.x + radius, 0.5 * (last.y + high))
    axes.annotate("carriage", upper, (8, 0), textcoords="offset points", ha="left", va="center", color=BLACK)
    _straight_arrow(axes, upper, 0.16 * (high - low), 1)


def _draw_shafts(axes: Axes, plan: Layout, height: float) -> None:
    """Numbered hubs, the motor's filled, and arrows round those whose sense is known."""
    hub = 0.014 * height
    for k, (shaft, sense) in enumerate(zip(plan.shafts, plan.senses, strict=True), start=1):
        motor = k == 1
        if shaft in plan.shafts[: k - 1]:  # the travel of a carriage stands where its pinion does
            continue
        axes.add_patch(
            Circle((shaft.x, shaft.y), hub, facecolor=BLACK if motor else "white", edgecolor=BLACK, zorder=5)
        )
        axes.annotate(
            f"M {k}" if motor else str(k),
            (shaft.x, shaft.y),
            (0, -13),
            textcoords="offset points",
            ha="center",
            va="top",
            color=GREY,
            zorder=6,
        )
        if sense is not None:
            _arrow(axes, shaft, 3.4 * hub, sense, "shaft turns")
    for wheel in plan.wheels:
        if wheel.kind == "gear" and wheel.sense is not None and wheel.centre not in plan.shafts:  # an idler
            _arrow(axes, wheel.centre, min(3.4 * hub, 0.6 * wheel.radius), wheel.sense, "idler turns")


def _straight_arrow(axes: Axes, middle: Point, length: float, way: int) -> None:
    """Upward for +1."""
    foot, head = ((middle.x, middle.y + way * side * length / 2.0) for side in (-1.0, 1.0))
    axes.add_patch(
        FancyArrowPatch(
            foot, head, arrowstyle="-|>", mutation_scale=13, linewidth=2.0, shrinkA=0, shrinkB=0, color=VERMILION,
            zorder=7, gid="goes",
        )
    )  # fmt: skip


def _arrow(axes: Axes, centre: Point, radius: float, sense: int, name: str) -> None:
    """Three quarters of a turn, counter-clockwise for +1."""
    start, end = (math.radians(-60.0), math.radians(150.0))
    if sense < 0:
        start, end = end, start
    a = (centre.x + radius * math.cos(start), centre.y + radius * math.sin(start))
    b = (centre.x + radius * math.cos(end), centre.y + radius * math.sin(end))
    bend = 0.9 if sense > 0 else -0.9
    axes.add_patch(
        FancyArrowPatch(
            a,
            b,
            connectionstyle=f"arc3,rad={bend}",
            arrowstyle="-|>",
            mutation_scale=11,
            color=VERMILION,
            zorder=7,
            gid=name,
        )
    )


def _draw_scale(axes: Axes, plan: Layout, low: Point, high: Point) -> None:
    """A bar of a round length, where anything is to scale."""
    if not any(wheel.sized for wheel in plan.wheels):
        return
    wide = high.x - low.x
    power = 10.0 ** math.floor(math.log10(0.25 * wide))
    length = max(step * power for step in (1.0, 2.0, 5.0) if step * power <= 0.25 * wide)
    x, y = low.x + 0.03 * wide, low.y + 0.02 * wide
    axes.plot((x, x + length), (y, y), color=GREY, linewidth=3.0, solid_capstyle="butt")
    axes.text(x + length, y, f"  {1e3 * length:.4g} mm", ha="left", va="center", color=GREY)
