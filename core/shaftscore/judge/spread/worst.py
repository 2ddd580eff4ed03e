"""The worst case: every error within its limits, and all of them against the rule.

A place of a rule has two lanes at most. Its slack only rises or only falls with each error, so the
worst machine stands in a corner of the errors: those of both discs, their plays, the speed, the travels and
rates, each at either limit. Errors that move both lanes alike (one stack's play, the joints of a chain
below both) cancel and stay 0. The machines of many places are judged together: each has the errors of one
place's lanes only, and is as possible a machine for every other place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.draws import (
    Draws,
    Errors,
    Floats,
    chained,
    disc_of,
    is_taut,
    joint_play_deg,
    joints,
    moving,
)
from shaftscore.judge.spread.judging import OF_FLOW, JudgedRule, Key, judge
from shaftscore.judge.spread.machines import Machines
from shaftscore.model import Lane, Project

_MOST_CHANNELS = 3
"""Channels whose travels are taken to their limits one by one; of more, all go together."""

MOST_ROWS = 20_000
"""Machines that are judged in one pass, to bound the memory."""

BOTH = (-1.0, 1.0)
LEVELS = (-1.0, 0.0, 1.0)
SHARES = (0.0, 1.0)


def worst_cases(drawn: Machines, judged: Sequence[JudgedRule], flow: FlowResult | None) -> dict[Key, float]:
    """Return the worst slack of each rule, degrees, by its kind and what it is about.

    drawn: machines of the solution; judged: what was judged of them.
    """
    project = drawn.project
    # The nominal machine, as the draws read it, is the first possible one; corners are read to other digits.
    worst = {one.key: float(one.slack_deg[0]) for one in judged}
    places = {(part.lanes, one.kind in OF_FLOW) for one in judged for part in one.parts}
    for blocks in _batches(_block(project, *place) for place in sorted(places)):
        errors = Errors(project, corners(project, blocks))
        machines = Machines(drawn.solution, errors, few=True, runs=drawn.runs)
        for one in judge(machines, flow, worst):
            worst[one.key] = min(worst[one.key], float(one.slack_deg.min()))
    return worst


@dataclass(frozen=True)
class _Axis:
    """One error that goes to its limits: what of the draws, of whom, and which values."""

    kind: str
    names: tuple[str, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class CornerBlock:
    """The machines of one place: all corners (rows, axes) of the errors that matter between its lanes."""

    axes: tuple[_Axis, ...]
    corners: Floats


def _block(project: Project, lanes: Sequence[str], of_flow: bool) -> CornerBlock:
    axes = (*_lane_axes(project, lanes), *_common_axes(project, of_flow=of_flow))
    points = [*product(*(axis.values for axis in axes))]
    return CornerBlock(axes, np.array(points, dtype=float).reshape(len(points), len(axes)))


def _batches(blocks: Iterable[CornerBlock]) -> Iterator[list[CornerBlock]]:
    """Put blocks together that are judged in one pass."""
    batch: list[CornerBlock] = []
    rows = 0
    for block in blocks:
        if rows + len(block.corners) > MOST_ROWS and batch:
            yield batch
            batch, rows = [], 0
        batch.append(block)
        rows += len(block.corners)
    if batch:
        yield batch


def corners(project: Project, blocks: Sequence[CornerBlock]) -> Draws:
    """Return the machines of some places, row 0 the nominal one; errors of other lanes are 0 in each."""
    still = np.zeros(sum(len(block.corners) for block in blocks) + 1)
    moved: dict[tuple[str, str], Floats] = {}
    begin = 1
    for block in blocks:
        end = begin + len(block.corners)
        for number, axis in enumerate(block.axes):
            for name in axis.names:
                column = moved.setdefault((axis.kind, name), np.zeros(len(still)))
                column[begin:end] = block.corners[:, number]
        begin = end

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
        fill={} if flow is None else of("fill", [magazine.id for magazine in flow.magazines]),
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
    own = [moving(project, lane) for lane in lanes]
    shared = set(own[0]).intersection(*own[1:]) if len(own) > 1 else set[str]()
    stacks = {project.stack_of(project.lane(lane)).id for lane in lanes}
    sizes = project.tolerances
    for discs in own:
        alone = tuple(disc for disc in discs if disc not in shared)
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


def _plays(project: Project, disc: str) -> bool:
    return joint_play_deg(project.stack_of(project.lane(disc))) > 0


def _is_loose(lane: Lane) -> bool:
    return lane.follower.link_play_mm > 0 and not is_taut(lane)


def _common_axes(project: Project, *, of_flow: bool) -> Iterator[_Axis]:
    sizes, flow = project.tolerances, project.flow
    if sizes.speed_percent:
        yield _Axis("speed", ("",), BOTH)
    if flow is None or not of_flow:
        return
    channels = [channel.id for channel in flow.channels]
    groups = [(name,) for name in channels] if len(channels) <= _MOST_CHANNELS else [tuple(channels)]
    if sizes.travel_percent:
        yield from (_Axis("travel", group, BOTH) for group in groups)
    if sizes.travel_percent and flow.magazines:
        yield _Axis("fill", tuple(magazine.id for magazine in flow.magazines), BOTH)
    if sizes.rate_percent and flow.supplies:
        yield _Axis("rate", tuple(supply.id for supply in flow.supplies), BOTH)
