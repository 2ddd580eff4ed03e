"""The slant of each spring: its rod is kept clear of discs, wheels and the other followers of its stack."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial

from shaftscore.base.once import once
from shaftscore.built.heights import HeightBand
from shaftscore.layout.bracket_feet import LEDGE_MM, guide_inset_mm, post_screws
from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.frame_plan import SPRING_ROD_MM
from shaftscore.layout.reach import lanes_on
from shaftscore.layout.spring_room import slant_rad, turning_in
from shaftscore.layout.sweeps import SweptBands, follower_sweep, parts_sweep
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack.followers import FollowerBands, post_radius_mm

PLACES = 9
"""Places, mm, that agree to so many decimals are one."""

IN_PLAN = FollowerBands(HeightBand(0.0, 0.0), (), None, 0.0)
"""Heights of a follower that is looked at in plan alone."""


def with_spring_room(solution: Solution, layout: FollowerLayout) -> FollowerLayout:
    """Return a follower with its spring slanted so that its rod is clear; None as slant where it is nowhere.

    Without a frame there is no rod.
    """
    ends = layout.spring_ends
    if layout.spring_rod is None or ends is None or solution.project.frame is None:
        return layout
    hook, end = ends[0] - layout.axis, ends[1] - layout.axis
    key = (
        "slant",
        layout.lane.id,
        layout.side,
        *(round(x, PLACES) for x in (hook.real, hook.imag, end.real, end.imag)),
    )
    return replace(layout, spring_slant_rad=once(solution, key, lambda: _slant(solution, layout, hook, end)))


def _slant(solution: Solution, layout: FollowerLayout, hook: complex, end: complex) -> float | None:
    """Return the slant of a spring from its hook to its end, both from the axis of its stack, mm."""
    stack = solution.project.stack_of(layout.lane)
    rounds, needed = turning_in(solution, stack), SPRING_ROD_MM / 2 + stack.body_clearance_mm
    others = _followers(tuple(lanes_on(solution, stack)))

    def is_clear(own: complex) -> bool:
        free = all(abs(own - middle) >= radius + needed for middle, radius in rounds)
        return free and others.from_point(own) >= needed

    return slant_rad(end - hook, layout.side, is_clear, hook)


@lru_cache(maxsize=8)  # one takes up to 1 MiB, and is asked for by every follower of its stack in turn
def _followers(lanes: tuple[LaneSolution, ...]) -> SweptBands:
    """Return what the followers of a stack sweep in plan, with their posts and feet; its axis at 0."""
    each = (once(lane, "swept in plan", partial(_of_lane, lane)) for lane in lanes)
    return SweptBands.joined([sweep for sweeps in each for sweep in sweeps])


def _of_lane(solved: LaneSolution) -> list[SweptBands]:
    lane, profile, motion = solved.lane, solved.profile, solved.motion
    assert profile is not None
    assert motion is not None
    if lane.parts is None:
        return [follower_sweep(solved)]
    layout = FollowerLayout(lane, profile, motion, solved.course, lane.parts, IN_PLAN)
    alone = replace(layout, spring_slant_rad=None)
    return [parts_sweep(alone), *_standing(alone)]


def _standing(layout: FollowerLayout) -> list[SweptBands]:
    """Return the posts and the feet of a lever; nothing for a slide, whose bar covers its guide."""
    found, rod = [], layout.parts.pivot_rod_mm
    half = max(guide_inset_mm(), post_radius_mm(rod) + LEDGE_MM)
    for at in (layout.pivot, layout.guide_pivot):
        if at is None:
            continue
        reach = layout.bracket_turn(at) * (abs(post_screws(rod)[0]) + guide_inset_mm())
        found.append(SweptBands.of([(at, at, half), (at - reach, at + reach, half)]))
    return found
