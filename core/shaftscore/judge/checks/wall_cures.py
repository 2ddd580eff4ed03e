"""Cures of weak-part and bad-part: the one length that gives a wall its limit, tried before it is offered.

A floor takes a thicker disc or spacer that can be printed, a wall a larger spacer, rim or base radius, a
contour that is lost to a printer's correction a smaller correction.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Callable

from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import millimetres, plain, up_to
from shaftscore.judge.checks.cures import Attempt, first_verified, printable_from
from shaftscore.judge.findings import Cure
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Profile, build_profile
from shaftscore.model import Lane, Project, Stack
from shaftscore.solution.lane import motion_of
from shaftscore.stack.walls import (
    LEAST_RADIUS,
    LOST,
    PartWall,
    contour_walls,
    disc_walls,
    shared_walls,
    spacer_walls,
)


def stack_cure(project: Project, stack: Stack, wall: PartWall) -> Cure | None:
    """Return what gives a wall that the parts of a stack share its limit; None where no one length does."""
    attempt = _of_spacer(project, stack, wall)
    if attempt is None:
        return None

    def is_cured(made: Project) -> bool:
        own = next(one for one in made.stacks if one.id == stack.id)
        return _is_sound(wall.part, [*shared_walls(made.print, own), *spacer_walls(made.print, own)])

    return first_verified(project, [attempt], is_cured)


def _of_spacer(project: Project, stack: Stack, wall: PartWall) -> Attempt | None:
    short = wall.limit_mm - wall.least_mm
    if wall.part == "wall of the spacer":
        radius = up_to(stack.spacer_radius_mm + short, CURE_MM)
        text = f"Spacer radius {millimetres(radius)}."
        return Attempt("set_stack", {"stack_id": stack.id, "spacer_radius_mm": radius}, text)
    if wall.part.startswith("floor over the spacer"):
        thickness = printable_from(project, stack.spacer_mm + short)
        text = f"Spacer {plain(thickness, 2)} mm thick."
        return Attempt("set_stack", {"stack_id": stack.id, "spacer_mm": thickness}, text)
    return None


def disc_cure(project: Project, lane: Lane, wall: PartWall) -> Cure | None:
    """Return what gives a wall of a lane's disc its limit; None where no one length does."""
    is_contour = wall.part in (LEAST_RADIUS, LOST)
    attempt = _of_contour(project, lane) if is_contour else _of_disc(project, lane, wall)
    if attempt is None:
        return None

    def is_cured(made: Project) -> bool:
        own = made.lane(lane.id)
        profile = _profile(made, own)
        found = [] if profile is None else disc_walls(made.print, made.stack_of(own), own, profile)
        if is_contour:
            return profile is not None and not any(contour_walls(profile, made.print.contour_mm))
        return _is_sound(wall.part, list(found))

    return first_verified(project, [attempt], is_cured)


def _of_contour(project: Project, lane: Lane) -> Attempt | None:
    """Return the largest smaller correction that leaves a lane's contour whole; none at all always does."""
    profile, by = _profile(project, lane), project.print.contour_mm
    if profile is None:
        return None
    offsets = [math.copysign(CURE_MM * steps, by) for steps in range(math.ceil(abs(by) / CURE_MM))]
    whole = bisect(offsets, 0, key=lambda offset: sum(1 for _ in contour_walls(profile, offset)))
    offset = round(offsets[max(0, whole - 1)], 6) + 0.0
    return Attempt("set_print", {"contour_mm": offset}, f"Contour offset {millimetres(offset)}.")


def _of_disc(project: Project, lane: Lane, wall: PartWall) -> Attempt | None:
    short, disc = wall.limit_mm - wall.least_mm, lane.disc
    changed: dict[str, object]
    if wall.part.startswith("floor"):
        thickness = printable_from(project, _thickness(disc.thickness_mm, wall, short))
        changed, text = {"thickness_mm": thickness}, f"Disc {plain(thickness, 2)} mm thick."
    elif wall.part == "rim of the groove":
        rim = up_to(disc.rim_mm + short, CURE_MM)
        changed, text = {"rim_mm": rim}, f"Rim {millimetres(rim)}."
    elif wall.part.endswith("and rim") and disc.base_radius_mm != "auto":
        radius = up_to(disc.base_radius_mm + short, CURE_MM)
        changed, text = {"base_radius_mm": radius}, f"Base radius {millimetres(radius)}."
    else:
        return None
    return Attempt("set_disc", {"lane_id": lane.id, **changed}, text)


def _thickness(now_mm: float, wall: PartWall, short_mm: float) -> float:
    """Return the thickness that gives a floor its limit, mm; marks take a share of a thin disc's."""
    return now_mm * wall.limit_mm / wall.thick_mm if wall.part.endswith("marks") else now_mm + short_mm


def _profile(project: Project, lane: Lane) -> Profile | None:
    motion = motion_of(project, lane)
    profile = build_profile(project, lane, motion) if isinstance(motion, LaneMotion) else None
    return profile if isinstance(profile, Profile) else None


def _is_sound(part: str, walls: list[PartWall]) -> bool:
    """Return whether there are walls of a name, and all have their limit."""
    own = [wall for wall in walls if wall.part == part]
    return bool(own) and all(wall.is_there and not wall.is_weak for wall in own)


Look = Callable[[PartWall], Cure | None]
"""Looks for the cure of a wall."""
