"""not-checked: a spring whose stated ratio is not what its hook gives, so that its forces are another one's.

A hook at a distance h from the pivot moves h / arm times as far as the roller, and pulls the spring by the
cosine of its slant of that. A spring along a slide moves as far as the roller.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from shaftscore.base.wording import plain
from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.pivots import lever_seats
from shaftscore.solution import Solution

APART = 0.02
"""Share by which a stated ratio may be off (common practice, no source)."""

PLACE = 30_000
"""Distinguishes the finding from others of the lane."""


def spring_ratio(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find springs whose ratio contradicts their hooks; in a hurry what was last said stands in.

    Nothing is said of some lanes alone: where a spring's other end has room depends on all of them.
    """
    is_whole = len(solution.lanes) == len(solution.project.lanes)
    if not is_whole or not any(lane.lane.parts is not None for lane in solution.lanes.values()):
        return
    reads = (
        solution.project.frame,
        solution.project.drive,
        *solution.project.stacks,
        *solution.lanes.values(),
    )
    found_, _ = memo.kept.keep_late("spring ratio", reads, lambda _: tuple(_of(solution)))
    yield from found_ or ()


def _of(solution: Solution) -> Iterator[Finding]:
    seats = lever_seats(solution)
    for lane in solution.lanes.values():
        try:
            layout = machine_follower(solution, lane, seats)
        except FollowerLayoutError:  # which has a finding of its own
            continue
        ratio = None if layout is None else hook_ratio(layout)
        load = lane.lane.load
        spring = None if load is None else load.spring
        if ratio is None or spring is None or abs(spring.ratio - ratio) <= APART * ratio:
            continue
        told = f"Its spring is checked with the stated ratio of {plain(spring.ratio, 3)}, but its hook gives"
        why = f"{told} {plain(ratio, 3)} of the roller’s travel. Set the ratio to {plain(ratio, 3)}."
        yield found("not-checked", (lane.lane.id,), place=PLACE, why=why)


def hook_ratio(layout: FollowerLayout) -> float | None:
    """Return a spring's travel over that of the roller, by its hook; None without a described spring."""
    hook = layout.parts.spring_hook_mm
    if hook is None or layout.spring is None:
        return None
    if layout.pivot is None:
        return 1.0
    return hook / layout.parts.arm_mm * math.cos(layout.spring_slant_rad or 0.0)


SPRING_RATIO = MachineCheck(("not-checked",), spring_ratio)
"""The row of the table of checks."""
