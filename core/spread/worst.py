"""The worst case: every error within its limits, and all of them against the rule.

A place of a rule has two lanes at most. Its slack only rises or only falls with each error, so the
worst machine stands in a corner of the errors: those of both discs, their plays, the speed, the travels and
rates, each at either limit. Errors that move both lanes alike (one stack's play, the joints of a chain
below both) cancel and stay 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from core.flow import FlowResult
from core.model import Lane, Project
from core.solution import Solution
from core.spread.draws import Draws, Errors, Floats, chained, disc_of, is_taut, joint_play_deg, joints
from core.spread.judging import Judged, Key, judge
from core.spread.machines import Machines
from core.spread.states import LaneRuns

_MOST_CHANNELS = 3
"""Channels whose travels are taken to their limits one by one; of more, all go together."""

BOTH = (-1.0, 1.0)
LEVELS = (-1.0, 0.0, 1.0)
SHARES = (0.0, 1.0)


def worst_cases(solution: Solution, judged: Sequence[Judged], flow: FlowResult | None) -> dict[Key, float]:
    """Give the worst slack of each rule, degrees, by its kind and what it is about."""
    worst: dict[Key, float] = {one.key: float("inf") for one in judged}
    places: dict[tuple[str, ...], set[Key]] = {}
    for one in judged:
        for part in one.parts:
            places.setdefault(part.lanes, set()).add(one.key)
    runs: dict[str, LaneRuns] = {}
    for lanes, keys in places.items():
        errors = Errors(solution.project, corners(solution.project, lanes))
        machines = Machines(solution, errors, frozenset(lanes), _runs=runs)
        for one in judge(machines, flow, keys):
            worst[one.key] = min(worst[one.key], float(one.slack_deg.min()))
    return worst


@dataclass(frozen=True)
class _Axis:
    """One error that goes to its limits: what of the draws, of whom, and which values."""

    kind: str
    names: tuple[str, ...]
    values: tuple[float, ...]


def corners(project: Project, lanes: Sequence[str]) -> Draws:
    """Give the machines at all corners of the errors that matter between lanes, row 0 the nominal one."""
    axes = [*_lane_axes(project, lanes), *_common_axes(project)]
    points = [*product(*(axis.values for axis in axes))]
    rows = np.array(points, dtype=float).reshape(len(points), len(axes))
    still = np.zeros(len(rows) + 1)
    moved: dict[tuple[str, str], Floats] = {}
    for number, axis in enumerate(axes):
        column = np.concatenate(([0.0], rows[:, number]))
        moved |= {(axis.kind, name): column for name in axis.names}

    def of(kind: str, names: Sequence[str]) -> dict[str, Floats]:
        return {name: moved.get((kind, name), still) for name in names}

    keyed = [lane.id for lane in project.lanes if lane.kind != "rider"]
    flow = project.flow
    return Draws(
        angle=of("angle", keyed),
        height=of("height", keyed),
        link=of("link", [lane.id for lane in project.lanes]),
        joint=_whole(project, of("joint", [d for stack in project.stacks for d in chained(project, stack)])),
        backlash=of("backlash", [stack.id for stack in project.stacks]),
        speed=moved.get(("speed", ""), still),
        travel={} if flow is None else of("travel", [channel.id for channel in flow.channels]),
        rate={} if flow is None else of("rate", [supply.id for supply in flow.supplies]),
    )


def _whole(project: Project, joint: dict[str, Floats]) -> dict[str, Floats]:
    """Let every joint just before a disc go to its limit."""
    counts = {
        disc: count
        for stack in project.stacks
        for disc, count in zip(chained(project, stack), joints(project, stack), strict=True)
    }
    return {disc: share * counts[disc] for disc, share in joint.items()}


def _lane_axes(project: Project, lanes: Sequence[str]) -> Iterator[_Axis]:
    """List what moves one of the lanes and not the others."""
    moving = [_moving(project, lane) for lane in lanes]
    shared = set(moving[0]).intersection(*moving[1:]) if len(moving) > 1 else set[str]()
    stacks = {project.stack_of(project.lane(lane)).id for lane in lanes}
    sizes = project.tolerances
    for own in moving:
        alone = tuple(disc for disc in own if disc not in shared)
        if alone and sizes.disc_angle_deg:
            yield _Axis("angle", alone, BOTH)
        if any(_plays(project, disc) for disc in alone):
            yield _Axis("joint", alone, SHARES)
    for disc in dict.fromkeys(disc_of(project, lane) for lane in lanes):
        if sizes.profile_mm:
            yield _Axis("height", (disc,), LEVELS)
    yield from (_Axis("link", (lane,), SHARES) for lane in lanes if _is_loose(project.lane(lane)))
    for stack in project.stacks:
        if len(stacks) > 1 and stack.id in stacks and stack.backlash_deg:
            yield _Axis("backlash", (stack.id,), SHARES)


def _moving(project: Project, lane_id: str) -> tuple[str, ...]:
    """Give the discs whose angles move a lane."""
    disc = disc_of(project, lane_id)
    chain = chained(project, project.stack_of(project.lane(lane_id)))
    return chain[: chain.index(disc) + 1] if disc in chain else (disc,)


def _plays(project: Project, disc: str) -> bool:
    return joint_play_deg(project.stack_of(project.lane(disc))) > 0


def _is_loose(lane: Lane) -> bool:
    return lane.follower.link_play_mm > 0 and not is_taut(lane)


def _common_axes(project: Project) -> Iterator[_Axis]:
    sizes, flow = project.tolerances, project.flow
    if sizes.speed_percent:
        yield _Axis("speed", ("",), BOTH)
    if flow is None:
        return
    channels = [channel.id for channel in flow.channels]
    groups = [(name,) for name in channels] if len(channels) <= _MOST_CHANNELS else [tuple(channels)]
    if sizes.travel_percent:
        yield from (_Axis("travel", group, BOTH) for group in groups)
    if sizes.rate_percent and flow.supplies:
        yield _Axis("rate", tuple(supply.id for supply in flow.supplies), BOTH)
