"""The steps in which followers are put into a frame, and their springs hooked in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from shaftscore.layout.followers import FollowerLayout
from shaftscore.make.drawing.joint_texts import setting_steps
from shaftscore.make.drawing.pictures.exploded import visible_edge
from shaftscore.make.drawing.pictures.follower_bodies import follower_bodies
from shaftscore.make.drawing.pictures.follower_texts import (
    lever_text,
    no_parts_text,
    rod_hole,
    screw_holes,
    slide_text,
)
from shaftscore.make.drawing.pictures.frame_build import FrameBuild, up_label
from shaftscore.make.drawing.pictures.frame_texts import few_names
from shaftscore.make.drawing.pictures.machine import PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.projecting import hides
from shaftscore.make.drawing.pictures.step_scenes import edge_label
from shaftscore.make.drawing.pictures.steps import AssemblyStep, RepeatedStep, repeats_text

LIFT_SHARES = (0.5, 1.0, 1.8, 2.6)
"""Shares of the usual height by which a follower is drawn higher, the first at which it is seen."""


def follower_steps(build: FrameBuild) -> Iterator[AssemblyStep]:
    """Yield the steps of followers, those of one kind and rod one after the other, alike ones counted."""
    layouts = build.machine.followers
    made = [lane for lane in build.machine.solution.lanes if lane in layouts]
    made.sort(key=lambda lane: _rod_key(layouts, lane))
    place = 0
    while place < len(made):
        alike = _alike(layouts, made, place)
        yield _follower(build, made[place], layouts[made[place]], alike)
        place += 1 + len(alike)
    bare = [
        solved.lane.code or solved.lane.label
        for lane, solved in build.machine.solution.lanes.items()
        if lane not in layouts and solved.profile is not None and solved.stack in build.machine.places
    ]
    if bare:
        yield AssemblyStep(build.take(), "Other followers", no_parts_text(few_names(bare)), None)
    yield from _heights(build)


def _heights(build: FrameBuild) -> Iterator[AssemblyStep]:
    """Yield the step that sets the heights of followers, where the project says how."""
    said = dict.fromkeys(
        one for shaft in build.plan.shafts for one in setting_steps(shaft.stack) if one.startswith("Set")
    )
    if said:
        rollers = [part for part in build.built if part.role == "roller" and _is_seen(build, part)][:1]
        labels = [edge_label("middle of its disc", part, []) for part in rollers]
        yield build.step("Heights of the followers", " ".join(said), [], labels)


def _follower(build: FrameBuild, lane_id: str, layout: FollowerLayout, alike: Sequence[str]) -> AssemblyStep:
    new = _follower_parts(build, lane_id, layout)
    holes = screw_holes(build.plan, layout)
    said = (
        slide_text(layout, holes)
        if layout.pivot is None
        else lever_text(layout, holes, rod_hole(build.plan, layout))
    )
    text = " ".join(said)
    shown = [part for part in new if part.role in ("lever", "bracket")]
    lift = _free_lift(build, shown)
    labels = [up_label(part.code, part, lift) for part in shown]
    name = layout.lane.code or layout.lane.label
    step = build.step(f"Follower of {name} {layout.lane.label}", text, new, labels, lift_mm=lift)
    repeats = tuple(_repeat(build, one) for one in alike)
    if repeats:
        step = replace(step, text=f"{step.text} {repeats_text(repeats)}", repeats=repeats)
    return step


def _free_lift(build: FrameBuild, shown: Sequence[PicturedPart]) -> float:
    """Return a height above its place at which a follower is seen: no gear or disc is in front of it."""
    there = prisms_of(build.built)
    for share in LIFT_SHARES:
        lifted = [part.lifted(share * build.lift_mm) for part in shown]
        points = [visible_edge(part.prisms[0], []) for part in lifted]
        over = [one for one in there if one.top_mm > lifted[0].top_mm]
        if not any(hides(one, point) for one in over for point in points):
            return share * build.lift_mm
    return LIFT_SHARES[0] * build.lift_mm


def _is_seen(build: FrameBuild, part: PicturedPart) -> bool:
    """Return whether nothing above a part hides its right edge."""
    at = visible_edge(part.prisms[0], [])
    return not any(hides(one, at) for one in prisms_of(build.built) if one.top_mm > part.top_mm)


def _follower_parts(build: FrameBuild, lane_id: str, layout: FollowerLayout) -> list[PicturedPart]:
    solved = build.machine.solution.lanes[lane_id]
    found = follower_bodies(build.machine, solved, layout)
    return [part for part in found if part.role != "spring"]


def _repeat(build: FrameBuild, lane_id: str) -> RepeatedStep:
    layout = build.machine.followers[lane_id]
    build.built += _follower_parts(build, lane_id, layout)
    code = layout.lane.code or layout.lane.label
    return RepeatedStep(build.take(), code, layout.lane.label, "")


def spring_steps(build: FrameBuild) -> Iterator[AssemblyStep]:
    """Yield the step in which all springs are hooked in, after everything else."""
    layouts = build.machine.followers
    new = [
        part
        for lane, layout in layouts.items()
        for part in follower_bodies(build.machine, build.machine.solution.lanes[lane], layout)
        if part.role == "spring"
    ]
    if not new:
        return
    names = [layouts[part.lane_id].lane.code or "" for part in new]
    text = (
        f"Wear eye protection. Hook the springs of {few_names(names)} into the holes of their levers. "
        f"{_far_ends(build)} Each roller must rest on its disc through a whole turn."
    )
    labels = [up_label("spring", part, 0.0) for part in new[:1]]
    yield build.step("Springs, last of all", text, new, labels, lift_mm=0.0)


def _far_ends(build: FrameBuild) -> str:
    """Return where the other ends of springs go: on their rods, or where the drawings show them."""
    plan = build.machine.frame
    rods = () if plan is None else plan.springs
    if not rods:
        return "Hold their other ends where the drawings of the followers show them."
    ends = "; ".join(f"of {few_names(list(rod.lanes))} on {rod.name}" for rod in rods)
    return f"Hook their other ends, level with the levers, into the threads of their rods: {ends}."


def _rod_key(layouts: Mapping[str, FollowerLayout], lane: str) -> tuple[float, str, float, float, float]:
    """Return by what followers are put on: rods by their lowest levers, on a rod from the lowest up."""
    own = layouts[lane]
    bottom, pivot = own.bands.levers[0].bottom_mm, own.pivot or own.guide_start or 0j
    same = (one.bands.levers[0].bottom_mm for one in layouts.values() if own.pivot and one.pivot == own.pivot)
    return min([bottom, *same]), own.parts.kind, round(pivot.real, 2), round(pivot.imag, 2), bottom


def _alike(layouts: Mapping[str, FollowerLayout], made: Sequence[str], place: int) -> list[str]:
    """Return the lanes after a place whose followers are put on as the one there."""
    own = layouts[made[place]]
    found = []
    for lane in made[place + 1 :]:
        other = layouts[lane]
        if other.is_sleeve != own.is_sleeve or other.parts.kind != own.parts.kind:
            break
        if own.is_sleeve and other.pivot != own.pivot:
            break
        if not own.is_sleeve and (own.rod_in_frame or other.rod_in_frame):
            break
        found.append(lane)
    return found
