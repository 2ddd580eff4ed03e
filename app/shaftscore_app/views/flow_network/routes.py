"""How the lines of the network run, as paths; no Qt.

Lines of gates that end in one element share a *bus*: an upright trunk right of the gates, on which each gate
has a stub. A line that leads back runs below both of its ends. Lengths are px.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from shaftscore.judge.flow.drawn import DiverterElement, ElementKey, FlowLine, LineState
from shaftscore_app.views.flow_network.places import (
    BUS,
    GATE_LIKE,
    MARGIN,
    MOST_BUSES,
    Box,
    NetworkPlaces,
)
from shaftscore_app.views.flow_network.rows import RowIndex

Spot = tuple[float, float]
"""A point, px."""

Stroke = tuple[Spot, ...]
"""What a path goes on with: one point is a straight line, three are a cubic curve with its two handles."""

ROUND = 6.0
"""Radius of corners, px of the design."""


@dataclass(frozen=True)
class LineRoute:
    """A line as it is drawn: where it begins, and its strokes.

    lines: those of the network that it belongs to, several for a trunk. per_min: items a minute. labelled: it
    is the stretch of a trunk above which the items a minute are written.
    """

    lines: tuple[FlowLine, ...]
    start: Spot
    strokes: tuple[Stroke, ...]
    state: LineState
    per_min: float
    labelled: bool = False

    @property
    def width(self) -> float:
        """Thickness, px of the design."""
        return replace(self.lines[0], per_min=self.per_min).width

    @cached_property
    def bounds(self) -> Box:
        """A rectangle that holds it."""
        spots = [self.start, *(spot for stroke in self.strokes for spot in stroke)]
        xs, ys = [x for x, _ in spots], [y for _, y in spots]
        return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))

    @property
    def end(self) -> Spot:
        """Where it ends."""
        return self.strokes[-1][-1]


@dataclass(frozen=True)
class LineRoutes:
    """The routes of all lines, those that share a bus last."""

    all: tuple[LineRoute, ...]

    def within(self, area: Box) -> Iterator[LineRoute]:
        """Yield the routes that an area may show."""
        return (one for one in self._rows.near(area.top, area.bottom) if one.bounds.meets(area))

    @cached_property
    def _rows(self) -> RowIndex[LineRoute]:
        """The routes by height."""
        return RowIndex((one.bounds.top, one.bounds.bottom, one) for one in self.all)


def routes_of(places: NetworkPlaces) -> LineRoutes:
    """Return the routes of all lines."""
    return LineRoutes(tuple(_routes(places)))


def _routes(places: NetworkPlaces) -> Iterator[LineRoute]:
    shown = places.shown
    buses: defaultdict[tuple[int, ElementKey], list[FlowLine]] = defaultdict(list)
    for line in shown.lines:
        if line.start not in places.boxes or line.end not in places.boxes:
            continue
        start = shown.by_key[line.start]
        if start.kind in GATE_LIKE and places.boxes[line.start].right < places.boxes[line.end].left:
            buses[start.column, line.end].append(line)
        else:
            yield _single(places, line)
    numbers: defaultdict[int, int] = defaultdict(int)
    order = sorted(buses, key=lambda bus: (bus[0], places.boxes[bus[1]].middle))
    last = {end: column for column, end in order}
    for column, end in order:
        for route in _bus(places, buses[column, end], end, numbers[column]):
            yield route if last[end] == column else replace(route, labelled=False)
        numbers[column] += 1


def _single(places: NetworkPlaces, line: FlowLine) -> LineRoute:
    """Return the route of a line of its own."""
    start, end = places.boxes[line.start], places.boxes[line.end]
    y = _leaves_at(places, line)
    strokes = (
        (curve(start.right, y, end.left, end.middle),)
        if start.right < end.left
        else _back(start, y, end, places.u)
    )
    return LineRoute((line,), (start.right, y), strokes, line.state, line.per_min)


def _leaves_at(places: NetworkPlaces, line: FlowLine) -> float:
    """Return the height at which a line leaves: that of its way where it comes from a diverter."""
    start = places.shown.by_key[line.start]
    if isinstance(start, DiverterElement):
        ways = [index for index, way in enumerate(start.ways) if way.to == line.end]
        if ways:
            return places.way_middle(start, ways[0])
    return places.boxes[line.start].middle


def curve(x: float, y: float, to_x: float, to_y: float) -> Stroke:
    """Return the stroke from a place to another one on the right: it begins and ends level."""
    half = (to_x - x) / 2
    return ((x + half, y), (to_x - half, to_y), (to_x, to_y))


def _back(start: Box, y: float, end: Box, u: float) -> tuple[Stroke, ...]:
    """Return the strokes of a line that leads back, below both boxes."""
    out, low = 2 * ROUND * u, max(start.bottom, end.bottom) + 2 * ROUND * u
    right, left = start.right + out, end.left - out
    return (
        ((right, y), (right, y), (right, y + ROUND * u)),
        ((right, low - ROUND * u),),
        ((right, low), (right, low), (right - ROUND * u, low)),
        ((left + ROUND * u, low),),
        ((left, low), (left, low), (left, low - ROUND * u)),
        ((left, end.middle + ROUND * u),),
        ((left, end.middle), (left, end.middle), (left + ROUND * u, end.middle)),
        ((end.left, end.middle),),
    )


def _bus(
    places: NetworkPlaces, lines: Sequence[FlowLine], end: ElementKey, number: int
) -> Iterator[LineRoute]:
    """Yield the stubs of gates that end in one element, and their trunk."""
    u, box = places.u, places.boxes[end]
    x = max(places.boxes[line.start].right for line in lines)
    x += (MARGIN + 10.0 + BUS * (number % MOST_BUSES)) * u
    heights = [places.boxes[line.start].middle for line in lines]
    low, high = min([*heights, box.middle]), max([*heights, box.middle])
    for line, y in zip(lines, heights, strict=True):
        yield _stub(places, line, y, x=x, to_y=box.middle)
    total = sum(line.per_min for line in lines)
    flows = any(line.state is not LineState.NOTHING for line in lines)
    state = LineState.FLOWS if flows else LineState.NOTHING
    bend = ROUND * u
    low, high = min(low + bend, box.middle), max(high - bend, box.middle)  # stubs turn into it there
    for begin, stop in _trunk(x, low, high, box):
        level = begin[1] == stop[1]
        yield LineRoute(tuple(lines), begin, ((stop,),), state, total, labelled=level and total > 0)


def _trunk(x: float, low: float, high: float, box: Box) -> Iterator[tuple[Spot, Spot]]:
    if high > low:
        yield (x, low), (x, high)
    yield (x, box.middle), (box.left, box.middle)


def _stub(places: NetworkPlaces, line: FlowLine, y: float, *, x: float, to_y: float) -> LineRoute:
    """Return the line from a gate to its trunk, with a rounded corner towards where the trunk leads."""
    start = places.boxes[line.start].right
    bend = min(ROUND * places.u, abs(to_y - y)) * (1.0 if to_y > y else -1.0)
    strokes: tuple[Stroke, ...] = (((x, y),),)
    if bend:
        strokes = (((x - abs(bend), y),), ((x, y), (x, y), (x, y + bend)))
    return LineRoute((line,), (start, y), strokes, line.state, line.per_min)
