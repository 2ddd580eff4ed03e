"""The next step from the state table to the export: seven marks, one sentence and what its button does.

The sentence is the first of: the error from which most follows, what is not described (in the order of the
marks), a warning, the export. A mark is done when its areas are described and have no error. No Qt.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from shaftscore.base.wording import counted
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import AREA_OF, AreaCoverage, Report
from shaftscore.model import Project
from shaftscore.model.project import Area
from shaftscore_app.document.coverage import LEAVE_OUT, RowAction, describing
from shaftscore_app.document.cure_place import place_of_cure


class MarkState(StrEnum):
    """What a mark says; also the name of its sign."""

    DONE = "done"
    ERROR = "error"
    OPEN = "open"


MARKS: Sequence[tuple[str, str, tuple[Area, ...]]] = (
    ("table", "State table", ()),
    ("timing", "Timing", ("timing",)),
    ("items", "Items", ("items",)),
    ("loads", "Loads", ("forces", "torque")),
    ("stack", "Stack", ("heights", "shaft", "parts")),
    ("fit", "Fit", ("fits",)),
    ("export", "Export", ()),
)
"""Key, title and areas of each mark, in order; the first asks for lanes and blocks, the last for files."""


@dataclass(frozen=True)
class StepMark:
    """A mark: key, title, state, the state in words, and whether the sentence is about it."""

    key: str
    title: str
    state: MarkState
    words: str
    is_next: bool = False

    @property
    def text(self) -> str:
        """The mark as one text, read aloud."""
        return f"{self.title}: {self.words}{', next' if self.is_next else ''}"


@dataclass(frozen=True)
class NextStep:
    """The marks, the sentence without its full stop, and what its button does.

    finding: which the button shows, where it opens no form. area: one that the person may call not needed,
    since the sentence asks for its description.
    """

    marks: tuple[StepMark, ...]
    sentence: str
    action: RowAction
    finding: Finding | None = None
    area: Area | None = None

    @property
    def leave_out_text(self) -> str:
        """What says that the area is not needed; empty where none is asked for."""
        return "" if self.area is None else LEAVE_OUT[self.area]


@dataclass(frozen=True)
class _Asked:
    """What comes next: the key of its mark, and what a `NextStep` has of it."""

    key: str
    sentence: str
    action: RowAction
    finding: Finding | None = None
    area: Area | None = None


def next_step(report: Report, *, exported: bool) -> NextStep:
    """Return the next step of a report's project; exported: its files are those of the last export."""
    asked = (
        _worst(report, Severity.ERROR)
        or _first_gap(report)
        or _worst(report, Severity.WARNING)
        or (BUILD if exported else EXPORT)
    )
    marks = tuple(_mark(report, *row, asked.key, exported=exported) for row in MARKS)
    return NextStep(marks, asked.sentence, asked.action, asked.finding, asked.area)


EXPORT = _Asked("export", "Export the discs", RowAction("Export discs…", "file.export"))
BUILD = _Asked(
    "export",
    "The exported files are up to date: build the machine by its manual",
    RowAction("Build manual…", "file.manual"),
)
"""What is asked for when nothing else is, before and after the export."""


# Marks


def _mark(
    report: Report, key: str, title: str, areas: tuple[Area, ...], asked: str, *, exported: bool
) -> StepMark:
    """Return a mark: an error in its areas first, then what is missing."""
    own = [one.severity for one in report.folded.roots if _mark_of(one) == key]
    errors, warnings = own.count(Severity.ERROR), own.count(Severity.WARNING)
    if errors:
        state, said = MarkState.ERROR, counted(errors, "error")
    elif _is_missing(report, key, areas, exported=exported):
        state, said = MarkState.OPEN, "to do"
    else:
        state, said = MarkState.DONE, "done"
    more = f", {counted(warnings, 'warning')}" if warnings and not errors else ""
    return StepMark(key, title, state, f"{said}{more}", is_next=key == asked)


def _is_missing(report: Report, key: str, areas: tuple[Area, ...], *, exported: bool) -> bool:
    """Return whether something is left to do for a mark."""
    if key == "table":
        return bool(report.coverage.areas["timing"].missing)
    if key == "export":
        return not exported
    return any(report.coverage.areas[area].state.is_gap for area in areas)


def _mark_of(finding: Finding) -> str:
    """Return the key of the mark that a finding belongs to: the export, for what has no area."""
    area = AREA_OF.get(finding.rule)
    return next((key for key, _, areas in MARKS if area in areas), "export")


