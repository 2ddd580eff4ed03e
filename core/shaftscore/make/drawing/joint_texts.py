"""The joints of a stack in words: play and seat by the fit, and how the joints are set."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from shaftscore.base.wording import counted, degrees, millimetres, newton_metres, newtons, plain
from shaftscore.built.threads import nut_torque_nm, thread_named
from shaftscore.judge.fits import StackFit, stack_fit
from shaftscore.judge.fits.cures import turned_against
from shaftscore.judge.report import Report
from shaftscore.model import Project, Stack

SET = {
    "keyed": "tighten the stack",
    "screwed": "screw each disc to the shaft",
    "glued": "glue each disc to the shaft",
}
"""What is done when the discs are where they should be."""


def fit_of(report: Report, stack: Stack) -> StackFit:
    """Return the fit of a stack of an examined project."""
    return stack_fit(report.solution, stack)


def play_text(fit: StackFit) -> str:
    """Write how far the discs of a stack can turn and shift."""
    name = fit.stack.label
    seat = f"A disc can sit up to {millimetres(fit.seat_mm, 2)} off the axis."
    if not isfinite(fit.joint_deg):
        return (
            f"{name}: the discs turn freely on the shaft; nothing but their fixing holds their angle. {seat}"
        )
    turns = f"each disc can turn by ±{degrees(fit.joint_deg)} {_on(fit)}"
    if fit.is_chain and fit.discs:
        last = fit.discs[-1]
        turns = (
            f"each joint can turn by ±{degrees(fit.joint_deg)} {_on(fit)}; in all, the disc farthest from "
            f"the driven end can turn by ±{degrees(fit.total_deg(last))}"
        )
    return f"{name}: {turns}. {seat}"


def _on(fit: StackFit) -> str:
    """Write on what the discs turn, and the clearance that lets them."""
    stack, gap = fit.stack, millimetres(fit.clearance_mm, 2)
    if stack.joint_play_deg is not None:
        return "(as stated for the stack)"
    if stack.pins is not None:
        return f"on its pins (clearance {gap} on each side)"
    if fit.is_chain:
        return f"in its dogs (clearance {gap} on each side)"
    if fit.bore_clearance_mm > stack.fit_clearance_mm:
        own = millimetres(stack.fit_clearance_mm, 2)
        rest = f"{own} of the hole, the rest of the shaft’s size"
        return f"on the shaft (clearance up to {gap} on each side: {rest})"
    return f"on the shaft (clearance {gap} on each side)"


def joint_steps(project: Project, fit: StackFit) -> Iterator[str]:
    """Yield the steps by which the joints of a stack are set, each a sentence or more."""
    stack = fit.stack
    if stack.pins is not None:
        pins = stack.pins
        yield (
            f"Push the {counted(pins.count, 'pin')}, {plain(pins.across_mm, 3)} mm in diameter, through all "
            f"discs and spacers on the circle of radius {plain(pins.radius_mm, 3)} mm."
        )
    if fit.law == "loose":
        yield _loose(fit)
    elif fit.law == "one-way":
        yield _one_way(project, fit)
    elif fit.law == "lined-up":
        yield _lined_up(fit)
    else:
        yield _as_they_lie(fit)


def _loose(fit: StackFit) -> str:
    late = "by the sum of the joints between it and the driven end" if fit.is_chain else "by its play"
    return (
        "The joints keep their play: before each test, turn the stack forward until every disc has met what "
        f"turns it. A disc then comes late {late}."
    )


def _one_way(project: Project, fit: StackFit) -> str:
    sense = turned_against(project, fit.stack)
    late = "each disc comes later by the sum of the joints before it" if fit.is_chain else _later(fit)
    return (
        f"Turn all discs {sense} while tightening: hold the shaft, turn them {sense}, seen from the top, as "
        f"far as they go, and keep them there while you tighten the stack. There {_driver(fit)}; {late}."
    )


def _driver(fit: StackFit) -> str:
    """Return what turns the discs, as a clause."""
    if fit.stack.pins is not None:
        return "the pins drive them"
    return "the dogs of their neighbours drive them" if fit.is_chain else "the shaft drives them"


def _later(fit: StackFit) -> str:
    if not isfinite(fit.joint_deg):
        return "they turn freely, so no stop will be felt"
    return f"all discs come later by {degrees(fit.joint_deg)}, and the check counts that"


def _lined_up(fit: StackFit) -> str:
    stack = fit.stack
    limit = millimetres(stack.lined_up_mm, 2)
    angle = degrees(float(fit.drawn_lined_deg(fit.total_deg(fit.discs[-1]) if fit.discs else 0.0)))
    if stack.against == "straight-edge":
        how = "Lay a straight edge along the stack and line up the zero marks of all discs along it"
    else:
        how = "Line up the zero mark of each disc with that of its neighbour, from the driven end on"
    return (
        f"{how}, to within {limit} at the rim of the smallest disc (±{angle}), then {SET[stack.fixing]}. "
        "Check all marks again afterwards."
    )


def _as_they_lie(fit: StackFit) -> str:
    off = degrees(fit.joint_deg) if isfinite(fit.joint_deg) else "any angle"
    return (
        f"Tighten the discs as they lie: each can then be off by up to {off} either way. Turning all "
        "discs one way while tightening, or lining them up, reduces this; state it in the project."
    )


def setting_steps(stack: Stack) -> Iterator[str]:
    """Yield what else the verdict counts on: the clamping force, and how high the followers are set."""
    rod = stack.rod
    if rod is not None and rod.clamp_n is not None:
        nut = ""
        if rod.thread is not None:
            torque = nut_torque_nm(rod.clamp_n, thread_named(rod.thread).nominal_mm)
            nut = f": {newton_metres(torque)} on its dry {rod.thread} nuts"
        force = newtons(rod.clamp_n, 0)
        yield f"Clamp the stack with {force}{nut}. Half of it is counted, since printed parts creep."
    if stack.followers_set == "built":
        yield (
            "Set the height of each follower on the built stack: the middle of its roller at the middle of "
            "the disc as it is now."
        )
    elif stack.followers_set == "drawing":
        yield "Set the height of each follower by dimension, from z 0 to the middle of its disc as drawn."
