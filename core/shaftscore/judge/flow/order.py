"""What reaches the outlets, turn by turn, against what they expect.

An item belongs to the turn in which it left its first gate, and is called as that gate calls it. A turn
is compared once all its items have come to an end: the items of that turn at an outlet, by the middle
of their arrival windows, against `expects`. Items that were meant but did not leave (reported as
starvation or missed-release) and misrouted ones are left out of `expects`. Items that lay behind their
first gate when the run began belong to no turn and are not compared.

If the windows of two neighbouring items with different names overlap, the spread of the travel could
swap them, which is wrong too. Times are µs after the begin of the turn to which the items belong.
"""

from __future__ import annotations

from bisect import insort
from collections import Counter, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Literal, NamedTuple

from shaftscore.judge.flow.engine import State, Watch
from shaftscore.judge.flow.network import Network, Store, reach
from shaftscore.judge.flow.routes import Route
from shaftscore.model import Flow

NOWHERE = -1
"""The gate of an item that lay behind its first gate when the run began."""


@dataclass(frozen=True)
class Came:
    """An item at an outlet: its name, the gate that named it, the slot it came by last, its window."""

    name: str
    gate: int
    slot: int
    earliest_us: int
    latest_us: int

    @property
    def place(self) -> int:
        """Twice the middle of its window."""
        return self.earliest_us + self.latest_us


@dataclass(frozen=True)
class Mismatch:
    """The first place at which an outlet gets something else than expected; None for nothing.

    why: "order" as compared, "swap" where only the spread may swap `got` and `other`. other: the item
    that was expected in the place of `got`, where it came too.
    """

    got: Came | None
    expected: str
    why: Literal["order", "swap"] = "order"
    other: Came | None = None


@dataclass(frozen=True)
class WrongOrder:
    """A mismatch at an outlet, in a turn counted from 0."""

    outlet: str
    turn: int
    mismatch: Mismatch


def compared(came: Sequence[Came], expects: Sequence[str], left_out: Iterable[str] = ()) -> Mismatch | None:
    """Compare what came in a turn with what an outlet expects; `left_out` may be lacking."""
    items = sorted(came, key=lambda item: item.place)
    return _against(items, expects, Counter(left_out)) or _swapped(items)


def _against(items: Sequence[Came], expects: Sequence[str], lacking: Counter[str]) -> Mismatch | None:
    wanted = list(expects)
    for place, item in enumerate(items):
        while wanted and wanted[0] != item.name and lacking[wanted[0]] > 0:
            lacking[wanted.pop(0)] -= 1
        if not wanted or wanted[0] != item.name:
            expected = wanted[0] if wanted else ""
            later = (other for other in items[place:] if other.name == expected)
            return Mismatch(item, expected, other=next(later, None))
        wanted.pop(0)
    rest = Counter(wanted) - lacking
    return Mismatch(None, next(name for name in wanted if name in rest)) if rest else None


def _swapped(items: Sequence[Came]) -> Mismatch | None:
    """Find two items of different names that could come the other way round."""
    latest: dict[str, Came] = {}
    for item in items:
        for other in latest.values():
            if other.name != item.name and (other.latest_us > item.earliest_us or other.place == item.place):
                return Mismatch(item, other.name, "swap", other)
        if item.name not in latest or latest[item.name].latest_us < item.latest_us:
            latest[item.name] = item
    return None


class _Tag(NamedTuple):
    """Whose an item is: the turn (from 0) and the gate of its birth; NOWHERE for neither."""

    turn: int
    gate: int


_EARLY = _Tag(NOWHERE, NOWHERE)


@dataclass
class _Turn:
    """What became of a turn's items.

    came: (slot, turns later, gate of birth) by outlet. lacking: names that were meant but did not come
    out or were lost. under_way: items that lie in magazines or are on the way to them.
    """

    came: dict[str, list[tuple[int, int, int]]] = field(default_factory=dict)
    lacking: list[str] = field(default_factory=list)
    under_way: int = 0


