"""Where everything of the network is drawn: columns, banks, boxes, and what a place belongs to; no Qt.

Columns are fixed. Each bank is a frame; in it each magazine with its gates is a *cluster*, one below the
other in file order. Where a magazine or a supply serves several banks, the frames leave its column out. What
is outside the frames keeps its order too, and is as near to the middle of what it is joined to as the others
let it. Lengths are px; sizes of the design are times `u`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from shaftscore.judge.flow.drawn import (
    DiverterElement,
    ElementKey,
    ElementKind,
    FlowColumn,
    FlowElement,
    FlowNetwork,
    LineState,
    PileElement,
    ShownNetwork,
)
from shaftscore_app.views.flow_network.rows import RowIndex
from shaftscore_app.views.flow_network.sizes import NAME, PITCH, SHEETS, WIDTHS, height_of

HEAD, BANK_HEAD = 30.0, 24.0
"""Heights of the headings of columns and of banks, px of the design."""

MARGIN, BANK_GAP, CLUSTER_GAP, NODE_GAP, BANK_FOOT = 8.0, 5.0, 6.0, 8.0, 4.0

GAPS: Mapping[ElementKind, float] = {
    ElementKind.SUPPLY: 32.0,
    ElementKind.MAGAZINE: 42.0,
    ElementKind.GATE: 82.0,
    ElementKind.CHANNEL: 44.0,
    ElementKind.DIVERTER: 44.0,
    ElementKind.OUTLET: 16.0,
}
"""Usual room right of a column for the lines, px of the design."""

BUS, MOST_BUSES = 9.0, 12
"""Distance of buses side by side, px of the design, and how many are before they share places."""

SHRINK, STRETCH = 0.8, 1.6
"""So much narrower than usual a gap becomes where there is no room, and so much wider where there is."""

GATE_LIKE = (ElementKind.GATE, ElementKind.PILE)


@dataclass(frozen=True)
class Box:
    """A rectangle, px."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right side."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """Its lower side."""
        return self.top + self.height

    @property
    def middle(self) -> float:
        """The height of its middle."""
        return self.top + self.height / 2

    def holds(self, x: float, y: float) -> bool:
        """Return whether a point is in it."""
        return self.left <= x < self.right and self.top <= y < self.bottom

    def meets(self, other: Box) -> bool:
        """Return whether it has a point with another one in common."""
        across = self.left <= other.right and other.left <= self.right
        return across and self.top <= other.bottom and other.top <= self.bottom

    def at_least(self, side: float) -> Box:
        """Return the box grown about its middle to a least width and height."""
        width, height = max(self.width, side), max(self.height, side)
        left, top = self.left - (width - self.width) / 2, self.top - (height - self.height) / 2
        return Box(left, top, width, height)


@dataclass(frozen=True)
class BankPlace:
    """The frame of a bank and its heading."""

    frame: Box
    head: Box


