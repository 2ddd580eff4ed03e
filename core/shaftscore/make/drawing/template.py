"""The drilling template of a plate at full size: outline, holes, dimensions and the table of holes.

Pure geometry, which paper and DXF share. Frame: that of the machine, seen from the top: x along the
reference line, y to the left of it, the shaft's axis at the origin, mm. A template that is larger than a page
is cut into *tiles* that overlap; marks in the overlap, the same on both pages, lie on one another when the
pages are joined.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from shaftscore.base.wording import millimetres, plain
from shaftscore.layout.frame_plan import FrameHole, FramePlan, PlateSide, plate_code
from shaftscore.make.drawing.dimensions import BAR_MM, scale_bar
from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Text, box, circle, scene

TemplateLayer = Literal["outline", "hole", "seat", "centre", "dimension", "scale", "join"]
"""What a line belongs to."""

TEXT_PT = 8.0
"""Size of letters, points."""

LINES: dict[TemplateLayer, Stroke] = {
    "outline": Stroke("ink"),
    "hole": Stroke("ink"),
    "seat": Stroke("ink"),
    "centre": Stroke("muted", "hair", "chain"),
    "dimension": Stroke("muted", "hair"),
    "scale": Stroke("ink"),
    "join": Stroke("muted", "hair"),
}
"""How the lines of each layer are drawn."""

CROSS_MM = 4.0
"""By which centre crosses go beyond their hole."""

ROOM_MM = 26.0
"""Room for dimensions left of and below the plate."""

ROW_MM = 9.0
"""Distance of dimension lines from one another."""

BAR_TEXT = "50 mm: measure it before you drill"
"""What the bar says."""

OVERLAP_MM = 12.0
"""By which neighbouring tiles overlap."""

HEAD = ("hole", "x, mm", "y, mm", "diameter, mm", "what for")
"""Columns of the table of holes."""


@dataclass(frozen=True)
class PlateTemplate:
    """The template of one plate: its drawing at full size, whose marks are named by their layer.

    low, high: corners of all that is drawn, mm. rows: the table of holes.

    name: code of the plate. notes: sentences beside the drawing.
    """

    name: str
    low: complex
    high: complex
    scene: Scene
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of all that is drawn."""
        return self.high.real - self.low.real, self.high.imag - self.low.imag


@dataclass(frozen=True)
class TemplateTile:
    """A part of a template that has room on a page. column, row: from 1, from the left and from the top.

    low: its lower left corner in the machine's frame, mm. scene: what is in it, in that frame.
    """

    column: int
    row: int
    low: complex
    scene: Scene


def plate_template(plan: FramePlan, side: PlateSide) -> PlateTemplate:
    """Draw the template of a plate."""
    holes = plan.of_plate(side)
    marks = [
        *_outline(plan),
        *_circles(holes),
        *_crosses(holes),
        _reference_line(plan),
        _text(complex(plan.high.real - 22.0, 2.5), "reference line, 0°", "centre"),
        *_dimensions(plan, holes),
        *_bar(plan),
        *(_text(_label_at(hole), hole.name, "hole") for hole in holes),
    ]
    return PlateTemplate(
        name=plate_code(side),
        low=plan.low - complex(ROOM_MM, ROOM_MM),
        high=plan.high + complex(4.0, 4.0),
        scene=scene(marks),
        rows=tuple(_rows(holes)),
        notes=tuple(_notes(plan, side, holes)),
    )


def _line(points: Sequence[complex], layer: TemplateLayer) -> Path:
    return Path(np.array(points), LINES[layer], name=layer)


def _text(at: complex, text: str, layer: TemplateLayer, *, upright: bool = False) -> Text:
    """Return a text with its middle above a point; upright: it reads from below."""
    return Text(at, text, TEXT_PT, "middle", turned_deg=90.0 if upright else 0.0, name=layer)


def _outline(plan: FramePlan) -> Iterator[Mark]:
    yield Path(box(plan.low, plan.high), LINES["outline"], closed=True, name="outline")


def _circles(holes: Sequence[FrameHole]) -> Iterator[Mark]:
    for hole in holes:
        layer: TemplateLayer = "seat" if hole.seat else "hole"
        yield circle(hole.at, hole.reach_mm, LINES[layer], name=layer)
        if hole.seat is not None:
            yield circle(hole.at, hole.seat.through_mm / 2, LINES["hole"], name="hole")


