"""A picture of a stack with its followers at angle 0, drawn in parallel projection from above.

Everything is an upright prism. Seen from above a lower part never hides a higher one, so parts are
painted from the bottom up, those of one layer from the back to the front: no line shows that should be
hidden. Frame of the picture: to the right, and up the paper, mm before scaling.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from core.export.order import Order
from core.export.sheet.paper import INK, MUTED, PALE, SMALL_PT, Paper, written
from core.model import Stack
from core.solids import Part
from core.solids.rings import Ring
from core.stack import bore_path, stack_plan
from core.stack.followers import Points, follower_heights, follower_outlines

ELEVATION_RAD = math.radians(24.0)
"""Height from which one looks."""

COARSE_MM = 0.05
"""Corners of a contour that lie nearer to the line through their neighbours are left out."""

ABOVE_MM, BELOW_MM = 10.0, 4.0
"""By which the shaft is drawn longer than the stack."""

ROOM_MM = 120.0
"""Height of paper that a picture asks for."""

CODES_MM = 16.0
"""Width kept right of the picture for the codes."""

FACES = {"disc": "#dbe9f4", "spacer": "#eeeeee", "shaft": "#c9c9c9", "roller": "#f3d9a4", "bar": "#f7ead0"}
"""Colours of faces by what they are; rods are as shafts."""


@dataclass(frozen=True)
class Prism:
    """An upright body: what it is, its contour (counterclockwise), bottom and top, mm; code: to write."""

    kind: str
    outline: Points
    bottom: float
    top: float
    code: str = ""

    @property
    def depth(self) -> float:
        """How far its middle lies behind the axis, seen from the looker."""
        return float(self.outline.imag.mean())


def draw_picture(paper: Paper, order: Order, stack: Stack) -> None:
    """Draw a stack below its section where there is room; nothing if it carries no disc that is made."""
    prisms = list(_prisms(order, stack))
    if not any(prism.kind == "disc" for prism in prisms):
        return
    paper.gap(8.0)
    paper.heading(f"Picture of {stack.label}", keep_mm=ROOM_MM)
    paper.say(
        "All zero marks in line, the reference line to the right, followers where they stand at angle 0. "
        "Bars of followers are drawn short.",
        SMALL_PT,
        MUTED,
    )
    paper.gap()
    _paint(paper, prisms)


def _prisms(order: Order, stack: Stack) -> Iterator[Prism]:
    """Give all bodies in the order in which they are painted."""
    plan = stack_plan(order.report.project, stack)
    if not plan.layers:
        return
    parts = {item.part.lane_id: item.part for item in order.of_stack(stack.id)}
    shaft = np.asarray(bore_path(stack.bore, 0.0).flattened(COARSE_MM) @ np.array([1, 1j]))
    yield Prism("shaft", shaft, -BELOW_MM, 0.0)
    for layer in plan.layers:
        own = list(_followers(order, stack, layer.lane_id)) if layer.lane_id else []
        yield from sorted((prism for prism in own if prism.depth > 0), key=lambda prism: -prism.depth)
        part = parts.get(layer.lane_id)
        if part is not None:
            yield Prism(part.kind, _coarse(part.outline), layer.bottom_mm, layer.top_mm, _code(part))
        yield from sorted((prism for prism in own if prism.depth <= 0), key=lambda prism: -prism.depth)
    yield Prism("shaft", shaft, plan.height_mm, plan.height_mm + ABOVE_MM)


def _code(part: Part) -> str:
    return part.code if part.kind == "disc" else ""


def _coarse(ring: Ring) -> Points:
    """Give a contour with fewer corners."""
    from shapely import Polygon  # start-up time: only the sheet needs it here

    corners = np.asarray(Polygon(ring).simplify(COARSE_MM).exterior.coords)[:-1]
    points = np.asarray(corners @ np.array([1, 1j]))
    area = float((np.conj(points) * np.roll(points, -1)).imag.sum())
    return points if area > 0 else points[::-1]


def _followers(order: Order, stack: Stack, host: str) -> Iterator[Prism]:
    plan = stack_plan(order.report.project, stack)
    heights = follower_heights(plan, stack, host)
    for lane in order.report.solution.lanes.values():
        if (lane.lane.disc_of or lane.lane.id) == host and lane.profile and lane.motion:
            for kind, outline, bottom, top in follower_outlines(lane, 0.0, *heights):
                yield Prism("shaft" if kind == "rod" else kind, outline, bottom, top)


def _paint(paper: Paper, prisms: Sequence[Prism]) -> None:
    """Fit the picture to the page and paint it."""
    flat = [seen(prism.outline, z) for prism in prisms for z in (prism.bottom, prism.top)]
    points = np.concatenate(flat)
    low = complex(points.real.min(), points.imag.min())
    high = complex(points.real.max(), points.imag.max())
    scale = min((paper.wide_mm - CODES_MM) / (high - low).real, (paper.room_mm - 6.0) / (high - low).imag)
    scale = min(scale, 3.0)
    left = paper.left_mm + (paper.wide_mm - CODES_MM - scale * (high - low).real) / 2

    def at(outline: Points, z: float) -> list[tuple[float, float]]:
        placed = seen(outline, z) - low
        return [(left + scale * p.real, paper.y_mm + scale * ((high - low).imag - p.imag)) for p in placed]

    # Lines to the codes come first, so that what hides an edge hides its line too.
    axis = np.zeros(1, np.complex128)
    _codes(paper, [(p.code, at(axis, (p.bottom + p.top) / 2)[0]) for p in prisms if p.code])
    for prism in prisms:
        _paint_one(paper, prism, at(prism.outline, prism.bottom), at(prism.outline, prism.top))
    paper.y_mm += scale * (high - low).imag + 3.0


def seen(outline: Points, z: float) -> npt.NDArray[np.complex128]:
    """Give points at a height as they are seen: x to the right, what lies farther back higher up."""
    up = z * math.cos(ELEVATION_RAD) + outline.imag * math.sin(ELEVATION_RAD)
    return np.asarray(outline.real + 1j * up)


def _paint_one(
    paper: Paper, prism: Prism, bottom: list[tuple[float, float]], top: list[tuple[float, float]]
) -> None:
    """Paint the walls that face the looker, then the top face."""
    along = np.roll(prism.outline, -1) - prism.outline
    front = along.real > 1e-9  # the outward normal of a counterclockwise edge then points to the looker
    count = len(front)
    shade = darker(FACES[prism.kind])
    back_first = sorted(_runs(front), key=lambda run: -float(prism.outline.imag[run[0]]))
    for start, end in back_first:
        low = [bottom[place - count * (place >= count)] for place in range(start, end + 1)]
        high = [top[place - count * (place >= count)] for place in range(start, end + 1)]
        paper.area([*low, *reversed(high)], fill=shade)
        paper.line([high[0], *low, high[-1]], INK, 0.15)
    paper.area(top, fill=FACES[prism.kind], edge=INK)


def _runs(front: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Give stretches of edges that face the looker as (first, last + 1); one may run on past the end."""
    count = len(front)
    starts = np.nonzero(front & ~np.roll(front, 1))[0]
    for start in starts:
        end = int(start)
        while end - start < count and front[end - count * (end >= count)]:
            end += 1
        yield int(start), end


def darker(colour: str) -> str:
    """Give a colour a shade darker."""
    parts = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return "#" + "".join(f"{round(0.82 * part):02x}" for part in parts)


def _codes(paper: Paper, discs: Sequence[tuple[str, tuple[float, float]]]) -> None:
    """Write the discs' codes at the right, each with a thin line to the middle of its disc."""
    x = paper.right_mm - CODES_MM + 6.0
    for code, middle in discs:
        paper.line([middle, (x - 1.0, middle[1])], PALE, 0.15)
        paper.words(x, middle[1] + 0.9, written(code), SMALL_PT)
