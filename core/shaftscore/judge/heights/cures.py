"""Cures of off-edge: followers set on the built stack, other spacers, a wider roller or disc.

Each is tried in a copy of the project, and the heights are computed again, before it is offered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import down_to, millimetres, plain, up_to
from shaftscore.judge.bodies import parts_of
from shaftscore.judge.checks.cures import Attempt, either, printable_from, stack_alone, tried
from shaftscore.judge.findings import Cure
from shaftscore.judge.heights.stacks import LaneHeights, lane_heights
from shaftscore.judge.heights.touching import WorstTouch, worst_touch
from shaftscore.model import Lane, Project, Stack
from shaftscore.solution import Solution

BUILT = "set the followers on the built stack"


def edge_cure(project: Project, lane_id: str) -> Cure | None:
    """Return what keeps a lane's roller on its disc, None where nothing does."""
    lane = project.lane(lane_id)
    stack = project.stack_of(lane)
    before = lane_heights(project, lane)
    attempts = [*_built(stack), *_wider(lane, before), *_thicker(project, lane, before)]
    alone = stack_alone(project, stack)
    return _cure(alone, attempts, lambda made: lane_heights(made, made.lane(lane_id)).stays_on_edge)


def touch_cure(solution: Solution, lane_id: str, touch: WorstTouch) -> Cure | None:
    """Return what keeps a follower off all its neighbours in the worst case, None where nothing does."""
    project = solution.project
    stack = project.stack_of(project.lane(lane_id))
    if touch.is_spacer:
        attempts = [*_built(stack), *_slimmer(stack, touch.near_mm)]
    else:
        attempts = [*_built(stack), *_shimmed(project, stack, -touch.gap_mm)]

    def is_apart(made: Project) -> bool:
        lane = made.lane(lane_id)
        parts = parts_of(replace(solution, project=made), made.stack_of(lane))
        return worst_touch(lane_id, lane_heights(made, lane).tolerance_mm, parts) is None

    return _cure(project, attempts, is_apart)


def _cure(project: Project, attempts: list[Attempt], is_cured: Callable[[Project], bool]) -> Cure | None:
    """Join the sentences of all attempts that cure; the edit is that of the first."""
    return either([one for one in attempts if (made := tried(project, one)) is not None and is_cured(made)])


def _built(stack: Stack) -> Iterator[Attempt]:
    if stack.followers_set != "built":
        yield Attempt("set_stack", {"stack_id": stack.id, "followers_set": "built"}, BUILT)


def _shimmed(project: Project, stack: Stack, more_mm: float) -> Iterator[Attempt]:
    """Yield spacers that are thicker by at least so much, and can be printed."""
    if stack.spacer_mm > 0:
        thickness = printable_from(project, stack.spacer_mm + more_mm)
        text = f"make spacers {plain(thickness, 2)} mm thick"
        yield Attempt("set_stack", {"stack_id": stack.id, "spacer_mm": thickness}, text)


def _slimmer(stack: Stack, near_mm: float) -> Iterator[Attempt]:
    """Yield spacers so small that a follower that never comes nearer to the axis passes them."""
    radius = down_to(near_mm, CURE_MM)
    if 0 < radius < stack.spacer_radius_mm:
        text = f"make spacers of radius {millimetres(radius)}"
        yield Attempt("set_stack", {"stack_id": stack.id, "spacer_radius_mm": radius}, text)


def _wider(lane: Lane, before: LaneHeights) -> Iterator[Attempt]:
    """Yield a roller so wide that half of the rim is covered at either end of the tolerance."""
    if getattr(lane.follower, "bearing", None) is not None or lane.follower.closure == "groove":
        return
    rim, roller = before.rim, before.roller
    middle = (roller.bottom_mm + roller.top_mm) / 2
    nearer = min(rim.top_mm - middle, middle - rim.bottom_mm)
    width = up_to(2 * (before.tolerance_mm + rim.width_mm / 2 - nearer), CURE_MM)
    if width > roller.width_mm:
        what = "flat face" if lane.follower.kind == "translating-flat" else "roller"
        text = f"use a {what} {millimetres(width)} wide"
        yield Attempt("set_follower", {"lane_id": lane.id, "width_mm": width}, text)


def _thicker(project: Project, lane: Lane, before: LaneHeights) -> Iterator[Attempt]:
    """Yield a disc so thick that half of the roller's width is covered at either end of the tolerance."""
    host = project.lane(lane.disc_of or lane.id)
    lost = before.required_mm - before.worst_overlap_mm
    wanted = host.disc.thickness_mm + 2 * max(lost, before.required_mm - before.overlap_mm)
    thickness = printable_from(project, wanted)
    text = f"make the disc {plain(thickness, 2)} mm thick"
    yield Attempt("set_disc", {"lane_id": host.id, "thickness_mm": thickness}, text)
