"""The flow as it is drawn: elements in columns, lines between them, banks and piles of gates.

Everything here is data: no colours, no pixels. An *element* is a part of the flow with what is written on
it. Columns run from supplies to outlets; within a column elements stand by bank, then in file order. A
*bank* holds the elements of one lane group; folded, it shows a *pile* for all its gates of one magazine and
level. What of the banks is open is a matter of the view: `FlowNetwork.shown`.

Figures belong to a run of `turns` turns; where nothing could be run they are None, and texts leave them out.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property

from shaftscore.judge.findings import Finding, Severity

ElementKey = tuple[str, str]
"""What an element keeps while the flow is edited: its kind and its id (see `key_of`)."""


class ElementKind(StrEnum):
    """What an element is; PILE: the gates of a folded bank that share magazine and level."""

    SUPPLY = "supply"
    MAGAZINE = "magazine"
    GATE = "gate"
    CHANNEL = "channel"
    DIVERTER = "diverter"
    OUTLET = "outlet"
    PILE = "pile"


def key_of(kind: ElementKind, part_id: str) -> ElementKey:
    """Return the key of an element: that of a diverter has the id of the channel at whose end it is."""
    return kind.value, part_id


@dataclass(frozen=True)
class FlowColumn:
    """A column: what stands in it, the heading, and how many magazines lie before its own.

    kind: SUPPLY, MAGAZINE, GATE, CHANNEL, DIVERTER or OUTLET; the plus at its heading makes one of these.
    depth: 0, or more for magazines (and their gates) that are filled through another magazine's gate.
    is_empty: nothing stands in it; it has a heading all the same.
    """

    kind: ElementKind
    title: str
    depth: int = 0
    is_empty: bool = False


@dataclass(frozen=True)
class FlowMark:
    """What is found about an element: the worst of it.

    words: what is said on the element ("empty in turn 5"), only where it is the cause; "" on an element
    that a consequence touches: the sign alone. said: the same for those who hear it ("opens empty from
    turn 5"), on both. finding: the one that a click shows. count: findings about the element.
    """

    severity: Severity
    words: str
    said: str
    finding: Finding
    count: int = 1


@dataclass(frozen=True)
class FlowElement:
    """A part of the flow in its place.

    id: of the record, never shown. name: what is shown. column: index in `FlowNetwork.columns`. order: place
    in its column, counted over all banks. bank: key of its bank, None where it belongs to no one bank. mark:
    what is found about it. spoken: all that is drawn on it in one sentence, for those who hear it.
    """

    key: ElementKey
    id: str
    name: str
    column: int
    order: int
    bank: str | None
    mark: FlowMark | None
    spoken: str

    @property
    def kind(self) -> ElementKind:
        """What the element is."""
        return ElementKind(self.key[0])


@dataclass(frozen=True)
class SupplyElement(FlowElement):
    """A supply.

    rate_text: "12.0 per min" or "endless". is_short: what it gives is less than what is drawn, and a gate
    goes without: the rate is drawn as the cause.
    """

    rate_per_min: float | None
    rate_text: str
    is_short: bool


@dataclass(frozen=True)
class MagazineElement(FlowElement):
    """A magazine: a cell a place, filled to the lowest count of the run.

    demand_per_min: items that its gates are meant to let out. demand_text: "15 per min". lowest_count: of the
    run. lowest_text: "lowest 4 of 8". start_text: "starts with 6". empty_turn: the turn (from 1) in which a
    gate first finds it empty, or None; then the words of its mark stand in the place of lowest_text.
    """

    capacity: int
    start_count: int
    lowest_count: int | None
    demand_per_min: float | None
    demand_text: str
    lowest_text: str
    start_text: str
    empty_turn: int | None


@dataclass(frozen=True)
class GateElement(FlowElement):
    """A gate: a level of a lane. Its name is the lane's code with the level ("A4 right").

    lane: id. code: of the lane ("A4"), drawn bold. level: name, or the range as text ("2 to 5 mm"). height:
    of the level between the lane's lowest (0.0) and highest (1.0), for the level's mark. rank: of the level
    from the lowest, 0; -1 for a range that does not hold just one level (the tint and pattern of a level go
    by its rank). magazine: key of the magazine out of which it lets items. per_turn: items that it is meant
    to let through a turn, None where its lane has no motion. per_turn_text: "1 a turn", "never opens", or "no
    motion yet". opens: whether it ever opens, None where that is not known. first_opening_deg: master angle
    at which it opens first, or None.
    """

    lane: str
    code: str
    level: str
    height: float
    rank: int
    magazine: ElementKey
    item: str
    per_turn: int | None
    per_turn_text: str
    opens: bool | None
    first_opening_deg: float | None


@dataclass(frozen=True)
class PileElement(FlowElement):
    """The gates of a folded bank that let items of one magazine out at one level, drawn as a pile.

    name: "C1 to C4 left". gates: their keys, in order. ever_open: how many of them ever open. count_text: "2
    of 4". level, height, rank: as those of its gates. magazine: key.
    """

    gates: tuple[ElementKey, ...]
    ever_open: int
    count_text: str
    level: str
    height: float
    rank: int
    magazine: ElementKey


@dataclass(frozen=True)
class ChannelElement(FlowElement):
    """A channel. Each text is "" where there is nothing to say.

    travel_text: "0.30 to 0.45 s". headway_text: "0.15 s". closest_s: least time between two items at its end
    in the run, s, or None; closest_text: "0.25 s"; closest_pair: "A1, B3", the codes of their lanes.
    is_close: less than the headway. inflow_per_min: items that enter it.
    """

    travel_text: str
    headway_text: str
    closest_s: float | None
    closest_text: str
    closest_pair: str
    is_close: bool
    inflow_per_min: float | None


@dataclass(frozen=True)
class DiverterWay:
    """A way of a diverter: the level (see GateElement) and where it leads.

    to: key of the element there, None where nothing is so called. to_name: as shown. per_turn_text: "13 a
    turn", "none", or "".
    """

    level: str
    height: float
    rank: int
    to: ElementKey | None
    to_name: str
    per_turn_text: str


@dataclass(frozen=True)
class DiverterElement(FlowElement):
    """A diverter at the end of a channel (its id is the channel's): its lane, and what goes where."""

    lane: str
    code: str
    ways: tuple[DiverterWay, ...]


@dataclass(frozen=True)
class OutletElement(FlowElement):
    """An outlet.

    expects_text: "expects 13 measures", or "" where it expects nothing in particular. got_text: "got 13 a
    turn", "12 or fewer from turn 5", "nothing arrives". is_short: less came than is expected: drawn as an
    error. expects: items a turn, None where nothing is expected. got: the fewest and the most that came in a
    turn of the run, or None.
    """

    expects_text: str
    got_text: str
    is_short: bool
    expects: int | None
    got: tuple[int, int] | None


class LineState(StrEnum):
    """How a line is drawn.

    FLOWS: solid. NOTHING: dashed, no item passes. FAILS: from a cause up to and including what it starves.
    """

    FLOWS = "flows"
    NOTHING = "nothing"
    FAILS = "fails"


@dataclass(frozen=True)
class FlowLine:
    """A line from an element to the next. Lines of gates that end in one element share a bus.

    per_min: items a minute; 0.0 also where it is not known.
    """

    start: ElementKey
    end: ElementKey
    per_min: float
    state: LineState

    @property
    def width(self) -> float:
        """Thickness in px at 100 %: 1, and 1 more for every 7 items a minute, at most 5."""
        return min(5.0, 1.0 + self.per_min / 7.0)


@dataclass(frozen=True)
class FlowBank:
    """The elements of one lane group.

    key: the group's name; "" for lanes without a group. title: heading; "" where there is only one bank of
    few gates, which then has no heading and is always open. text: "2 magazines, 8 gates". members: keys of
    its supplies, magazines and gates, by column and order. piles: what stands in the place of its gates
    while it is folded. worst: the worst severity among its marks. starts_open: by the rules of `banks`.
    """

    key: str
    title: str
    text: str
    members: tuple[ElementKey, ...]
    piles: tuple[PileElement, ...]
    worst: Severity | None
    starts_open: bool


_Ends = Callable[[FlowLine], tuple[ElementKey, ElementKey]]


@dataclass(frozen=True)
class ShownNetwork:
    """What is to be drawn with some banks open.

    elements: by column, then from the top. lines: between them.
    """

    elements: tuple[FlowElement, ...]
    lines: tuple[FlowLine, ...]

    @cached_property
    def by_key(self) -> Mapping[ElementKey, FlowElement]:
        """The elements by key."""
        return {element.key: element for element in self.elements}

    @cached_property
    def after(self) -> Mapping[ElementKey, tuple[ElementKey, ...]]:
        """The elements to which lines lead from each, from the top: the way of the Right key."""
        return self._beside(lambda line: (line.start, line.end))

    @cached_property
    def before(self) -> Mapping[ElementKey, tuple[ElementKey, ...]]:
        """The elements from which lines lead to each, from the top: the way of the Left key."""
        return self._beside(lambda line: (line.end, line.start))

    def _beside(self, ends: _Ends) -> dict[ElementKey, tuple[ElementKey, ...]]:
        place = {element.key: index for index, element in enumerate(self.elements)}
        found: dict[ElementKey, dict[ElementKey, None]] = {}
        for one, other in map(ends, self.lines):
            found.setdefault(one, {})[other] = None
        return {key: tuple(sorted(others, key=place.__getitem__)) for key, others in found.items()}


@dataclass(frozen=True)
class FlowNetwork:
    """The whole flow, unfolded.

    columns: from left to right. elements: of all kinds but PILE, by column and order. lines: between them.
    banks: in the order of the column. turns: of the run that the figures are from; 0 where nothing was run.
    is_stale: the figures and marks belong to an earlier project: they are drawn in `muted`.
    """

    columns: tuple[FlowColumn, ...]
    elements: tuple[FlowElement, ...]
    lines: tuple[FlowLine, ...]
    banks: tuple[FlowBank, ...]
    turns: int
    is_stale: bool

    @property
    def starts_open(self) -> frozenset[str]:
        """The keys of the banks that are open until somebody folds them."""
        return frozenset(bank.key for bank in self.banks if bank.starts_open)

    @cached_property
    def by_key(self) -> Mapping[ElementKey, FlowElement]:
        """The elements by key."""
        return {element.key: element for element in self.elements}

    def shown(self, open_banks: Collection[str]) -> ShownNetwork:
        """Return what is drawn while the banks of these keys are open; the gates of others lie in piles."""
        standing = {
            gate: pile
            for bank in self.banks
            if bank.key not in open_banks
            for pile in bank.piles
            for gate in pile.gates
        }
        elements: dict[ElementKey, FlowElement] = {}
        for element in self.elements:
            instead = standing.get(element.key, element)
            elements.setdefault(instead.key, instead)
        return ShownNetwork(tuple(elements.values()), _merged(self.lines, standing))


def _merged(lines: tuple[FlowLine, ...], standing: Mapping[ElementKey, PileElement]) -> tuple[FlowLine, ...]:
    """Return lines that end at piles where gates lie in them; those with the same ends become one."""
    found: dict[tuple[ElementKey, ElementKey], FlowLine] = {}
    for line in lines:
        start, end = (standing[key].key if key in standing else key for key in (line.start, line.end))
        other = found.get((start, end))
        found[start, end] = replace(line, start=start, end=end) if other is None else _together(other, line)
    return tuple(found.values())


def _together(one: FlowLine, other: FlowLine) -> FlowLine:
    """Return two lines as one: their items together, in the worse state."""
    states = (LineState.FAILS, LineState.FLOWS, LineState.NOTHING)
    state = next(state for state in states if state in (one.state, other.state))
    return replace(one, per_min=one.per_min + other.per_min, state=state)