def _crosses(holes: Sequence[FrameHole]) -> Iterator[Mark]:
    for hole in holes:
        for way in (1, 1j):
            arm = (hole.reach_mm + CROSS_MM) * way
            yield _line((hole.at - arm, hole.at + arm), "centre")


def _reference_line(plan: FramePlan) -> Mark:
    return _line((0j, complex(plan.high.real, 0.0)), "centre")


def _label_at(hole: FrameHole) -> complex:
    """Return the middle of the name of a hole: up and to the right of its cross."""
    return hole.at + (hole.reach_mm + 1.5) * cmath.rect(1.0, math.radians(45)) + complex(2.5, 1.5)


def _dimensions(plan: FramePlan, holes: Sequence[FrameHole]) -> Iterator[Mark]:
    """Yield what is measured: the plate, the place of the first shaft in it, the pillars."""
    low, high = plan.low, plan.high
    pillars = [hole.at for hole in holes if hole.is_pillar]
    across = sorted({round(at.real, 3) for at in pillars})
    along = sorted({round(at.imag, 3) for at in pillars})
    for number, (start, end) in enumerate(
        ((low.real, high.real), (low.real, 0.0), (across[0], across[-1])), start=1
    ):
        yield from _measured(start, end, low.imag, low.imag - ROW_MM * (number - 0.4), along_x=True)
    for number, (start, end) in enumerate(
        ((low.imag, high.imag), (low.imag, 0.0), (along[0], along[-1])), start=1
    ):
        yield from _measured(start, end, low.real, low.real - ROW_MM * (number - 0.4), along_x=False)


def _measured(start: float, end: float, edge: float, at: float, *, along_x: bool) -> Iterator[Mark]:
    """Yield a dimension between two places along x or y; edge: where help lines begin, at: its place."""

    def point(along: float, aside: float) -> complex:
        return complex(along, aside) if along_x else complex(aside, along)

    for place in (start, end):
        yield _line((point(place, edge - 1.0), point(place, at - 1.5)), "dimension")
    yield _line((point(start, at), point(end, at)), "dimension")
    for place, way in ((start, 1.0), (end, -1.0)):
        tips = (point(place + 2.5 * way, at - 0.7), point(place, at), point(place + 2.5 * way, at + 0.7))
        yield _line(tips, "dimension")
    yield _text(
        point((start + end) / 2, at + (1.2 if along_x else -1.0)),
        millimetres(end - start).removesuffix(" mm"),
        "dimension",
        upright=not along_x,
    )


def _bar(plan: FramePlan) -> Iterator[Mark]:
    """Yield the bar of 50 mm, inside the plate at its lower edge."""
    start = complex(plan.high.real - BAR_MM - 16.0, plan.low.imag + 5.0)
    return scale_bar(start, BAR_TEXT)


def _rows(holes: Sequence[FrameHole]) -> Iterator[tuple[str, ...]]:
    for hole in holes:
        x, y = (millimetres(value).removesuffix(" mm") for value in (hole.at.real, hole.at.imag))
        yield hole.name, x, y, plain(hole.across_mm, 2), hole.purpose


def _notes(plan: FramePlan, side: PlateSide, holes: Sequence[FrameHole]) -> Iterator[str]:
    wide, high = plan.size_mm
    yield (
        f"Seen from the top, full size. {plan.frame.material}, {millimetres(plan.frame.plate_mm)}; "
        f"{plain(wide, 1)} × {plain(high, 1)} mm. Coordinates from the axis of the first shaft, x along the "
        "reference line."
    )
    if any(hole.seat for hole in holes):
        face = "upper" if side == "bottom" else "lower"
        yield f"Seats of bearings are in the {face} face."
    yield (
        "Drill the holes that both plates have through both at once: clamp the plates together, "
        "centre-punch, drill 3 mm first. Wear eye protection and clamp the work."
    )
    pillars = [hole for hole in holes if hole.is_pillar]
    one, other = max(
        ((a, b) for a in pillars for b in pillars), key=lambda pair: round(abs(pair[0].at - pair[1].at), 6)
    )
    yield f"Check: {one.name} to {other.name} measures {millimetres(abs(one.at - other.at))}."


# Tiles


