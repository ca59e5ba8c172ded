"""The schematic of the train: pitch circles, chains and belts, shafts and which way they turn while lifting."""

import math

from matplotlib.figure import Figure

from armsim.drivetrain.layout import laid_out
from armsim.drivetrain.layout_parts import Layout, Point
from armsim.drivetrain.machine import Machine
from armsim.drivetrain.senses import motor_turning
from armsim.report import schematic_parts as parts
from armsim.report.picture import Picture
from armsim.report.sheet import Sheet
from armsim.report.turning import motor_text

POINTS = 72.0  #: an inch
WIDTH, LEAST, TALLEST = 7.4, 2.6, 6.0  #: of the figure [in]
SIDES = (34.0, 104.0)  #: left for labels, and right for the load [pt]
ENDS = (50.0, 30.0)  #: below for the scale, and above [pt]
WIDEST_BOX = 170.0  #: where nothing has a size [pt]
MARKED = 22.0  #: more above and below where shafts carry more than the train [pt]


def schematic(machine: Machine) -> Picture:
    """The figure, with the sentence on direction."""
    plan = laid_out(machine)
    sheet = _sheet(plan)
    carriage = machine.arm.kind == "carriage"
    parts.draw_lines(sheet, plan)
    wheels = parts.draw_wheels(sheet, plan)
    parts.draw_load(sheet, plan, carriage)
    hubs = parts.draw_shafts(sheet, plan)
    parts.draw_blocks(sheet, plan)
    parts.draw_scale(sheet, plan)
    parts.name_shafts(sheet, hubs)
    parts.name_wheels(sheet, plan, wheels)
    parts.draw_marks(sheet, plan)
    text = f"{_caption(plan)} {motor_text(motor_turning(machine))}"
    figure = sheet.axes.get_figure()
    assert isinstance(figure, Figure)
    return Picture(name="schematic", heading="Drivetrain", text=text, figure=figure)


def _caption(plan: Layout) -> str:
    """What the figure shows, as far as it is there."""
    text = f"The train from the motor (M 1) to the load, {len(set(plan.shafts))} shafts, numbered in bold"
    if not any(plan.sizes):
        text += ", not to scale"
    elif plan.wheels or plan.cones:
        text += "; pitch circles to scale" if all(plan.sizes) else "; to scale where sizes are known (dashed: not told)"
    if any(block.kind == "gearbox" for block in plan.blocks) and any(plan.sizes):
        text += ", boxes are not"
    if plan.wheels or plan.cones:
        text += "; teeth beside wheels"
    if plan.cones:
        text += ", bevel gears from the side"
    text += "; arrows for turning while lifting"
    if any(block.sense is not None for block in plan.blocks):
        text += " (the straight one for how a worm's front goes)"
    if any(loop.outside for loop in plan.loops):
        text += "; dotted runs go on to wheels that are not told of"
    if plan.marks:
        text += "; in frames what else shafts carry, a further motor after an M"
    return f"{text}. Each shaft is seen as in the table below."


def _sheet(plan: Layout) -> Sheet:
    """A figure as wide as its room, in points, with a scale at which all of the train goes on it."""
    low, high = _extent(plan)
    more = MARKED if plan.marks else 0.0
    wide, margins = WIDTH * POINTS - sum(SIDES), sum(ENDS) + 2.0 * more
    across, up = max(high.x - low.x, 1e-3), high.y - low.y
    scale = min(wide / across, (TALLEST * POINTS - margins) / up if up > 0.0 else math.inf)
    if not any(plan.sizes):
        scale = min(scale, WIDEST_BOX / max((block.width for block in plan.blocks), default=across))
    height = max(LEAST * POINTS, scale * up + margins)
    figure = Figure(figsize=(WIDTH, height / POINTS))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.axis("off")
    axes.set_xlim(0.0, WIDTH * POINTS)
    axes.set_ylim(0.0, height)
    left = SIDES[0] + (wide - scale * across) / 2.0 - scale * low.x
    bottom = ENDS[0] + more + (height - margins - scale * up) / 2.0 - scale * low.y
    return Sheet(axes=axes, scale=scale, left=left, bottom=bottom, width=WIDTH * POINTS, height=height)


def _extent(plan: Layout) -> tuple[Point, Point]:
    """Lower left and upper right corner of everything. [m]"""
    boxes = [
        (w.centre.x - w.radius, w.centre.y - w.radius, w.centre.x + w.radius, w.centre.y + w.radius)
        for w in plan.wheels
    ]
    boxes += [
        (b.centre.x - b.width / 2, b.centre.y - b.height / 2, b.centre.x + b.width / 2, b.centre.y + b.height / 2)
        for b in plan.blocks
    ]
    dots = [*plan.shafts, *(p for cone in plan.cones for p in cone.outline), *parts.far_ends(plan)]
    boxes += [(p.x, p.y, p.x, p.y) for p in dots]
    left, bottom = min(box[0] for box in boxes), min(box[1] for box in boxes)
    return Point(left, bottom), Point(max(box[2] for box in boxes), max(box[3] for box in boxes))
