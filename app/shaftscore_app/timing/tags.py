"""What is said of a held block: the worst clash with its cure, or the smallest margin. Pure.

The same sentences serve the drag tag, the status bar, and what is spoken while a block moves by keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from shaftscore.base import wording
from shaftscore.base.angles import TURN, Arcs, ahead, turn_to, wrap
from shaftscore.edits import BlockRef
from shaftscore.judge.findings import Finding, Severity, Subject, words
from shaftscore.judge.report import Report
from shaftscore.make.drawing.timing.shapes import levels_of
from shaftscore.make.drawing.timing.ticks import step_number
from shaftscore.model import Lane, LevelState, Project
from shaftscore_app.timing.drag import HeldBlock
from shaftscore_app.timing.scene import Tag

MOST_SPOKEN = 8
"""So many findings of a lane are read aloud with a block; of the others, how many there are."""


def clashes(report: Report, ref: BlockRef) -> Sequence[Finding]:
    """Return what is wrong in a block's lane, the worst first and what is about the block before the rest."""
    lane = report.project.lane(ref.lane_id)

    def about(finding: Finding) -> bool:
        return any(_concerns(subject, lane, ref) for subject in finding.subjects)

    found = [
        finding
        for finding in report.findings
        if lane.id in finding.lanes and finding.severity is not Severity.NOTE
    ]
    return sorted(found, key=lambda finding: (finding.severity.rank, not about(finding), -_size(finding)))


def _concerns(subject: Subject, lane: Lane, ref: BlockRef) -> bool:
    """Return whether a finding's subject is a block, or a state that the block is for."""
    if isinstance(subject, BlockRef):
        return subject == ref
    if subject.lane != lane.id:
        return False
    level = lane.blocks[ref.index].level
    if isinstance(subject, LevelState):
        return subject.level == level
    return subject.from_mm <= lane.levels[level] <= subject.to_mm


def _size(finding: Finding) -> float:
    return finding.value if finding.value is not None and finding.rule in ("overlap", "no-time") else 0.0


def clash_text(project: Project, finding: Finding, lane_id: str) -> str:
    """Write a clash in a few words: "3.7° overlap with Sencha"."""
    others = [project.lane(other).label for other in finding.lanes if other != lane_id]
    if finding.rule == "overlap" and others and finding.value is not None:
        amount = wording.degrees(finding.value)
        if finding.facts.get("how") == "gap":
            return f"only {amount} from {others[0]}"
        return f"{amount} overlap with {others[0]}"
    said = words(finding, project)
    if finding.rule == "no-time":
        return said.what.rstrip(".")
    return f"{said.title}: {_first_lower(said.what.rstrip('.'))}"


def _first_lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def cure_text(project: Project, finding: Finding, ref: BlockRef, zones: Arcs | None) -> str:
    """Describe where the block would be free: "free from 146.9°"; empty where that is not known."""
    block = project.lane(ref.lane_id).blocks[ref.index]
    if zones is not None:
        return _zone_text(zones, block.start_deg)
    cure = finding.cure
    if cure is None or cure.edit != "place_block" or cure.arguments.get("ref") != ref:
        return ""
    start = cure.arguments.get("start_deg")
    if not isinstance(start, float | int):
        return ""
    later = turn_to(block.start_deg, float(start)) > 0
    return f"free from {wording.degrees(start)}" if later else f"free up to {wording.degrees(start)}"


def _zone_text(zones: Arcs, start: float) -> str:
    """Write the nearest end of a free zone for a block that starts at `start`."""
    if zones.is_empty:
        return "No free place at this level"
    if zones.contains(start):
        return ""
    after = min(zones, key=lambda zone: ahead(start, zone.start)).start
    before = min(zones, key=lambda zone: ahead(zone.end, start)).end
    if ahead(start, after) <= ahead(before, start):
        return f"free from {wording.degrees(wording.up_to(after, 0.1))}"
    return f"free up to {wording.degrees(wording.down_to(before, 0.1))}"


def margin_text(report: Report, lane_id: str) -> str:
    """State that a lane is clean, and the smallest margin where it is this lane's."""
    margin = report.margin
    if margin is None or lane_id not in margin.between or not isfinite(margin.smallest_deg):
        return "clean"
    others = [report.project.lane(other).label for other in margin.between if other != lane_id]
    to = f" to {others[0]}" if others else ""
    return f"clean, {wording.degrees(margin.smallest_deg)} margin{to}"


def tag_of(report: Report, held: HeldBlock) -> Tag:
    """Make the drag tag of a held block; `report` is that of the preview.

    Where another one that is held with it clashes worse, that is told, with its lane.
    """
    if held.refused:
        return Tag(Severity.NOTE, held.refused)
    worst = [(found[0], ref) for ref in held.refs if (found := clashes(report, ref))]
    if not worst:
        return Tag(None, margin_text(report, held.ref.lane_id))
    first, ref = min(worst, key=lambda one: one[0].severity.rank)
    text = clash_text(report.project, first, ref.lane_id)
    if ref.lane_id != held.ref.lane_id:
        text = f"{report.project.lane(ref.lane_id).label}: {text}"
    return Tag(first.severity, text, cure_text(report.project, first, held.ref, held.zones))


