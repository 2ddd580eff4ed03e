"""diverter: while an item may arrive, the state of one branch holds, and none of a branch with another end.

The state of a branch *takes* an item if it lasts through the whole window of its arrival, and *touches* it if
it shares more than an end with that window. Slack is what is left at the nearer end of the state that takes
it; or how far the window stays clear of another branch's state, where that is less.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np

from shaftscore.model import Branch, Diverter
from shaftscore.rules import exclusive
from shaftscore.rules.requires import NeedTimes, inside_deg, within
from shaftscore.rules.times import Angle, EventTimes, Floats, LinearSpan, MachineTimes, Stretches

Undecided = Literal["none", "two"]
"""Why a diverter leads an item nowhere: no branch takes it, or branches with several ends touch it."""


def inside(window: LinearSpan[Angle], held: LinearSpan[Angle]) -> tuple[Angle, Angle]:
    """Return what is left of a state at both ends of a window; it takes the item if both are at least 0."""
    return within(window, held)


def clear(
    window: LinearSpan[Angle], held: LinearSpan[Angle], again: LinearSpan[Angle]
) -> tuple[Angle, Angle]:
    """Return what lies between a window and a state before it, and the same a turn later.

    The state touches the window if one of them is less than 0.
    """
    return exclusive.room(held, window, 0), exclusive.room(window, again, 0)


def decided(takes: Sequence[Branch], touches: Sequence[Branch]) -> tuple[str, Undecided | None]:
    """Return where an item is led, and why not where it is led nowhere.

    takes, touches: the branches whose states take an item, and touch it.
    """
    if not takes:
        return "", "none"
    ends = {branch.to for branch in takes} | {branch.to for branch in touches}
    return (takes[0].to, None) if len(ends) == 1 else ("", "two")


def judged(times: MachineTimes, to: Diverter, window: Stretches) -> tuple[Floats, str]:
    """Return the slack, (n,) degrees, of the end to which the nominal machine comes nearest, and that end."""
    held = {branch: times.held(branch.state) for branch in to.by_state}
    best: dict[str, Floats] = {}
    for branch in to.by_state:
        left = inside_deg(window, NeedTimes.of(held[branch]))
        best[branch.to] = np.maximum(best.get(branch.to, left), left)
    end = max(best, key=lambda name: float(best[name][0]))
    slack = best[end]
    for branch in to.by_state:
        if branch.to != end:
            for left in _clear_of(window, held[branch], float(np.max(slack))):
                slack = np.minimum(slack, left)
    return slack, end


def _clear_of(window: Stretches, others: Sequence[EventTimes], most: float) -> Iterator[Floats]:
    """Yield how far a window stays clear of intervals, (n,) degrees, where that may be less than `most`."""
    wander = float(np.max(np.abs(window.middle - window.middle[0]) + (window.length - window.length[0]) / 2))
    first = Stretches(window.start[:1], window.length[:1])
    for held in others:
        nominal = exclusive.slack_deg(first, Stretches(held.start[:1], held.length[:1]), 0.0)
        longer = (held.longest_deg - float(held.length[0])) / 2
        if float(nominal[0]) - wander - held.wander_deg - longer < most:
            yield np.where(held.present, exclusive.slack_deg(window, held, 0.0), np.inf)