@dataclass(frozen=True)
class NetworkPlaces:
    """Where everything is drawn.

    boxes: by element. banks: by key of a bank with a heading. heads: headings, by index of a column. width,
    height: of it all.
    """

    shown: ShownNetwork
    columns: tuple[FlowColumn, ...]
    u: float
    boxes: Mapping[ElementKey, Box]
    banks: Mapping[str, BankPlace]
    heads: tuple[Box, ...]
    width: float
    height: float

    def adder(self, column: int, text_width: float) -> Box:
        """Return the place of the + beside a heading whose text has a width."""
        head, side = self.heads[column], PITCH * self.u
        return Box(head.left + text_width + 4.0 * self.u, head.top + (head.height - side) / 2, side, side)

    def hit(self, key: ElementKey) -> Box:
        """Return the area that belongs to an element: its box, at least 24 px of the design each way."""
        return self.boxes[key].at_least(PITCH * self.u)

    def element_at(self, x: float, y: float) -> ElementKey | None:
        """Return the element at a place."""
        return next((key for key in self._near(y) if self.hit(key).holds(x, y)), None)

    def element_beside(self, x: float, y: float) -> ElementKey | None:
        """Return the element beside whose ports a place is, or on which it is."""
        reach = PITCH * self.u / 2
        for key in self._near(y):
            hit = self.hit(key)
            if Box(hit.left - reach, hit.top, hit.width + 2 * reach, hit.height).holds(x, y):
                return key
        return None

    def bank_at(self, x: float, y: float) -> str | None:
        """Return the bank whose heading is at a place."""
        return next((key for key, bank in self.banks.items() if bank.head.holds(x, y)), None)

    def within(self, area: Box) -> Iterator[ElementKey]:
        """Yield the elements that an area touches."""
        return (key for key in self._rows.near(area.top, area.bottom) if self.boxes[key].meets(area))

    def _near(self, y: float) -> Iterator[ElementKey]:
        reach = PITCH * self.u
        return self._rows.near(y - reach, y + reach)

    @cached_property
    def _rows(self) -> RowIndex[ElementKey]:
        """The elements by height."""
        return RowIndex((box.top, box.bottom, key) for key, box in self.boxes.items())

    @cached_property
    def by_column(self) -> Mapping[int, tuple[ElementKey, ...]]:
        """The elements of each column from top to bottom."""
        found: defaultdict[int, list[ElementKey]] = defaultdict(list)
        for element in self.shown.elements:
            found[element.column].append(element.key)
        return {
            column: tuple(sorted(keys, key=lambda key: self.boxes[key].top)) for column, keys in found.items()
        }

    @cached_property
    def quiet(self) -> frozenset[tuple[ElementKey, ElementKey]]:
        """The ends of the lines on which nothing passes."""
        lines = (line for line in self.shown.lines if line.state is LineState.NOTHING)
        return frozenset((line.start, line.end) for line in lines)

    def way_middle(self, diverter: DiverterElement, way: int) -> float:
        """Return the height of the middle of a diverter's way."""
        return self.boxes[diverter.key].top + (NAME + PITCH * (way + 0.5)) * self.u


def lay_out(
    network: FlowNetwork, open_banks: Collection[str], u: float = 1.0, room: float = 0.0
) -> NetworkPlaces:
    """Lay a network out with some banks open; u: factor of all sizes, room: width seen at once, px."""
    return _NetworkLayout(network, open_banks, u, room).places()


