"""Cures of off-edge: followers set on the built stack, thicker spacers, a wider roller or disc.

Each is tried in a copy of the project, and the heights are computed again, before it is offered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from shaftscore.base.wording import millimetres, plain, up_to
from shaftscore.built.heights import printable_mm
from shaftscore.judge.checks.cures import Attempt, tried
from shaftscore.judge.findings import Cure
from shaftscore.judge.heights.stacks import LaneHeights, lane_heights
from shaftscore.model import Lane, Project, Stack

CURE_MM = 0.1
"""Lengths in cures are rounded outward to this many mm."""

BUILT = "set the followers on the built stack"


def edge_cure(project: Project, lane_id: str) -> Cure | None:
    """Return what keeps a lane's roller on its disc, None where nothing does."""
    lane = project.lane(lane_id)
    before = lane_heights(project, lane)
    attempts = [*_built(project.stack_of(lane)), *_wider(lane, before), *_thicker(project, lane, before)]
    return _cure(project, attempts, lambda made: lane_heights(made, made.lane(lane_id)).stays_on_edge)


def touch_cure(project: Project, lane_id: str, gap_mm: float) -> Cure | None:
    """Return what keeps a lane's follower off its neighbours, None where nothing does.

    gap_mm: between the two in the worst case, negative, mm.
    """
    stack = project.stack_of(project.lane(lane_id))
    tolerance = lane_heights(project, project.lane(lane_id)).tolerance_mm

    def is_apart(made: Project) -> bool:
        thicker = made.stack_of(made.lane(lane_id)).spacer_mm - stack.spacer_mm
        less = tolerance - lane_heights(made, made.lane(lane_id)).tolerance_mm
        return gap_mm + thicker + less >= 0

    return _cure(project, [*_built(stack), *_shimmed(project, stack, -gap_mm)], is_apart)


def _cure(project: Project, attempts: list[Attempt], is_cured: Callable[[Project], bool]) -> Cure | None:
    """Join the sentences of all attempts that cure; the edit is that of the first."""
    ways = [way for way in attempts if (made := tried(project, way)) is not None and is_cured(made)]
    if not ways:
        return None
    text = ", or ".join(way.sentence for way in ways)
    sentence = f"{text[:1].upper()}{text[1:]}."
    return Cure(sentence=sentence, edit=ways[0].edit, arguments=ways[0].arguments)


def _built(stack: Stack) -> Iterator[Attempt]:
    if stack.followers_set != "built":
        yield Attempt("set_stack", {"stack_id": stack.id, "followers_set": "built"}, BUILT)


def _shimmed(project: Project, stack: Stack, more_mm: float) -> Iterator[Attempt]:
    """Yield spacers that are thicker by at least so much, and can be printed."""
    if stack.spacer_mm > 0:
        wanted = stack.spacer_mm + more_mm
        thickness = round(printable_mm(wanted, project.print.first_layer_mm, project.print.layer_mm)[1], 6)
        text = f"make spacers {plain(thickness, 2)} mm thick"
        yield Attempt("set_stack", {"stack_id": stack.id, "spacer_mm": thickness}, text)


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
    thickness = round(printable_mm(wanted, project.print.first_layer_mm, project.print.layer_mm)[1], 6)
    text = f"make the disc {plain(thickness, 2)} mm thick"
    yield Attempt("set_disc", {"lane_id": host.id, "thickness_mm": thickness}, text)
