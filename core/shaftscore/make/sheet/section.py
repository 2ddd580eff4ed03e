"""The section of a stack with its dimensions, and the parts in plan view, for the build sheet.

The section is cut through the axis; each part is drawn to its largest radius on both sides of the bore,
with the radius at which its running edge is lowest as a dashed line. Dogs, their pockets, holes of pins and
grooves are drawn where the plane through the zero mark cuts them (the zero mark to the right). z runs upward
from the bottom of the stack. Plan views come from `shaftscore.make.drawing.plan_view`, as those of all
drawings do.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shaftscore.base.wording import counted, plain
from shaftscore.make.drawing.fonts import wrapped, written
from shaftscore.make.drawing.plan_view import OVERHANG_MM, lines_of, reach_mm
from shaftscore.make.files.order import MakeOrder, OrderedPart
from shaftscore.make.files.shopping import bore_text
from shaftscore.make.files.svg import COLOURS
from shaftscore.make.sheet.paper import INK, MUTED, PALE, SMALL_PT, Paper
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.rings import Ring
from shaftscore.model import Dogs, Pins, Stack
from shaftscore.stack import BulgePath, Layer, pocket_depth, stack_plan

LABELS_MM = 185.0
"""Height of the words beside a section on one page; a stack that needs more goes on, on the next."""

LABEL_MM = 88.0
"""Width of the words right of a section."""

DIMENSION_MM = 16.0
"""Width kept left of a section for its height."""

CHORD_MM = 0.05
"""Chord error of what is drawn."""

PLANS_A_ROW = 3
"""Parts in plan view beside one another."""

PITCH_MM = 3.3
"""Distance of the lines of a label."""

HATCH = "#dddddd"
"""Fill of what is cut."""


def draw_section(paper: Paper, order: MakeOrder, stack: Stack) -> None:
    """Draw a stack in section, on as many pages as it needs; nothing if it carries no disc."""
    plan = stack_plan(order.report.project, stack)
    for layers in _pages(order, stack, plan.layers):
        paper.new_page()
        paper.heading(f"Section of {stack.label}")
        paper.say(
            f"Height {plain(plan.height_mm, 3)} mm in all. Shaft: {bore_text(stack.bore)}; holes are wider "
            f"by the fit clearance, {plain(stack.fit_clearance_mm, 3)} mm on each side. "
            f"Spacers: {plain(stack.spacer_mm, 3)} mm thick, radius {plain(stack.spacer_radius_mm, 3)} mm.",
            SMALL_PT,
            MUTED,
        )
        if stack.dogs is not None:
            paper.say(_dogs_text(stack, stack.dogs), SMALL_PT, MUTED)
        if stack.pins is not None:
            paper.say(_pins_text(stack.pins), SMALL_PT, MUTED)
        paper.gap(6.0)
        _layers(paper, order, stack, layers)


def _dogs_text(stack: Stack, dogs: Dogs) -> str:
    return (
        f"Dogs: {counted(dogs.count, 'peg')} on a circle of radius {plain(dogs.radius_mm, 3)} mm, "
        f"{plain(dogs.width_mm, 3)} mm wide and {plain(dogs.height_mm, 3)} mm high, the one at the zero mark "
        f"{plain(2 * dogs.width_mm, 3)} mm long; pockets {plain(pocket_depth(stack), 3)} mm deep."
    )


def _pins_text(pins: Pins) -> str:
    return (
        f"Pins: {counted(pins.count, 'rod')} of {plain(pins.across_mm, 3)} mm on a circle of radius "
        f"{plain(pins.radius_mm, 3)} mm, the zero mark midway between two of them; holes are wider by "
        f"{plain(pins.clearance_mm, 3)} mm on each side."
    )


def _pages(order: MakeOrder, stack: Stack, layers: Sequence[Layer]) -> list[list[Layer]]:
    """Share the layers out, so that the words beside them have room on every page."""
    pages: list[list[Layer]] = []
    used = LABELS_MM
    for layer in layers:
        high = _label_high(_label(layer, _part_of(order, stack, layer)))
        if used + high > LABELS_MM:
            pages.append([])
            used = 0.0
        pages[-1].append(layer)
        used += high
    return pages


def _layers(paper: Paper, order: MakeOrder, stack: Stack, layers: Sequence[Layer]) -> None:
    parts = [_part_of(order, stack, layer) for layer in layers]
    radii = [(_radii(part) if part else (0.0, 0.0)) for part in parts]
    reach = max([high for _, high in radii] + [stack.bore.outer_radius_mm + 1.0])
    bottom, top = layers[0].bottom_mm, layers[-1].top_mm
    wide, high = paper.wide_mm - LABEL_MM - DIMENSION_MM - 8.0, paper.room_mm - 14.0
    scale = min(wide / (2 * reach), high / (top - bottom))
    lines = [_label(layer, part) for layer, part in zip(layers, parts, strict=True)]
    needed = max(scale * (top - bottom), sum(map(_label_high, lines)))
    axis = paper.left_mm + DIMENSION_MM + wide / 2
    foot = paper.y_mm + 4.0 + (needed + scale * (top - bottom)) / 2

    def y_of(z_mm: float) -> float:
        return foot - scale * (z_mm - bottom)

    bore = scale * stack.bore.inner_radius_mm
    for layer, (low_r, high_r) in zip(layers, radii, strict=True):
        z = (y_of(layer.top_mm), y_of(layer.bottom_mm))
        low = low_r if layer.lane_id is not None else high_r
        for sign in (-1, 1):
            _half(paper, axis, z, (sign * bore, sign * scale * low, sign * scale * high_r))
    for layer, part in zip(layers, parts, strict=True):
        for cut in _cuts(part) if part else ():
            z = (y_of(layer.bottom_mm + cut.top), y_of(layer.bottom_mm + cut.bottom))
            fill = HATCH if cut.is_solid else "#ffffff"
            paper.box(axis + scale * cut.low, z[0], scale * (cut.high - cut.low), z[1] - z[0], fill=fill)
    paper.line([(axis, y_of(top) - 4.0), (axis, foot + 4.0)], MUTED, 0.15, dashed=True)
    _height(paper, (y_of(top), foot), top - bottom, axis - scale * reach)
    ys = [y_of(layer.middle_mm) for layer in layers]
    ends = (paper.y_mm, paper.y_mm + needed + 8.0)
    _labels(paper, lines, ys, ends, [axis + scale * r for _, r in radii])
    paper.words(axis, foot + 8.0, f"scale {_scale(scale)}", SMALL_PT, MUTED, align="middle")
    paper.y_mm = max(ends[1], foot + 8.0)


@dataclass(frozen=True)
class _Cut:
    """A rectangle of the section beside the plain part: x and z from and to, mm; solid or hollow."""

    low: float
    high: float
    bottom: float
    top: float
    is_solid: bool


def _cuts(part: MadePart) -> Iterator[_Cut]:
    """Yield holes of pins, pegs, pockets and groove where the plane through the zero mark cuts them."""
    thick = part.thickness_mm
    for hole in part.holes[1:]:
        for low, high in pairs(hole.flattened(CHORD_MM)):
            yield _Cut(low, high, 0.0, thick, is_solid=False)
    for peg in part.dogs.pegs if part.dogs else ():
        for low, high in pairs(peg.flattened(CHORD_MM)):
            yield _Cut(low, high, thick, part.top_mm, is_solid=True)
    for pocket in part.dogs.pockets if part.dogs else ():
        for low, high in pairs(pocket.flattened(CHORD_MM)):
            yield _Cut(low, high, 0.0, part.dogs.depth_mm if part.dogs else 0.0, is_solid=False)
    if part.groove is not None:
        (inner,), (outer,) = pairs(part.groove.inner), pairs(part.groove.outer)
        floor = thick - part.groove.depth_mm
        yield _Cut(outer[0], inner[0], floor, thick, is_solid=False)
        yield _Cut(inner[1], outer[1], floor, thick, is_solid=False)


def pairs(ring: Ring) -> list[tuple[float, float]]:
    """Return where a ring lies on the line through the axis and the zero mark: x from and to, mm."""
    x, y = ring.T
    after_x, after_y = np.roll(x, -1), np.roll(y, -1)
    across = (y > 0) != (after_y > 0)
    share = y[across] / (y[across] - after_y[across])
    found = sorted(float(value) for value in x[across] + share * (after_x[across] - x[across]))
    return list(zip(found[::2], found[1::2], strict=True))


def _half(paper: Paper, axis: float, z: tuple[float, float], reach: tuple[float, float, float]) -> None:
    """Draw one side of a part; reach: of bore, of the lowest running edge and of the highest, mm on paper."""
    bore, low, high = reach
    if abs(high) <= abs(bore):
        return
    paper.box(axis + min(bore, high), z[0], abs(high - bore), z[1] - z[0], fill=HATCH)
    if low != high:
        paper.line([(axis + low, z[0]), (axis + low, z[1])], MUTED, 0.15, dashed=True)


def _scale(scale: float) -> str:
    return f"{plain(scale, 2)} : 1" if scale >= 1 else f"1 : {plain(1 / scale, 2)}"


def _part_of(order: MakeOrder, stack: Stack, layer: Layer) -> MadePart | None:
    own = (item.part for item in order.of_stack(stack.id))
    return next((part for part in own if part.lane_id == layer.lane_id), None)


def _radii(part: MadePart) -> tuple[float, float]:
    """Return the least and the largest radius of the contour, mm."""
    radii = np.hypot(*part.outline.T)
    return float(radii.min()), float(radii.max())


def _label(layer: Layer, part: MadePart | None) -> list[str]:
    """Describe what lies there, in lines that fit: code, name, z range, thickness, radius."""
    thick = plain(layer.top_mm - layer.bottom_mm, 3)
    said = f"z {plain(layer.bottom_mm, 3)} to {plain(layer.top_mm, 3)}, {thick} thick"
    if part is None:
        return wrapped(f"(not made) {said} mm", SMALL_PT, LABEL_MM)
    low, high = _radii(part)
    name = part.code if layer.lane_id is None else f"{part.code} {part.label}:"
    radius = plain(high, 2) if layer.lane_id is None else f"{plain(low, 2)} to {plain(high, 2)}"
    said += f", groove {plain(part.groove.depth_mm, 3)} deep" if part.groove else ""
    return wrapped(f"{name} {said}, r {radius} mm", SMALL_PT, LABEL_MM)


def _label_high(lines: Sequence[str]) -> float:
    return PITCH_MM * len(lines) + 0.7


def _labels(
    paper: Paper,
    texts: Sequence[Sequence[str]],
    ys: Sequence[float],
    ends: tuple[float, float],
    reaches: Sequence[float],
) -> None:
    """Write the words of all parts above one another without overlaps, a thin line to each part."""
    x = paper.right_mm - LABEL_MM
    highs = [_label_high(lines) for lines in texts]
    places = spread(ys, highs, *ends)
    for lines, high, y, place, reach in zip(texts, highs, ys, places, reaches, strict=True):
        paper.line([(reach, y), (x - 4.0, y), (x - 1.0, place)], PALE, 0.15)
        for number, line in enumerate(lines):
            paper.words(x, place - high / 2 + PITCH_MM * number + 2.6, line, SMALL_PT)


def spread(wanted: Sequence[float], highs: Sequence[float], top: float, bottom: float) -> list[float]:
    """Return middles near those wanted (mm, falling, as parts are listed upward) without overlaps.

    Each keeps half its own height and half its neighbour's; where the room from top to bottom is too
    small, the distances shrink evenly.
    """
    gaps = [(a + b) / 2 for a, b in pairwise(highs)]
    room = bottom - top - (highs[0] + highs[-1]) / 2
    shrink = min(1.0, room / sum(gaps)) if gaps else 1.0
    places = [min(wanted[0], bottom - highs[0] / 2)]
    for y, gap in zip(wanted[1:], gaps, strict=True):
        places.append(min(y, places[-1] - gap * shrink))
    # What was pushed out at the top pushes back down.
    floor = top + highs[-1] / 2
    for index in range(len(places) - 1, -1, -1):
        places[index] = max(places[index], floor)
        floor = places[index] + (gaps[index - 1] * shrink if index else 0.0)
    return places


def _height(paper: Paper, ends: tuple[float, float], height_mm: float, left: float) -> None:
    """Draw the dimension of the height left of the section."""
    x = left - 5.0
    for y in ends:
        paper.line([(left - 1.0, y), (x - 1.5, y)], INK, 0.15)
    paper.line([(x, ends[0]), (x, ends[1])], INK, 0.15)
    for y, way in ((ends[0], 1), (ends[1], -1)):
        paper.line([(x - 0.6, y + 2.0 * way), (x, y), (x + 0.6, y + 2.0 * way)], INK, 0.15)
    paper.words(x - 1.0, sum(ends) / 2, f"{plain(height_mm, 2)}", SMALL_PT, INK, align="right")


def draw_plans(paper: Paper, items: Sequence[OrderedPart]) -> None:
    """Draw every part as seen from the top, three in a row, all to one scale, which is stated."""
    paper.new_page()
    paper.heading("Parts as seen from the top")
    cell = paper.wide_mm / PLANS_A_ROW
    reach = max(reach_mm(item.part) for item in items) + OVERHANG_MM
    scale = min(1.0, (cell - 6.0) / (2 * reach))
    said = f"Scale {_scale(scale)}. The zero mark points to the right in all discs."
    paper.say(said, SMALL_PT, MUTED)
    paper.gap()
    for first in range(0, len(items), PLANS_A_ROW):
        paper.need(cell + 6.0)
        for number, item in enumerate(items[first : first + PLANS_A_ROW]):
            middle = paper.left_mm + cell * (number + 0.5)
            _plan(paper, item.part, (middle, paper.y_mm + cell / 2), scale)
            name = wrapped(f"{item.part.code} {item.part.label}", SMALL_PT, cell - 4.0)[0]
            paper.words(middle, paper.y_mm + cell + 3.0, written(name), SMALL_PT, INK, align="middle")
        paper.y_mm += cell + 6.0


def _plan(paper: Paper, part: MadePart, middle: tuple[float, float], scale: float) -> None:
    for line in lines_of(part):
        points: list[complex] = list(line.vertices)
        if line.closed:
            flat = BulgePath(line.vertices, line.bulges).flattened(CHORD_MM)
            points = [complex(*point) for point in flat]
            points.append(points[0])
        placed = [(middle[0] + scale * p.real, middle[1] - scale * p.imag) for p in points]
        if not all(math.isfinite(v) for point in placed for v in point):
            raise ValueError(f"no place on paper for a line of {part.code}")
        paper.line(placed, COLOURS[line.layer], 0.15, dashed=line.layer == "centre")