class _NetworkLayout:
    """The course of laying out; works in px of the design."""

    def __init__(self, network: FlowNetwork, open_banks: Collection[str], u: float, room: float) -> None:
        self._network, self._open, self._u = network, frozenset(open_banks), u
        self._shown = network.shown(open_banks)
        self._bank_order = {bank.key: index for index, bank in enumerate(network.banks)}
        self._tops: dict[ElementKey, float] = {}
        self._frames: dict[str, tuple[float, float]] = {}
        self._heights = {
            element.key: height_of(element, brief=self._is_folded(element))
            for element in self._shown.elements
        }
        self._members: defaultdict[int, list[FlowElement]] = defaultdict(list)
        for element in self._shown.elements:
            self._members[element.column].append(element)
        self._lefts, self._width = self._columns(room / u)
        self._gates = _first_of(network, ElementKind.GATE)
        self._first = self._first_framed()

    def _is_folded(self, element: FlowElement) -> bool:
        return element.bank is not None and element.bank not in self._open

    # Across

    def _columns(self, room: float) -> tuple[list[float], float]:
        """Return the left side of each column, and the width of all."""
        columns = self._network.columns
        gaps = [self._gap(index, column) for index, column in enumerate(columns)]
        boxes = 2 * MARGIN + sum(WIDTHS[column.kind] for column in columns)
        by = min(STRETCH, max(SHRINK, (room - boxes) / sum(gaps)))
        lefts, x = list[float](), 2 * MARGIN
        for column, gap in zip(columns, gaps, strict=True):
            lefts.append(x)
            x += WIDTHS[column.kind] + gap * by
        return lefts, x

    def _gap(self, index: int, column: FlowColumn) -> float:
        least = GAPS[column.kind]
        if column.kind is not ElementKind.GATE:
            return least
        after = self._shown.after
        ends = {end for element in self._members[index] for end in after.get(element.key, ())}
        return least + BUS * min(len(ends), MOST_BUSES)

    # Down

    def places(self) -> NetworkPlaces:
        """Return where everything is."""
        bottom = self._lay_frames(HEAD)
        for column in range(self._first - 1, -1, -1):
            self._lay_column(column, self._shown.after, bottom)
        for column in range(self._gates + 1, len(self._network.columns)):
            self._lay_column(column, self._shown.before, bottom)
        u, kinds = self._u, [column.kind for column in self._network.columns]
        ends = (self._tops[key] + height for key, height in self._heights.items())
        return NetworkPlaces(
            shown=self._shown,
            columns=self._network.columns,
            u=u,
            boxes={element.key: self._box(element) for element in self._shown.elements},
            banks=self._banks(),
            heads=tuple(
                Box(left * u, 0.0, WIDTHS[kind] * u, HEAD * u)
                for left, kind in zip(self._lefts, kinds, strict=True)
            ),
            width=self._width * u,
            height=(max([bottom - BANK_GAP, *ends]) + BANK_FOOT) * u,
        )

    def _box(self, element: FlowElement) -> Box:
        u, gap = self._u, 2.0 if element.kind in GATE_LIKE else 0.0
        width = WIDTHS[self._network.columns[element.column].kind]
        top, height = self._tops[element.key] + gap / 2, self._heights[element.key] - gap
        if isinstance(element, PileElement):
            width, height, top = width - SHEETS, height - 2 * SHEETS + 2.0, top + SHEETS - 1.0
        return Box(self._lefts[element.column] * u, top * u, width * u, height * u)

    def _banks(self) -> dict[str, BankPlace]:
        u = self._u
        left = self._lefts[self._first] - MARGIN
        width = self._lefts[self._gates] + WIDTHS[ElementKind.GATE] + MARGIN - left
        return {
            key: BankPlace(
                Box(left * u, top * u, width * u, (bottom - top) * u),
                Box(left * u, top * u, width * u, BANK_HEAD * u),
            )
            for key, (top, bottom) in self._frames.items()
        }

    def _first_framed(self) -> int:
        """Return the first column that the frames hold: all in it and in those up to the gates has a bank."""
        first = self._gates
        while first > 0 and all(self._may_be_framed(element) for element in self._members[first - 1]):
            first -= 1
        return first

    def _may_be_framed(self, element: FlowElement) -> bool:
        return element.bank is not None or not self._shown.after.get(element.key)

    def _lay_frames(self, top: float) -> float:
        """Place what is in the frames, bank after bank, then what has none; returns where it ends."""
        groups = self._clusters()
        for bank in self._network.banks:
            clusters = groups.pop(bank.key, [])
            y = top + (BANK_HEAD if bank.title else 0.0)
            for cluster in clusters:
                y = self._lay_cluster(cluster, y) + CLUSTER_GAP
            bottom = y - CLUSTER_GAP + BANK_FOOT if clusters else y
            if bank.title:
                self._frames[bank.key] = (top, bottom)
            top = bottom + BANK_GAP
        for cluster in [cluster for clusters in groups.values() for cluster in clusters]:
            top = self._lay_cluster(cluster, top) + NODE_GAP
        return top

    def _clusters(self) -> dict[str | None, list[dict[int, list[FlowElement]]]]:
        """Return the clusters by bank: by column, what stands in each."""
        found: dict[tuple[str | None, ElementKey], dict[int, list[FlowElement]]] = {}
        for column in (self._gates - 1, self._gates, *range(self._gates - 2, -1, -1)):
            for element in self._members[column] if column >= self._first else ():
                host = self._host(element, column)
                found.setdefault((element.bank, host), {}).setdefault(column, []).append(element)
        by_bank: dict[str | None, list[dict[int, list[FlowElement]]]] = {}
        for (bank, _), cluster in found.items():
            by_bank.setdefault(bank, []).append(cluster)
        return by_bank

    def _host(self, element: FlowElement, column: int) -> ElementKey:
        """Return the magazine in whose cluster an element is: it, its gate's, or the first it fills."""
        if element.kind is ElementKind.MAGAZINE:
            return element.key
        ends = self._shown.before if column == self._gates else self._shown.after
        return next(iter(ends.get(element.key, ())), element.key)

    def _lay_cluster(self, cluster: Mapping[int, Sequence[FlowElement]], top: float) -> float:
        """Place a cluster, each of its columns about its middle; returns where it ends."""
        heights = {column: self._stack(members) for column, members in cluster.items()}
        middle = top + max(heights.values()) / 2
        for column, members in cluster.items():
            y = middle - heights[column] / 2
            for element in members:
                self._tops[element.key] = y
                y += self._heights[element.key] + _gap_after(element)
        return top + max(heights.values())

    def _stack(self, members: Sequence[FlowElement]) -> float:
        """Return the height of elements one below the other."""
        heights = sum(self._heights[element.key] + _gap_after(element) for element in members)
        return heights - _gap_after(members[-1])

    def _lay_column(
        self, column: int, beside: Mapping[ElementKey, Sequence[ElementKey]], bottom: float
    ) -> None:
        """Place a column outside the frames, each element near to those that it is joined to."""
        members = sorted(self._members[column], key=self._first_bank)
        if not members:
            return
        tops = spread_down(
            [self._wanted(element, beside.get(element.key, ())) for element in members],
            [self._heights[element.key] for element in members],
            gap=_gap_after(members[0]),
            top=HEAD,
            bottom=bottom - NODE_GAP,
        )
        for element, y in zip(members, tops, strict=True):
            self._tops[element.key] = y

    def _first_bank(self, element: FlowElement) -> int:
        """Return the place of the first bank that an element has to do with; after all without one."""
        banks, known = self._bank_order, self._shown.by_key
        near = [known[key].bank for key in self._shown.before.get(element.key, ())]
        return min((banks[key] for key in (element.bank, *near) if key in banks), default=len(banks))

    def _wanted(self, element: FlowElement, near: Sequence[ElementKey]) -> float:
        """Return the height at which the middle of an element would be best."""
        middles = [self._end_of(key, element.key) for key in near if key in self._tops]
        return sum(middles) / len(middles) if middles else HEAD + self._heights[element.key] / 2

    def _end_of(self, key: ElementKey, to: ElementKey) -> float:
        """Return about where a line ends at an element that is placed; the ways of a diverter fan out."""
        middle = self._tops[key] + self._heights[key] / 2
        element = self._shown.by_key[key]
        if not isinstance(element, DiverterElement):
            return middle
        ends = [way.to for way in element.ways]
        if to not in ends:
            return middle
        return middle + (ends.index(to) + 0.5 - len(ends) / 2) * 2.0 * NAME


def _gap_after(element: FlowElement) -> float:
    return 0.0 if element.kind in GATE_LIKE else NODE_GAP


def _first_of(network: FlowNetwork, kind: ElementKind) -> int:
    """Return the index of the first column of a kind."""
    return next(index for index, column in enumerate(network.columns) if column.kind is kind)


def spread_down(
    wanted: Sequence[float], heights: Sequence[float], *, gap: float, top: float, bottom: float
) -> list[float]:
    """Return the tops of boxes that keep their order and a gap, each near to its wanted middle.

    The sum of the squares of what they are off is the least (isotonic regression by pooling of adjacent
    violators); then all is kept below `top`, and above `bottom` where it fits.
    """
    offsets, y = list[float](), 0.0
    for height in heights:
        offsets.append(y)
        y += height + gap
    pools: list[tuple[float, int]] = []
    for middle, height, offset in zip(wanted, heights, offsets, strict=True):
        mean, count = middle - height / 2 - offset, 1
        while pools and pools[-1][0] >= mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    most = max(top, bottom - (y - gap))
    shifts = [min(max(mean, top), most) for mean, count in pools for _ in range(count)]
    return [shift + offset for shift, offset in zip(shifts, offsets, strict=True)]
