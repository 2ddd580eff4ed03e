"""When the gates open: the openings of one cycle and the moments at which an item can leave.

An *opening* is one state interval of one gate. A *slot* is a moment of the cycle at which an opening
lets one item out if there is one. Both repeat every turn. Slots do not depend on what the magazines
hold, so they are found once, before the run.

A single gate has one slot, at the begin; a stream has one item_s after the begin and every item_s while
the interval lasts. An opening has no slot where it is shorter than item_s, or where the lane was not
long enough in the gate's reload state since the opening before (the time in one piece counts; the first
opening of the run is as loaded as that of any other turn). A gate that never closes has no begin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from shaftscore.base.angles import Arcs
from shaftscore.judge.flow.clock import CycleClock, microseconds
from shaftscore.model import Gate
from shaftscore.rules.items import leaves_after, meant_by
from shaftscore.rules.opening import let_out, reload_rooms
from shaftscore.rules.times import LinearSpan

MOST_SLOTS = 200_000
"""Most slots of one gate in one turn; a gate with more is not simulated."""


class StateSpan(Protocol):
    """A state interval, master angles (`shaftscore.kinematics.motion.states.StateInterval` is one)."""

    @property
    def span(self) -> Arcs:
        """One stretch of the cycle, or the full turn."""

    @property
    def passing(self) -> bool:
        """Whether the lane only passes through the state."""

    @property
    def blocks(self) -> tuple[int, ...]:
        """Indices of the blocks in it."""


Why = Literal["", "short", "reload", "never-closes", "too-many"]
"""Why an opening has fewer slots than are meant."""


@dataclass(frozen=True)
class GateOpening:
    """One opening of a gate, the same in every turn.

    gate: index. begin_us: offset of its begin. length_us: how long. interval: where in the cycle.
    meant: items meant to leave. slots: items that can leave. why: why there are fewer than meant.
    reload_us: longest stretch in the reload state since the opening before (-1 without reload).
    """

    gate: int
    begin_us: int
    length_us: int
    interval: StateSpan
    meant: int
    slots: int
    why: Why = ""
    reload_us: int = -1


def gate_openings(index: int, gate: Gate, clock: CycleClock, states: Stated) -> tuple[GateOpening, ...]:
    """Return the openings of a gate by rising begin; `states` are its own and its reload intervals."""
    spans = [_timed(interval, clock) for interval in states.own]
    order = sorted(range(len(spans)), key=lambda which: spans[which])
    return tuple(
        _opening(index, gate, states.own[which], spans[which], _reloaded(spans, order, place, states, clock))
        for place, which in enumerate(order)
    )


@dataclass(frozen=True)
class Stated:
    """The intervals of a gate's own state and of its reload state (None without reload)."""

    own: Sequence[StateSpan]
    reload: Sequence[StateSpan] | None = None


Timed = tuple[int, int]
"""(begin, length) in µs."""


def _timed(interval: StateSpan, clock: CycleClock) -> Timed:
    span = interval.span
    begin = clock.offset(span.start)
    return begin, clock.offset(span.start + span.length) - begin


def _opening(index: int, gate: Gate, interval: StateSpan, timed: Timed, reload_us: int) -> GateOpening:
    begin, length = timed
    meant = 0 if interval.passing else meant_by(gate)
    slots, why = _slots(gate, interval, length, reload_us)
    fewer = slots < meant or why == "too-many"
    return GateOpening(index, begin, length, interval, meant, slots, why if fewer else "", reload_us)


def _slots(gate: Gate, interval: StateSpan, length_us: int, reload_us: int) -> tuple[int, Why]:
    item_us = microseconds(gate.item_s)
    if interval.span.is_full:
        return 0, "never-closes"
    if gate.reload is not None and reload_us < microseconds(gate.reload.item_s):
        return 0, "reload"
    count = let_out(gate, length_us, item_us)
    return (0, "too-many") if count > MOST_SLOTS else (count, "short")


def _reloaded(spans: list[Timed], order: list[int], place: int, states: Stated, clock: CycleClock) -> int:
    """Return the longest stretch in the reload state between the opening before and this one, µs."""
    if states.reload is None:
        return -1
    begin = spans[order[place]][0]
    before, length = spans[order[place - 1]]
    since = before + length - (0 if place else clock.cycle_us)
    between = LinearSpan(since, begin)
    return max(0, *(_shared(between, stay, clock) for stay in states.reload), 0)


def _shared(between: LinearSpan[int], stay: StateSpan, clock: CycleClock) -> int:
    """Return how long a repeating interval reloads at the longest between two openings, µs."""
    if stay.span.is_full:
        return between.end - between.start
    begin, length = _timed(stay, clock)
    starts = (begin + lap * clock.cycle_us for lap in (-2, -1, 0, 1))
    return max(min(reload_rooms(LinearSpan(start, start + length), between)) for start in starts)


def slot_times(gate: Gate, opening: GateOpening) -> Iterator[int]:
    """Yield the times of an opening's slots, µs after the start of the turn in which it begins."""
    item_us = microseconds(gate.item_s)
    yield from (opening.begin_us + leaves_after(gate, item_us, number) for number in range(opening.slots))
