"""opening of a gate: it lets out the items that are meant, no fewer and, of a stream, no more.

An item needs item_s. A single gate lets one out in an opening that lasts as long; a stream lets one out every
item_s. An opening without a block is meant to let out none. With a reload, the lane was in that state long
enough since the opening before, in one piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from shaftscore.base.angles import TURN, ahead, turn_to
from shaftscore.model import Gate
from shaftscore.rules.items import meant_by
from shaftscore.rules.times import (
    LOST,
    Angle,
    EventTimes,
    Floats,
    LinearSpan,
    MachineTimes,
    RulePlace,
)


def let_out(gate: Gate, length: int, item: int) -> int:
    """Return how many items an opening lets out; length and item: how long both last, in whole ticks."""
    return int(length >= item) if gate.mode == "single" else length // max(1, item)


def slack_deg(gate: Gate, length: Floats, item: Floats | float) -> Floats:
    """Return the slack of openings with a block, (n,) degrees; item: what one needs, degrees."""
    meant = meant_by(gate)
    enough = length - item * meant
    return np.minimum(enough, item * (meant + 1) - length) if gate.mode == "stream" else enough


def enough(opening: LinearSpan[Angle], item: float, meant: int) -> Angle:
    """Return what is left of an opening after the items that are meant, degrees or steps; item: one needs."""
    left: Angle = opening.end - opening.start - item * meant
    return left


def spare(opening: LinearSpan[Angle], item: float, meant: int) -> Angle:
    """Return what is missing for one item too many, degrees or steps; item: what one needs."""
    left: Angle = opening.start - opening.end + item * (meant + 1)
    return left


def reload_rooms(stay: LinearSpan[Angle], between: LinearSpan[Angle]) -> tuple[Angle, ...]:
    """Return lengths of which the least is how long a stay reloads: what it shares with the time between.

    stay: in the reload state. between: from the end of the opening before to the start of this one.
    """
    starts, ends = (stay.start, between.start), (stay.end, between.end)
    return tuple(end - start for end in ends for start in starts)


def places(times: MachineTimes, gate: Gate) -> Iterator[RulePlace]:
    """Judge every opening of a gate."""
    item = gate.item_s * times.deg_per_s
    for held in times.held(gate.state):
        none = np.where(held.present & ~held.meant, item - held.length, np.inf)
        if not held.is_meant:
            yield RulePlace((gate.state.lane,), none)
            continue
        slack = _reloaded(times, gate, held, slack_deg(gate, held.length, item))
        opens = held.present & held.meant & (held.length < TURN)
        yield RulePlace((gate.state.lane,), np.where(opens, slack, LOST))


def _reloaded(times: MachineTimes, gate: Gate, opening: EventTimes, slack: Floats) -> Floats:
    """Lower the slack to that of the longest reload since the opening before, (n,) degrees."""
    if gate.reload is None:
        return slack
    between = _between(times, gate, opening)
    shared = [
        np.where(held.present, np.minimum.reduce(reload_rooms(_stay(held, between), between)), LOST)
        for held in _nearest(times.held(gate.reload.state), between)
    ]
    longest = np.maximum.reduce(shared) if shared else np.full(len(slack), LOST)
    return np.minimum(slack, longest - gate.reload.item_s * times.deg_per_s)


def _between(times: MachineTimes, gate: Gate, opening: EventTimes) -> LinearSpan[Floats]:
    """Return the time from the end of the opening before to the start of this one, (n,) degrees."""
    begin = float(opening.start[0])
    others = [held for held in times.held(gate.state) if held.present[0]]
    before = min(others, key=lambda held: ahead(float(held.start[0] + held.length[0]), begin))
    stop = before.start + before.length
    return LinearSpan(stop + (begin - ahead(float(stop[0]), begin) - float(stop[0])), opening.start)


def _nearest(stays: Sequence[EventTimes], between: LinearSpan[Floats]) -> list[EventTimes]:
    """Return the stays that reload for some time in the nominal machine, or the one that comes nearest."""
    if not stays:
        return []
    nominal = LinearSpan(float(between.start[0]), float(between.end[0]))
    middle, share = (nominal.start + nominal.end) / 2, []
    for held in stays:
        length = float(held.length[0])
        start = middle + turn_to(middle, float(held.middle[0])) - length / 2
        rooms = reload_rooms(LinearSpan(start, start + length), nominal)
        share.append(TURN if length >= TURN else min(rooms))
    return [held for held, own in zip(stays, share, strict=True) if own > 0 or own == max(share)]


def _stay(held: EventTimes, between: LinearSpan[Floats]) -> LinearSpan[Floats]:
    """Return the repeat of an interval that lies nearest to the time between two openings, (n,) degrees.

    One that lasts the whole turn covers it.
    """
    middle = float(between.start[0] + between.end[0]) / 2
    start = held.start + (middle + turn_to(middle, float(held.middle[0])) - float(held.middle[0]))
    full = held.length >= TURN
    since, until = np.where(full, between.start, start), np.where(full, between.end, start + held.length)
    return LinearSpan(since, until)
