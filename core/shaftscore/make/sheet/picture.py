"""A picture of a stack with its followers at angle 0, drawn in parallel projection from above.

Everything is an upright prism; discs and spacers have their bore, pegs and groove. Seen from above a lower
part never hides a higher one, so parts are painted from the bottom up, those of one layer from the back to
the front: no line shows that should be hidden. Frame of the picture: to the right, and up the paper, mm
before scaling.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from shaftscore.make.drawing.fonts import written
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.sheet.paper import INK, MUTED, PALE, SMALL_PT, Paper
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.rings import Ring
from shaftscore.model import Stack
from shaftscore.stack import BulgePath, StackPlan, bore_path, pin_paths, stack_plan
from shaftscore.stack.followers import Points, follower_heights, follower_outlines

ELEVATION_RAD = math.radians(24.0)
"""Height from which one looks."""

COARSE_MM = 0.05
"""Corners of a contour that lie nearer to the line through their neighbours are left out."""

ABOVE_MM, BELOW_MM = 10.0, 4.0
"""By which the shaft is drawn longer than the stack."""

PIN_MM = 2.0
"""By which pins are drawn longer than the stack, so that they are seen."""

ROOM_MM = 120.0
"""Height of paper that a picture asks for."""

CODES_MM = 16.0
"""Width kept right of the picture for the codes."""

FACES = {"disc": "#dbe9f4", "spacer": "#eeeeee", "shaft": "#c9c9c9", "roller": "#f3d9a4", "bar": "#f7ead0"}
"""Colours of faces by what they are; rods are as shafts."""

Line = list[tuple[float, float]]
"""Points on the paper, mm."""

Placed = Callable[[Points, float], Line]
"""Gives the places on the paper of points at a height."""


@dataclass(frozen=True)
class Prism:
    """An upright body: what it is, its contour (n,) (counterclockwise), bottom and top, mm; code: to write.

    hole: its bore. flanks: inner and outer flank of a groove in its top, depth_mm deep.
    """

    kind: str
    outline: Points
    bottom: float
    top: float
    code: str = ""
    hole: Points | None = None
    flanks: tuple[Points, Points] | None = None
    depth_mm: float = 0.0

    @property
    def depth(self) -> float:
        """How far its middle lies behind the axis, seen from the looker, mm."""
        return float(self.outline.imag.mean())


def draw_picture(paper: Paper, order: MakeOrder, stack: Stack) -> None:
    """Draw a stack below its section where there is room; nothing if it carries no disc that is made."""
    prisms = list(_prisms(order, stack))
    if not any(prism.kind == "disc" for prism in prisms):
        return
    paper.gap(8.0)
    paper.heading(f"Picture of {stack.label}", keep_mm=ROOM_MM)
    paper.say(
        "All zero marks in line, the reference line to the right, followers where they are at angle 0. "
        "Bars of followers are drawn short.",
        SMALL_PT,
        MUTED,
    )
    paper.gap()
    _paint(paper, prisms)


def _prisms(order: MakeOrder, stack: Stack) -> Iterator[Prism]:
    """Yield all bodies in the order in which they are painted."""
    plan = stack_plan(order.report.project, stack)
    if not plan.layers:
        return
    parts = {item.part.lane_id: item.part for item in order.of_stack(stack.id)}
    shaft = np.asarray(bore_path(stack.bore, 0.0).flattened(COARSE_MM) @ np.array([1, 1j]))
    yield Prism("shaft", shaft, -BELOW_MM, 0.0)
    for layer in plan.layers:
        part = parts.get(layer.lane_id)
        own = list(_followers(order, stack, layer.lane_id)) if layer.lane_id else []
        if part is not None and part.groove is not None:
            own = [_above(prism, layer.top_mm) for prism in own if prism.top >= layer.top_mm]
        is_before = [prism.depth > 0 and prism.bottom < layer.top_mm for prism in own]
        yield from _back_first(prism for prism, before in zip(own, is_before, strict=True) if before)
        if part is not None:
            yield _part(part, layer.bottom_mm)
            yield from _back_first(_pegs(part, layer.top_mm))
        yield from _back_first(prism for prism, before in zip(own, is_before, strict=True) if not before)
    yield from _back_first(
        [Prism("shaft", shaft, plan.height_mm, plan.height_mm + ABOVE_MM), *_pins(stack, plan)]
    )


def _pins(stack: Stack, plan: StackPlan) -> Iterator[Prism]:
    """Yield the ends of the pins, which stand out of the top face a little."""
    for path in pin_paths(stack.pins, 0.0) if stack.pins is not None else ():
        yield Prism("shaft", _flat(path), plan.height_mm, plan.height_mm + PIN_MM)


def _part(part: MadePart, bottom: float) -> Prism:
    groove, top = part.groove, bottom + part.thickness_mm
    code = part.code if part.kind == "disc" else ""
    hole = _flat(part.holes[0])
    if groove is None:
        return Prism(part.kind, _coarse(part.outline), bottom, top, code, hole)
    flanks = _coarse(groove.inner), _coarse(groove.outer)
    return Prism(part.kind, _coarse(part.outline), bottom, top, code, hole, flanks, groove.depth_mm)


def _pegs(part: MadePart, bottom: float) -> Iterator[Prism]:
    for peg in part.dogs.pegs if part.dogs else ():
        yield Prism(part.kind, _flat(peg), bottom, bottom + part.top_mm - part.thickness_mm)


def _above(prism: Prism, low: float) -> Prism:
    """Return what of a follower is above a face: the rest is in the groove that it runs in."""
    return replace(prism, bottom=max(prism.bottom, low))


def _back_first(prisms: Iterable[Prism]) -> list[Prism]:
    return sorted(prisms, key=lambda prism: -prism.depth)


def _flat(path: BulgePath) -> Points:
    return np.asarray(path.flattened(COARSE_MM) @ np.array([1, 1j]))


def _coarse(ring: Ring) -> Points:
    """Return a contour with fewer corners."""
    from shapely import Polygon  # start-up time: only the sheet needs it here

    corners = np.asarray(Polygon(ring).simplify(COARSE_MM).exterior.coords)[:-1]
    points = np.asarray(corners @ np.array([1, 1j]))
    area = float((np.conj(points) * np.roll(points, -1)).imag.sum())
    return points if area > 0 else points[::-1]


def _followers(order: MakeOrder, stack: Stack, host: str) -> Iterator[Prism]:
    project = order.report.project
    layer = stack_plan(project, stack).disc(host)
    for lane in order.report.solution.lanes.values():
        if (lane.lane.disc_of or lane.lane.id) == host and lane.profile and lane.motion:
            heights = follower_heights(project, stack, lane.lane, layer)
            for kind, outline, bottom, top in follower_outlines(lane, 0.0, heights):
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

    def at(outline: Points, z: float) -> Line:
        placed = seen(outline, z) - low
        return [(left + scale * p.real, paper.y_mm + scale * ((high - low).imag - p.imag)) for p in placed]

    # Lines to the codes come first, so that what hides an edge hides its line too.
    axis = np.zeros(1, np.complex128)
    _codes(paper, [(p.code, at(axis, (p.bottom + p.top) / 2)[0]) for p in prisms if p.code])
    for prism in prisms:
        _paint_one(paper, prism, at)
    paper.y_mm += scale * (high - low).imag + 3.0


def seen(outline: Points, z: float) -> npt.NDArray[np.complex128]:
    """Return points at a height as they are seen, (n,) -> (n,) mm: x right, what lies farther back higher."""
    up = z * math.cos(ELEVATION_RAD) + outline.imag * math.sin(ELEVATION_RAD)
    return np.asarray(outline.real + 1j * up)


def _paint_one(paper: Paper, prism: Prism, at: Placed) -> None:
    """Paint the walls that face the looker, then the top face with what is cut into it."""
    shade, face = darker(FACES[prism.kind]), FACES[prism.kind]
    for wall, outline in _walls(prism.outline, prism.bottom, prism.top, at):
        paper.area(wall, fill=shade)
        paper.line(outline, INK, 0.15)
    paper.area(at(prism.outline, prism.top), fill=face, edge=INK)
    if prism.flanks is not None:
        _paint_groove(paper, prism, prism.flanks, at)
    if prism.hole is not None:
        paper.area(at(prism.hole, prism.top), fill=shade, edge=INK)


def _walls(outline: Points, bottom: float, top: float, at: Placed) -> Iterator[tuple[Line, Line]]:
    """Yield area and edges of each wall that faces the looker, what lies farther back first."""
    low, high = at(outline, bottom), at(outline, top)
    front = (np.roll(outline, -1) - outline).real > 1e-9  # its outward normal then points to the looker
    count = len(front)
    for start, end in sorted(_runs(front), key=lambda run: -float(outline.imag[run[0]])):
        places = [place - count * (place >= count) for place in range(start, end + 1)]
        below, above = [low[place] for place in places], [high[place] for place in places]
        yield [*below, *reversed(above)], [above[0], *below, above[-1]]


def _paint_groove(paper: Paper, prism: Prism, flanks: tuple[Points, Points], at: Placed) -> None:
    """Paint the far wall, the floor and the near wall of a groove, as far as its mouth lets them be seen."""
    (inner, outer), floor = flanks, prism.top - prism.depth_mm
    shade, face, mouth = darker(FACES[prism.kind]), FACES[prism.kind], at(outer, prism.top)
    paper.area(mouth, fill=shade, edge=INK)
    for seen_floor in _common(at(outer, floor), mouth):
        paper.area(seen_floor, fill=face, edge=INK)
    for wall, _ in _walls(inner, floor, prism.top, at):
        for seen_wall in _common(wall, mouth):
            paper.area(seen_wall, fill=shade, edge=INK)
    paper.area(at(inner, prism.top), fill=face, edge=INK)


def _common(area: Line, mouth: Line) -> Iterator[Line]:
    """Yield what two areas have in common."""
    from shapely import Polygon, get_parts  # start-up time: only the sheet needs it here

    for piece in get_parts(Polygon(area).buffer(0).intersection(Polygon(mouth).buffer(0))):
        if isinstance(piece, Polygon) and not piece.is_empty:
            yield [(float(x), float(y)) for x, y in piece.exterior.coords[:-1]]


def _runs(front: npt.NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Yield stretches of edges that face the looker as (first, last + 1); one may run on past the end."""
    count = len(front)
    starts = np.nonzero(front & ~np.roll(front, 1))[0]
    for start in starts:
        end = int(start)
        while end - start < count and front[end - count * (end >= count)]:
            end += 1
        yield int(start), end


def darker(colour: str) -> str:
    """Return a colour a shade darker."""
    parts = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return "#" + "".join(f"{round(0.82 * part):02x}" for part in parts)


def _codes(paper: Paper, discs: Sequence[tuple[str, tuple[float, float]]]) -> None:
    """Write the discs' codes at the right, each with a thin line to the middle of its disc."""
    x = paper.right_mm - CODES_MM + 6.0
    for code, middle in discs:
        paper.line([middle, (x - 1.0, middle[1])], PALE, 0.15)
        paper.words(x, middle[1] + 0.9, written(code), SMALL_PT)