class Order(Watch):
    """Listens to a run and keeps the first mismatch of each outlet that expects something."""

    def __init__(self, network: Network, flow: Flow) -> None:
        self.found: list[WrongOrder] = []
        self._network = network
        self._expects = _comparable(network, flow)
        self._always_lacking = _always_lacking(network)
        self._line = {
            index: deque((-1, NOWHERE, _EARLY) for _ in range(store.start))
            for index, store in enumerate(network.stores)
            if is_followed(store)
        }
        self._serial = count()
        self._turn = 0
        self._open: dict[int, _Turn] = {}
        self._verdicts: dict[object, Mismatch | None] = {}
        self._usual: Sequence[int] | None = None

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:
        """Follow what left in a turn, and compare every turn whose items have all come to an end."""
        self._turn = turn + 1
        if not self._expects or (left is self._usual and not missed):
            return
        self._open[turn] = _Turn(lacking=list(self._always_lacking))
        for slot in left:
            self._left(slot, turn)
        for slot in missed:
            self._not_born(slot, turn)
        for then in [then for then, ledger in self._open.items() if not ledger.under_way]:
            ledger = self._open.pop(then)
            for outlet in list(self._expects):
                self._compare(outlet, then, ledger)
        if not self._line and not missed:
            self._usual = left  # the same slots again give the same items again

    def _left(self, slot: int, turn: int) -> None:
        """Follow an item that left through a slot."""
        row = self._network.slots[slot]
        tag = _Tag(turn, row.gate)
        if row.store in self._line:
            tag = self._line[row.store].popleft()[2]
            self._count(tag, -1)
        to = self._network.ends.get(row.route.end, -1)
        if to in self._line:
            leaves = turn * self._network.clock.cycle_us + row.phase_us
            arrives = leaves + row.route.window[1] + self._network.stores[to].travel_us
            insort(self._line[to], (arrives, next(self._serial), tag))
            self._count(tag, 1)
        elif tag.gate != NOWHERE:
            self._ended(row.route, slot, turn, tag)

    def _count(self, tag: _Tag, change: int) -> None:
        if tag.gate != NOWHERE:
            self._open[tag.turn].under_way += change

    def _ended(self, route: Route, slot: int, turn: int, tag: _Tag) -> None:
        ledger = self._open[tag.turn]
        if route.lost is not None:
            ledger.lacking.append(self._network.gates[tag.gate].item)
        elif route.end in self._expects:
            ledger.came.setdefault(route.end, []).append((slot, turn - tag.turn, tag.gate))

    def _not_born(self, slot: int, turn: int) -> None:
        """Note that an item that was meant did not leave its first gate."""
        row = self._network.slots[slot]
        if row.store not in self._line:
            self._open[turn].lacking.append(self._network.gates[row.gate].item)

    def _compare(self, outlet: str, turn: int, ledger: _Turn) -> None:
        came = tuple(ledger.came.get(outlet, ()))
        key = (outlet, came, tuple(ledger.lacking))
        if key not in self._verdicts:
            items = [self._came(*entry) for entry in came]
            self._verdicts[key] = compared(items, self._expects[outlet], ledger.lacking)
        mismatch = self._verdicts[key]
        if mismatch is not None:
            self.found.append(WrongOrder(outlet, turn, mismatch))
            del self._expects[outlet]

    def _came(self, slot: int, later: int, gate: int) -> Came:
        row, clock = self._network.slots[slot], self._network.clock
        earliest, latest = row.route.window
        start = later * clock.cycle_us + row.phase_us
        return Came(self._network.gates[gate].item, gate, slot, start + earliest, start + latest)

    def state(self) -> State:
        """Return the items in followed magazines and what is known of turns not compared yet."""
        if not self._expects or not self._line:
            return ()
        turn = self._turn
        start = turn * self._network.clock.cycle_us
        lines = tuple(
            tuple(
                (max(arrives - start, -1), turn - tag.turn if tag.gate >= 0 else 0, tag.gate)
                for arrives, _, tag in line
            )
            for line in self._line.values()
        )
        ledgers = tuple(
            (
                turn - then,
                ledger.under_way,
                tuple(ledger.lacking),
                tuple((o, tuple(c)) for o, c in ledger.came.items()),
            )
            for then, ledger in self._open.items()
        )
        return lines, ledgers


def is_followed(store: Store) -> bool:
    """Return whether items keep their turn and name through a magazine: it is filled through gates alone.

    Where a supply fills it too, what comes out cannot be told apart and begins anew at its gate.
    """
    return store.fed and store.supply < 0


def _comparable(network: Network, flow: Flow) -> dict[str, tuple[str, ...]]:
    """Return what is expected by the outlets that no unjudged gate or unknown diverter may lead to."""
    dark = {end for gate in flow.gates if gate.id in network.left_out for end in reach(flow, gate.to)}
    unknown = {slot.gate for slot in network.slots if not slot.route.known}
    dark |= {end for index in unknown for end in reach(flow, flow.gates[index].to)}
    return {
        outlet.id: outlet.expects
        for outlet in flow.outlets
        if outlet.expects is not None and outlet.id not in dark
    }


def _always_lacking(network: Network) -> tuple[str, ...]:
    """Return the names of items that openings of first gates are meant to let out but never can."""
    names: list[str] = []
    for opening in network.openings:
        store = network.ends[network.gates[opening.gate].source]
        if not is_followed(network.stores[store]):
            names += [network.gates[opening.gate].item] * max(0, opening.meant - opening.slots)
    return tuple(names)
