"""Findings of heights: off-edge lane by lane, between-layers part by part."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from shaftscore.built.heights import HeightBand
from shaftscore.judge.bodies import parts_of
from shaftscore.judge.checks.base import Curable, Memo
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.judge.heights.cures import edge_cure, touch_cure
from shaftscore.judge.heights.layers import between_layers
from shaftscore.judge.heights.stacks import LaneHeights, StackHeights
from shaftscore.judge.heights.touching import is_near, worst_touch
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution
from shaftscore.stack.followers import follower_heights
from shaftscore.stack.plan import StackPlan, stack_plan

HEIGHT_RULES = ("off-edge", "between-layers")
"""The rules decided here."""


def height_findings(heights: tuple[StackHeights, ...], solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find what is off its edge, touches a neighbour in the worst case, or lies between layers."""
    for one in heights:
        compute = partial(_off_edge, one, solution.project)
        yield from memo.keep_curable(("off-edge", one.stack.id), (one,), compute)
        yield from _touches(one, solution, memo)
    layers = (*heights, *(one.stack for one in heights))
    yield from memo.keep(("between-layers",), layers, partial(between_layers, solution))


def _off_edge(one: StackHeights, project: Project) -> Iterator[Curable]:
    for lane_id, own in one.lanes.items():
        if not own.stays_on_edge:
            finding = _edge_finding(lane_id, own, project)
            yield Curable(finding, partial(edge_cure, project, lane_id), slow=True)


def _edge_finding(lane_id: str, own: LaneHeights, project: Project) -> Finding:
    """Return an error where the roller is off as drawn, else a warning of the worst case."""
    flat = project.lane(lane_id).follower.kind == "translating-flat"
    return found(
        "off-edge",
        (lane_id,),
        severity=Severity.WARNING if own.is_on_edge else Severity.ERROR,
        value=own.worst_overlap_mm if own.is_on_edge else own.overlap_mm,
        limit=own.required_mm,
        how="worst" if own.is_on_edge else "drawn",
        what="Flat face" if flat else "Roller",
        tolerance_mm=own.tolerance_mm,
    )


def _touches(one: StackHeights, solution: Solution, memo: Memo) -> tuple[Finding, ...]:
    """Find followers that touch a neighbour in the worst case; in a hurry, what was last found."""
    key = ("touch", one.stack.id)
    reads = (one, *solution.on_stack(one.stack.id))
    if memo.is_quick:
        last: tuple[Finding, ...] | None = memo.kept.stand_in(key, reads)[0]
        return last or ()
    return memo.keep(key, reads, partial(_touching, one, solution))


def _touching(one: StackHeights, solution: Solution) -> Iterator[Finding]:
    """Look at the lanes that heights let touch; those off their own disc have a finding already."""
    project, plan = solution.project, stack_plan(solution.project, one.stack)
    near = [
        (lane_id, own)
        for lane_id, own in one.lanes.items()
        if own.stays_on_edge and _is_near(project, one.stack, plan, lane_id, own)
    ]
    parts = parts_of(solution, one.stack) if near else ()
    for lane_id, own in near:
        touch = worst_touch(lane_id, own.tolerance_mm, parts)
        if touch is not None:
            yield found(
                "off-edge",
                (lane_id,),
                value=touch.gap_mm,
                limit=0.0,
                cure=touch_cure(solution, lane_id, touch),
                place=1,
                how="touch",
                first=touch.first,
                second=touch.second,
                tolerance_mm=own.tolerance_mm,
            )


def _is_near(project: Project, stack: Stack, plan: StackPlan, lane_id: str, own: LaneHeights) -> bool:
    lane = project.lane(lane_id)
    host = lane.disc_of or lane_id
    heights = follower_heights(project, stack, lane, plan.disc(host))
    return is_near(HeightBand(heights.bottom_mm, heights.top_mm), host, own.tolerance_mm, plan)