# Findings


def _worst(report: Report, severity: Severity) -> _Asked | None:
    """Return the finding of a severity from which most follows; None where there is none."""
    roots = [one for one in report.folded.roots if one.severity is severity]
    if not roots:
        return None
    finding = max(roots, key=lambda one: len(report.folded.following(one)))  # of equals the first
    return _Asked(
        _mark_of(finding),
        _finding_text(finding, _project_of(report, finding)),
        _finding_action(report.project, finding),
        finding,
    )


def _project_of(report: Report, finding: Finding) -> Project:
    """Return the project in which a finding was found: that of items may be an earlier one."""
    late = report.flow is not None and any(one is finding for one in report.flow.findings)
    return (report.flow_project if late else None) or report.project


def _finding_text(finding: Finding, project: Project) -> str:
    """Return a finding as an order where its cure is known, else what is wrong; it names what it is about."""
    said = words(finding, project)
    labels = [project.lane(lane).label for lane in finding.lanes]
    about = said.lanes if 0 < len(labels) <= MOST_LANES else ""
    if not said.cure:
        return f"{', '.join(filter(None, (said.title, about)))}: {said.what}".removesuffix(".")
    named = any(label in said.cure for label in labels)
    return f"{'' if named else f'{about or said.title}: '}{said.cure}".removesuffix(".")


MOST_LANES = 3
"""So many lanes are named at the beginning of a sentence; of more the rule's title is."""


def _finding_action(project: Project, finding: Finding) -> RowAction:
    """Return what goes to the field that cures a finding, else to where it is."""
    there = all(lane in project.lane_index for lane in finding.lanes)
    place = place_of_cure(finding, project) if there else None
    if place is not None:
        return RowAction(place.text, place.command, place.lane_id, path=place.path)
    if there and len(finding.lanes) == 1:
        return RowAction(f"Go to {project.lane(finding.lanes[0]).label}")
    return RowAction("Go to finding")


# What is not described


def _first_gap(report: Report) -> _Asked | None:
    """Return what is missing first, in the order of the marks; None where all is described."""
    areas = report.coverage.areas
    if areas["timing"].missing:
        return _gap(report.project, "table", areas["timing"])
    for key, _, own in MARKS:
        for area in own:
            if areas[area].state.is_gap and areas[area].missing:
                return _gap(report.project, key, areas[area])
    return None


def _gap(project: Project, key: str, gap: AreaCoverage) -> _Asked:
    """Return what asks for the first thing that an area lacks."""
    path = gap.missing[0]
    kind = _kind_of(path)
    alike = sum(_kind_of(other) == kind for other in gap.missing)
    more = f" and {counted(alike - 1, 'more lane')}" if alike > 1 and kind.startswith("lanes.") else ""
    action = describing(project, path)
    if kind == "lanes.blocks":
        action = RowAction("Go to state table", "view.table", action.lane_id, path=path)
    sentence = f"{SENTENCES[kind].format(of=_named(project, path))}{more}"
    return _Asked(key, sentence, action, area=None if key == "table" else gap.area)


def _kind_of(path: str) -> str:
    """Return a path without places in lists."""
    return re.sub(r"\[\d+\]", "", path)


def _named(project: Project, path: str) -> str:
    """Return the name of the lane or stack that a path begins with; empty for neither."""
    match = re.match(r"(lanes|stacks)\[(\d+)\]", path)
    if match is None:
        return ""
    place = int(match[2])
    return project.lanes[place].label if match[1] == "lanes" else project.stacks[place].label


SENTENCES: Mapping[str, str] = {
    "lanes": "Add the first lane",
    "lanes.blocks": "Write the states of {of}",
    "flow": "Describe what moves through the machine",
    "lanes.load.friction_n": "State mass, spring and friction of {of}",
    "lanes.load.frictions": "State mass, spring and friction of {of}",
    "drive": "Describe the motor or the crank",
    "drive.stages.efficiency": "State the efficiency of the worm",
    "lanes.follower.arm_thickness_mm": "State the lever thickness of {of}",
    "stacks.followers_set": "State how the follower heights of {of} are set",
    "stacks.rod": "Describe rod and bearings of {of}",
    "stacks.rod.shape": "State the flat of the D rod of {of}",
    "stacks.joints": "State how the discs of {of} are set on their joints",
}
"""Each kind of path that coverage names, places in lists left out, and what it asks for."""