def status_text(project: Project, held: HeldBlock, locked: int = 0) -> str:
    """Describe what is held and where it is, in degrees, steps and seconds, for the status bar.

    (The smallest margin is beside it.) locked: how many of the held blocks stay, being locked.
    """
    lane = project.lane(held.ref.lane_id)
    turns = project.rate_of(lane)
    start, end = wrap(held.start_deg), held.end_deg
    length = end - held.start_deg
    begin, over = start / turns, length / turns
    sign = "+" if held.moved_deg > 0 else ""
    parts = [
        f"{lane.label} {held.level}  {wording.degrees(start)} to {wording.degrees(_end(end))}, "
        f"{wording.degrees(length)}",
        f"step {_step(project, begin)} to {_step(project, begin + over)}",
        f"{_seconds(project, begin)} to {_seconds(project, begin + over)} s, {_seconds(project, over)} s",
        f"moved {sign}{wording.degrees(held.moved_deg)}",
    ]
    if held.keeping:
        keep = "has no such level and keeps its own"
        if held.keeping > 1:
            keep = "have no such level and keep theirs"
        parts.insert(0, f"{held.keeping} {keep}")
    if locked:
        parts.insert(0, f"{locked} locked, {'stays' if locked == 1 else 'stay'}")
    return " · ".join(parts)


def _step(project: Project, master_deg: float) -> str:
    return wording.number(step_number(project.shaft.step_starts_deg, master_deg), 2)


def _seconds(project: Project, master_deg: float) -> str:
    return wording.number(master_deg / TURN * 60.0 / project.shaft.speed_rpm, 2)


def _end(deg: float) -> float:
    return deg if deg == TURN else wrap(deg)


def spoken_place(report: Report, ref: BlockRef) -> str:
    """Describe where a block stands while it is moved by keys: "150 degrees, clean"."""
    block = report.project.lane(ref.lane_id).blocks[ref.index]
    place = f"{wording.plain(block.start_deg, 1)} degrees"
    found = clashes(report, ref)
    if not found:
        return f"{place}, clean"
    first = found[0]
    if first.rule == "overlap" and first.value is not None:
        return f"{place}, overlap {wording.plain(first.value, 1)} degrees"
    return f"{place}, {words(first, report.project).title.lower()}"


def spoken_block(report: Report, ref: BlockRef, *, selected: bool) -> str:
    """Read a block aloud: lane, level, output, place, length, number, state, and what is wrong with it."""
    project = report.project
    lane = project.lane(ref.lane_id)
    block = lane.blocks[ref.index]
    output = wording.plain(lane.levels[block.level], 2)
    end = _end(block.end_deg)
    parts = [
        lane.label,
        block.level,
        f"{output} millimetres",
        f"from {wording.plain(block.start_deg, 1)} to {wording.plain(end, 1)} degrees",
        f"{wording.plain(block.length_deg, 1)} degrees",
        f"block {ref.index + 1} of {len(lane.blocks)}",
    ]
    parts += ["selected"] * selected + ["locked"] * block.locked
    parts += ["momentary stop"] * (block.length_deg == 0) + ["wraps through 360"] * (block.end_deg > TURN)
    found = clashes(report, ref)
    said = [_spoken_clash(project, finding, lane.id) for finding in found[:MOST_SPOKEN]]
    said += [f"{len(found) - MOST_SPOKEN} more in the lane"] if len(found) > MOST_SPOKEN else []
    return ". ".join([", ".join(parts), *said]) + "."


def _spoken_clash(project: Project, finding: Finding, lane_id: str) -> str:
    said = words(finding, project)
    others = [project.lane(other).label for other in finding.lanes if other != lane_id]
    kind = finding.severity.value.capitalize()
    if finding.rule == "overlap" and others and finding.value is not None:
        return f"{kind}: overlap with {others[0]} by {wording.plain(finding.value, 1)} degrees"
    what = said.what.rstrip(".").replace("°", " degrees")
    return f"{kind}: {said.title.lower()}. {what}"


def spoken_lane(report: Report, lane_id: str) -> str:
    """Read a lane aloud: code, name, levels, how many blocks."""
    lane = report.project.lane(lane_id)
    levels = ", ".join(
        f"{level.name} {wording.plain(level.output_mm, 2)} millimetres"
        for level in levels_of(report.project.named_lane(lane))
    )
    count = wording.counted(len(lane.blocks), "block")
    return f"Lane {lane.code or ''} {lane.label}. {levels}. {count}."