def tiles_of(template: PlateTemplate, wide_mm: float, high_mm: float) -> tuple[TemplateTile, ...]:
    """Cut a template into tiles of a size, row by row from the top, each with the marks of its overlaps."""
    lefts = _starts(template.size_mm[0], wide_mm)
    tops = _starts(template.size_mm[1], high_mm)
    marks = tuple(_marks(template, lefts, tops, (wide_mm, high_mm)))
    return tuple(
        _tile(template, marks, (column, row), complex(left, top), (wide_mm, high_mm))
        for row, top in enumerate(tops, start=1)
        for column, left in enumerate(lefts, start=1)
    )


def _starts(whole_mm: float, page_mm: float) -> tuple[float, ...]:
    """Return where pages begin along a length, from its start, mm; each overlaps the one before."""
    count = max(1, math.ceil((whole_mm - OVERLAP_MM) / (page_mm - OVERLAP_MM) - 1e-9))
    return tuple(number * (page_mm - OVERLAP_MM) for number in range(count))


def _marks(
    template: PlateTemplate, lefts: Sequence[float], tops: Sequence[float], size: tuple[float, float]
) -> Iterator[Path]:
    """Yield crosses in the middle of each overlap, where the pages are laid on one another."""
    low, high = template.low, template.high
    for left in lefts[1:]:
        x = low.real + left + OVERLAP_MM / 2
        for top in tops:
            for share in (0.15, 0.85):
                yield from _cross(complex(x, high.imag - top - share * size[1]))
    for top in tops[1:]:
        y = high.imag - top - OVERLAP_MM / 2
        for left in lefts:
            for share in (0.15, 0.85):
                yield from _cross(complex(low.real + left + share * size[0], y))


def _cross(at: complex) -> Iterator[Path]:
    for way in (4.0, 4.0j):
        yield _line((at - way, at + way), "join")


def _tile(
    template: PlateTemplate,
    marks: Sequence[Path],
    place: tuple[int, int],
    start: complex,
    size: tuple[float, float],
) -> TemplateTile:
    """Cut one tile. start: its left and top, from those of the whole, mm."""
    low = complex(template.low.real + start.real, template.high.imag - start.imag - size[1])
    high = low + complex(*size)
    inside: list[Mark] = []
    for mark in (*template.scene.paths, *marks):
        inside += clipped(mark, low, high) if mark.name != "scale" else ()
    for text in template.scene.texts:
        if text.name and _holds(low, high, text.at):
            inside.append(_within(text, low, high))
    return TemplateTile(*place, low, scene(inside))


def _within(text: Text, low: complex, high: complex) -> Text:
    """Return a text moved so that it does not pass the edge of its tile."""
    half, tall = width_mm(text.text, text.size_pt) / 2, text.size_pt * POINT_MM
    wide, high_half = (tall, half) if text.turned_deg else (half, tall)
    x = min(max(text.at.real, low.real + wide), high.real - wide)
    y = min(max(text.at.imag, low.imag + high_half), high.imag - high_half)
    return replace(text, at=complex(x, y))


def _holds(low: complex, high: complex, at: complex) -> bool:
    return low.real <= at.real <= high.real and low.imag <= at.imag <= high.imag


def clipped(path: Path, low: complex, high: complex) -> Iterator[Path]:
    """Yield what of the line of a path is within a rectangle, by its corners, mm."""
    points = path.corners.tolist()
    if path.closed:
        points.append(points[0])
    run: list[complex] = []
    for start, end in pairwise(points):
        piece = _segment_in(start, end, low, high)
        if piece is None or (run and run[-1] != piece[0]):
            if run:
                yield Path(np.array(run), path.stroke, name=path.name)
            run = []
        if piece is not None:
            run = [*(run or [piece[0]]), piece[1]]
    if run:
        yield Path(np.array(run), path.stroke, name=path.name)


def _segment_in(start: complex, end: complex, low: complex, high: complex) -> tuple[complex, complex] | None:
    """Return the part of a segment within a rectangle; None if there is none (Liang and Barsky's method)."""
    way = end - start
    first, last = 0.0, 1.0
    for step, near, far in (
        (way.real, low.real - start.real, high.real - start.real),
        (way.imag, low.imag - start.imag, high.imag - start.imag),
    ):
        if step == 0:
            if near > 0 or far < 0:
                return None
            continue
        enter, leave = sorted((near / step, far / step))
        first, last = max(first, enter), min(last, leave)
    if first >= last:
        return None
    return (start if first == 0 else start + first * way), (end if last == 1 else start + last * way)
