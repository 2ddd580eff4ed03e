"""Sentences of the window about the document: what is selected, the margin, whether it is clean."""

from __future__ import annotations

from math import isfinite

from shaftscore.base import wording
from shaftscore.base.angles import ahead
from shaftscore.edits import BlockRef
from shaftscore.judge.report import CoverageState
from shaftscore.kinematics.motion.no_motion import NoMotion
from shaftscore.model import Lane, LevelState, Project, RangeState
from shaftscore_app.document import Document
from shaftscore_app.document.outline import UPDATING


def subject_name(project: Project, subject: object) -> str:
    """Name what a margin or a finding is about: a lane."""
    lane_id = (
        subject.lane
        if isinstance(subject, LevelState | RangeState)
        else subject.lane_id
        if isinstance(subject, BlockRef)
        else str(subject)
    )
    return project.lane(lane_id).label if lane_id in project.lane_index else lane_id


def lane_name(lane: Lane) -> str:
    """Return a lane's code, if it has one, and its label."""
    return f"{lane.code or ''} {lane.label}".strip()


def lane_has(lane: Lane, typed: str) -> bool:
    """Return whether every word typed is in a lane's code, name or group, however written."""
    told = f"{lane.code or ''} {lane.label} {lane.group} {lane.id}".casefold()
    return all(word in told for word in typed.casefold().split())


def margin_text(document: Document) -> str:
    """Write the smallest margin and whose it is; empty where there are no rules between lanes."""
    margin = document.report.margin
    if margin is None or not isfinite(margin.smallest_deg):
        return ""
    names = dict.fromkeys(subject_name(document.report.project, part) for part in margin.between)
    return f"Smallest margin {wording.degrees(margin.smallest_deg)} {', '.join(names)}"


def clean_text(document: Document) -> str:
    """State that nothing was found."""
    if not document.is_started or not document.project.lanes:
        return "Findings appear as you draw. None yet."
    margin = document.report.margin
    found = "Nothing found." if document.lanes is None else "Nothing found in these lanes."
    if document.is_late_coming:
        return f"{found.removesuffix('.')} yet; {UPDATING}"
    if margin is not None and isfinite(margin.smallest_deg):
        names = list(dict.fromkeys(subject_name(document.report.project, part) for part in margin.between))
        found += f" Smallest margin {wording.degrees(margin.smallest_deg)}, {wording.listed(names)}."
    return " ".join(filter(None, (found, gaps_text(document))))


def gaps_text(document: Document) -> str:
    """Name the areas that are not described, and so were not checked; empty where there is none."""
    areas = document.whole_report.coverage.in_state(CoverageState.NOT_DESCRIBED)
    return f"Not described, so not checked: {wording.listed(list(areas))}." if areas else ""


def selection_text(document: Document) -> str:
    """Describe what is selected, with its place."""
    project, selection = document.project, document.selection
    if len(selection.blocks) > 1:
        return wording.counted(len(selection.blocks), "block")
    if selection.blocks:
        return block_text(project, selection.blocks[0])
    if selection.lanes:
        return wording.counted(len(selection.lane_ids), "lane")
    if selection.lane_id is not None:
        lane = project.lane(selection.lane_id)
        return f"{lane.label}, {wording.counted(len(lane.blocks), 'block')}"
    return ""


def block_text(project: Project, ref: BlockRef) -> str:
    """Write a block with its place: name, degrees, steps and seconds."""
    lane = project.lane(ref.lane_id)
    block = lane.blocks[ref.index]
    start, end = wording.degrees(block.start_deg), wording.degrees(ahead(0.0, block.end_deg))
    turns = project.stack_of(lane).turns
    time = block.start_deg / turns / (6.0 * project.shaft.speed_rpm)
    parts = [f"{lane.label} {block.level}  {start} to {end}"]
    if turns == 1:
        parts.append(f"step {wording.number(step_number(project, block.start_deg), 2)}")
    parts.append(wording.seconds(time))
    return "  ·  ".join(parts + ["locked"] * block.locked)


def step_number(project: Project, deg: float) -> float:
    """Return an angle of the master shaft in steps: 10.67 is two thirds through the tenth step."""
    starts = project.shaft.step_starts_deg
    index = max((i for i, start in enumerate(starts) if start <= deg), default=len(starts) - 1)
    length = ahead(starts[index], starts[(index + 1) - len(starts)]) or 360.0
    return index + 1 + ahead(starts[index], deg) / length


def no_motion_text(lane: Lane, no_motion: NoMotion) -> str:
    """Describe why a lane has no motion."""
    if no_motion.reason == "empty":
        return "it has no blocks yet"
    if no_motion.clashes:
        clash = no_motion.clashes[0]
        first, second = lane.blocks[clash.first].level, lane.blocks[clash.second].level
        return f"no time to move from {first} to {second}"
    return no_motion.what
