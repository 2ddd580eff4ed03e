"""What reaches the outlets, turn by turn, against what they expect.

An item belongs to the turn in which it left the last gate before the outlet, and is called as that gate
calls it: where magazines follow one another, items of one magazine are alike. The items of a turn at an
outlet, by the middle of their arrival windows, are compared with `expects`. Items that were meant to come
there but did not leave (reported as starvation or missed-release) and misrouted ones are left out of
`expects`. So are, in turn 1, the items of a stream that runs on through theta = 0: an interval counts at
its begin, so the run starts without the rest of it. From turn 2 on they are there, as items of the turn in
which they leave: what is in the outlet when that turn is over.

If the windows of two neighbouring items with different names overlap, the spread of the travel could
swap them, which is wrong too. Times are µs after the begin of the turn to which the items belong.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Literal

from shaftscore.judge.flow.engine import RunWatch
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.model import Flow
from shaftscore.rules.items import reach
from shaftscore.rules.outlet import rank, room
from shaftscore.rules.times import LinearSpan


@dataclass(frozen=True)
class Came:
    """An item at an outlet: its name, the gate that named it, the slot by which it left, its window."""

    name: str
    gate: int
    slot: int
    earliest_us: int
    latest_us: int

    @property
    def window(self) -> LinearSpan[int]:
        """When it comes, from its earliest to its latest, µs."""
        return LinearSpan(self.earliest_us, self.latest_us)

    @property
    def place(self) -> int:
        """By what it is put in order: twice the middle of its window."""
        return rank(self.window)


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
            # Two that come at one instant could come either way: no slack says so, room(0) is kept.
            tied = other.place == item.place
            if other.name != item.name and (room(other.window, item.window) < 0 or tied):
                return Mismatch(item, other.name, "swap", other)
        if item.name not in latest or latest[item.name].latest_us < item.latest_us:
            latest[item.name] = item
    return None


class OutletOrder(RunWatch):
    """Listens to a run and keeps the first mismatch of each outlet that expects something."""

    def __init__(self, network: Network, flow: Flow) -> None:
        self.found: list[WrongOrder] = []
        self._network = network
        self._expects = _comparable(network, flow)
        self._ends = [_ends(slot, flow) & self._expects.keys() for slot in network.slots]
        self._always_lacking = _always_lacking(network, flow)
        self._before_start = [index for index, slot in enumerate(network.slots) if slot.carry]
        self._verdicts: dict[object, Mismatch | None] = {}
        self._usual: Sequence[int] | None = None

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:
        """Compare what left in a turn with what each outlet expects."""
        if not self._expects or (left is self._usual and not missed):
            return
        lacked = missed if turn else [*missed, *self._before_start]
        came, lacking = self._sorted(left, lacked)
        for outlet in list(self._expects):
            self._compare(outlet, turn, tuple(came.get(outlet, ())), tuple(lacking.get(outlet, ())))
        if not missed:
            self._usual = left  # the same slots again give the same items again

    def _sorted(
        self, left: Sequence[int], missed: Sequence[int]
    ) -> tuple[dict[str, list[int]], dict[str, list[str]]]:
        """Return, by outlet, the slots of the items that come there and the names of those that lack."""
        came: dict[str, list[int]] = {}
        lacking = {outlet: list(names) for outlet, names in self._always_lacking.items()}
        for slot in left:
            if self._network.slots[slot].route.lost is None:
                for outlet in self._ends[slot]:
                    came.setdefault(outlet, []).append(slot)
        lost = (slot for slot in left if self._network.slots[slot].route.lost is not None)
        for slot in chain(lost, missed):
            for outlet in self._ends[slot]:
                lacking.setdefault(outlet, []).append(self._name(slot))
        return came, lacking

    def _name(self, slot: int) -> str:
        return self._network.gates[self._network.slots[slot].gate].item

    def _compare(self, outlet: str, turn: int, came: tuple[int, ...], lacking: tuple[str, ...]) -> None:
        key = (outlet, came, lacking)
        if key not in self._verdicts:
            self._verdicts[key] = compared(
                [self._came(slot) for slot in came], self._expects[outlet], lacking
            )
        mismatch = self._verdicts[key]
        if mismatch is not None:
            self.found.append(WrongOrder(outlet, turn, mismatch))
            del self._expects[outlet]

    def _came(self, slot: int) -> Came:
        row = self._network.slots[slot]
        earliest, latest = (row.phase_us + offset for offset in row.route.window)
        return Came(self._name(slot), row.gate, slot, earliest, latest)


def _ends(slot: Slot, flow: Flow) -> frozenset[str]:
    """Return where an item of a slot comes, or may have been meant to come if it is misrouted."""
    if slot.route.lost is None:
        return frozenset((slot.route.end,))
    return reach(flow, flow.gates[slot.gate].to)


def _comparable(network: Network, flow: Flow) -> dict[str, tuple[str, ...]]:
    """Return what is expected by the outlets that no unjudged gate or unknown diverter may lead to."""
    dark = {end for gate in flow.gates if gate.id in network.left_out for end in reach(flow, gate.to)}
    unknown = {slot.gate for slot in network.slots if not slot.route.known}
    dark |= {end for index in unknown for end in reach(flow, flow.gates[index].to)}
    return {outlet.id: outlet.expects for outlet in flow.outlets if outlet.expects and outlet.id not in dark}


def _always_lacking(network: Network, flow: Flow) -> dict[str, list[str]]:
    """Return, by where they could come, names of items that are meant to leave but never can."""
    names: dict[str, list[str]] = {}
    for opening in network.openings:
        gate = network.gates[opening.gate]
        never = max(0, opening.meant - opening.slots)
        for end in reach(flow, gate.to) if never else ():
            names.setdefault(end, []).extend([gate.item] * never)
    return names
