"""The verdict as rows for people: what was checked, what was found, what is not described and who says so.

The Coverage view and the export dialog show the same rows.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from shaftscore.base.wording import counted, percent
from shaftscore.judge.findings import Finding, Severity
from shaftscore.judge.report import AREA_OF, CHANCE, AreaCoverage, CoverageState, Report
from shaftscore.model import Project
from shaftscore.model.project import Area


class RowState(StrEnum):
    """What a row says, in a word; also the name of its sign."""

    CHECKED = "checked"
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"
    NOT_DESCRIBED = "not-described"
    NOT_NEEDED = "not-needed"
    OUT_OF_DATE = "out-of-date"
    CHECKING = "checking"


@dataclass(frozen=True)
class RowAction:
    """What the button of a row does: its text, a command of the menus, and the lane it is about, if any.

    areas: those whose findings it shows, where it shows findings; command then is empty. path: of the field
    that would describe what is missing, at which the form opens.
    """

    text: str
    command: str = ""
    lane_id: str | None = None
    areas: tuple[str, ...] = ()
    path: str = ""


@dataclass(frozen=True)
class CoverageRow:
    """A row: its areas, title, state in a word and in words, what it is about, and its button.

    describe: what opens the form for what is missing, where the button shows findings. may_leave_out: what
    its menu offers to say is not needed, area and text. left_out: areas that the person left out, which
    Undo takes back.
    """

    key: str
    areas: tuple[Area, ...]
    title: str
    state: RowState
    words: str
    detail: str
    action: RowAction | None = None
    may_leave_out: tuple[tuple[Area, str], ...] = ()
    left_out: tuple[Area, ...] = ()
    describe: RowAction | None = None

    @property
    def text(self) -> str:
        """The row as one text, read aloud and in the export dialog."""
        return f"{self.title}: {self.words}. {self.detail}".strip()


TITLES: Sequence[tuple[str, str, tuple[Area, ...]]] = (
    ("timing", "Timing", ("timing",)),
    ("items", "Items", ("items",)),
    ("forces", "Forces", ("forces",)),
    ("torque", "Torque", ("torque",)),
    ("fits", "Fits and heights", ("fits", "heights")),
    ("shaft", "Shaft", ("shaft",)),
    ("parts", "Parts", ("parts",)),
)
"""Key, title and areas of each row but the last, in order."""

WORDS_OF = {
    RowState.CHECKED: "checked, holds",
    RowState.OUT_OF_DATE: "out of date",
    RowState.CHECKING: "checking",
}
"""States whose words are the same in every row."""

LEAVE_OUT: dict[Area, str] = {
    "items": "This machine has no items",
    "forces": "Forces are not needed",
    "torque": "Turned by hand",
    "fits": "Fits are not needed",
    "heights": "Heights are not needed",
    "shaft": "The shaft is not needed",
    "parts": "Parts are not needed",
    "timing": "Timing is not needed",
}
"""What the menu of a row offers."""


def coverage_rows(report: Report, *, late_coming: bool) -> tuple[CoverageRow, ...]:
    """Return the eight rows of a report; late_coming: its late parts are still being computed."""
    rows = [_row(report, key, title, areas, late_coming) for key, title, areas in TITLES]
    return (*rows, _chance_row(report, late_coming))


def head_text(report: Report) -> str:
    """Return the sentence that can be read alone."""
    if any(one.severity is Severity.ERROR for one in report.findings):
        return "Not ready to export"
    if report.coverage.is_empty:
        return "Nothing is checked"
    return "Everything described holds" if report.coverage.is_complete else "Holds as far as it is described"


def head_detail(report: Report, rows: Sequence[CoverageRow]) -> str:
    """Return what is written below that sentence: how many errors are open, how many areas have a gap."""
    errors = sum(one.severity is Severity.ERROR for one in report.folded.roots)
    gaps = sum(any(report.coverage.areas[area].state.is_gap for area in row.areas) for row in rows)
    said = [f"{counted(errors, 'error')} {'is' if errors == 1 else 'are'} open."] if errors else []
    if gaps:
        are = "area is" if gaps == 1 else "areas are"
        said.append(f"{gaps} of {len(rows)} {are} not described in full, so not checked in full.")
    if said:
        return " ".join(said)
    return f"All areas are {'' if report.coverage.is_empty else 'checked, or '}left out by you."


# Rows


def _row(report: Report, key: str, title: str, areas: tuple[Area, ...], late_coming: bool) -> CoverageRow:
    covered = [report.coverage.areas[area] for area in areas]
    found = [one for one in report.findings if AREA_OF.get(one.rule) in areas]
    left_out = tuple(one.area for one in covered if one.by_person)
    state = _state(covered, found)
    if state is not RowState.NOT_NEEDED and not _is_current(report, key):
        state = RowState.CHECKING if late_coming else RowState.OUT_OF_DATE
    return CoverageRow(
        key,
        areas,
        title,
        state,
        _words(report, state, covered, found),
        _detail(report.project, key, covered),
        _action(report.project, covered, found),
        tuple((one.area, LEAVE_OUT[one.area]) for one in covered if one.area not in left_out),
        left_out,
        _describing(report.project, covered) if found else None,
    )


def _is_current(report: Report, key: str) -> bool:
    """Return whether a row is of the project shown; items, torque and shafts are computed last."""
    if key == "items":
        return report.is_current
    shafts = report.shafts
    return key not in ("torque", "shaft") or (shafts is not None and shafts.project is report.project)


def _state(covered: Sequence[AreaCoverage], found: Sequence[Finding]) -> RowState:
    """Return the state of a row: its worst finding first, then its gaps."""
    if found:
        return RowState(str(min((one.severity for one in found), key=lambda severity: severity.rank)))
    if any(one.state.is_gap for one in covered):
        return RowState.NOT_DESCRIBED
    needed = any(one.state is CoverageState.CHECKED for one in covered)
    return RowState.CHECKED if needed else RowState.NOT_NEEDED


def _words(report: Report, state: RowState, covered: Sequence[AreaCoverage], found: Sequence[Finding]) -> str:
    """Return the state of a row in words."""
    if state is RowState.NOT_NEEDED:
        return "not needed, by you" if any(one.by_person for one in covered) else "not needed"
    if state in WORDS_OF:
        return WORDS_OF[state]
    gap = _gap_words(covered)
    return "; ".join(filter(None, (_found_words(report, found), gap)))


def _gap_words(covered: Sequence[AreaCoverage]) -> str:
    """Return how much is not described: of some lanes or stacks, in part, or at all; empty for no gap."""
    gaps = [one for one in covered if one.state.is_gap]
    if not gaps:
        return ""
    if all(one.state is CoverageState.NOT_DESCRIBED for one in gaps):
        return "not described yet"
    if not any(one.missing for one in gaps):
        return "described, cannot be computed"
    own = gaps[0]
    if own.area in ("timing", "forces") and own.described < own.count:
        return (
            f"holds for {own.described} of {own.count} lanes; {own.count - own.described} not described yet"
        )
    return "partly described"


def _found_words(report: Report, found: Sequence[Finding]) -> str:
    """Return how much was found: causes by severity, and what follows from them."""
    if not found:
        return ""
    own = set(map(id, found))
    roots = [one for one in report.folded.roots if id(one) in own]
    counts = [(severity, sum(one.severity is severity for one in roots)) for severity in Severity]
    following = len(found) - len(roots)
    if following and len(roots) == 1:
        return f"1 cause, {counted(following, 'consequence')}"
    said = [counted(count, str(severity)) for severity, count in counts if count]
    return ", ".join([*said, *([counted(following, "consequence")] if following else [])])


def _chance_row(report: Report, late_coming: bool) -> CoverageRow:
    """Return the row of the share of machines that work."""
    chance = report.chance
    if chance is None or chance.share is None:
        state = RowState.CHECKING if late_coming else RowState.NOT_DESCRIBED
        words = WORDS_OF.get(state, "nothing to judge yet")
        detail = "The share of built machines that work; rules between lanes, or a flow, say when one does."
        return CoverageRow(CHANCE, (), "Chance", state, words, detail)
    state, words = _chance_state(report, late_coming, is_old=chance.project is not report.project)
    detail, show = _chance_detail(report, chance.share), RowAction("Show…", "prove.chance")
    return CoverageRow(CHANCE, (), "Chance", state, words, detail, show)


def _chance_state(report: Report, late_coming: bool, *, is_old: bool) -> tuple[RowState, str]:
    """Return the state of the row, and in words; is_old: the share is of an earlier project."""
    found = [one for one in report.findings if AREA_OF.get(one.rule) == CHANCE]
    if is_old:
        state = RowState.CHECKING if late_coming else RowState.OUT_OF_DATE
    elif report.count(Severity.ERROR):
        return RowState.ERROR, "errors are open"
    else:
        state = _state((), found) if found else RowState.CHECKED
    return state, WORDS_OF.get(state) or _found_words(report, found)


def _chance_detail(report: Report, share: float) -> str:
    """Return the share in words, and what it leaves out."""
    spread, gaps = report.spread, report.coverage.in_state(CoverageState.NOT_DESCRIBED)
    if spread is None or share == 0.0:
        return "No machine works while an error is open." if report.count(Severity.ERROR) else "None works."
    said = f"{percent(100 * share, 1)} of {spread.machines:,} machines work."
    return f"{said} Not described, so left out: {', '.join(gaps)}." if gaps else said


# What a row is about, and what its button does


def _detail(project: Project, key: str, covered: Sequence[AreaCoverage]) -> str:
    """Return what an area is about in this machine, or what is missing to judge it."""
    gap = next((one for one in covered if one.state.is_gap), None)
    if gap is not None:
        return _missing_text(project, gap)
    if any(one.by_person for one in covered):
        return "You left it out: Undo takes that back."
    return _about(project, key)


def _about(project: Project, key: str) -> str:
    """Return what is checked in an area of a machine."""
    lanes = counted(len(project.lanes), "lane")
    discs = sum(lane.has_disc for lane in project.lanes)
    blocks = sum(len(lane.blocks) for lane in project.lanes)
    flow = project.flow
    gates, stores = (len(flow.gates), len(flow.magazines)) if flow is not None else (0, 0)
    bearings = counted(len(project.stacks), "stack")
    return {
        "timing": f"{lanes}, {counted(blocks, 'block')}: moves, guarded levels, rules between lanes.",
        "items": f"{counted(gates, 'gate')}, {counted(stores, 'magazine')}: what passes over the turns.",
        "forces": f"{lanes}: contact, spring reserve and stress.",
        "torque": "The sum of all lanes against what the drive gives, with reserve.",
        "fits": f"{bearings}: play and seat on the shaft, rollers on their discs, distance to neighbours.",
        "shaft": f"{bearings}: bending, bearing forces, clamp and twist.",
        "parts": f"{counted(discs, 'disc')}: pressure angle, crests, hollows, walls, room of the printer.",
    }[key]


_LANE = re.compile(r"lanes\[(\d+)\]\.(\w+)")
_STACK = re.compile(r"stacks\[(\d+)\]\.(\w+)")
_FLAT = re.compile(r"stacks\[\d+\]\.rod\.shape")

_WHAT = {
    "blocks": "blocks",
    "load": "friction of the load",
    "follower": "thickness of the lever",
    "joints": "how the discs are set on their joints",
    "followers_set": "how the heights of followers are set",
    "rod": "the rod and its bearings",
}


def _missing_text(project: Project, gap: AreaCoverage) -> str:
    """Return what is missing, counted where many lanes lack the same."""
    if not gap.missing:
        return "Described, but it cannot be computed: see the findings."
    said: dict[str, int] = {}
    for path in gap.missing:
        what = _what_is_missing(path)
        said[what] = said.get(what, 0) + 1
    lanes = len(project.lanes)
    parts = [
        f"{what} ({count} of {lanes} lanes)" if what in _OF_LANES else what for what, count in said.items()
    ]
    return f"Missing: {'; '.join(parts)}."


def _what_is_missing(path: str) -> str:
    """Return the name of what a path of `not_described` would state."""
    if _FLAT.fullmatch(path):
        return "the flat of the D rod, which is that of a D bore"
    match = _LANE.match(path) or _STACK.match(path)
    return _WHAT[match[2]] if match else _NAMED[path.split("[", maxsplit=1)[0]]


_OF_LANES = frozenset({_WHAT["blocks"], _WHAT["load"], _WHAT["follower"]})
_NAMED = {
    "lanes": "lanes",
    "flow": "what moves through the machine",
    "drive": "motor or crank",
    "drive.stages": "efficiency of the worm",
}


def _action(project: Project, covered: Sequence[AreaCoverage], found: Sequence[Finding]) -> RowAction | None:
    """Return the button of a row: to its findings, else to the form that describes what is missing first."""
    if found:
        return RowAction("Show", areas=tuple(one.area for one in covered))
    return _describing(project, covered)


def _describing(project: Project, covered: Sequence[AreaCoverage]) -> RowAction | None:
    """Return what opens the form for what is missing first; None where nothing is."""
    gap = next((one for one in covered if one.state.is_gap and one.missing), None)
    return None if gap is None else describing(project, gap.missing[0])


def describing(project: Project, path: str) -> RowAction:
    """Return the button that opens the form for a path that `not_described` names."""
    match = _LANE.match(path)
    if match:
        lane = project.lanes[int(match[1])]
        if match[2] == "blocks":
            return RowAction(f"Go to {lane.label}", "view.diagram", lane.id, path=path)
        text = "Describe loads…" if match[2] == "load" else "Describe levers…"
        return RowAction(text, f"lane.{match[2]}", lane.id, path=path)
    stack = _STACK.match(path)
    if stack:
        words = {"joints": "Set joints…", "followers_set": "Set heights…", "rod": "Describe rod…"}
        return RowAction(words[stack[2]], "machine.stacks", path=path)
    first = path.split(".", maxsplit=1)[0]
    text, command = {
        "flow": ("Describe flow…", "machine.flow"),
        "drive": ("Describe drive…", "machine.drive"),
        "lanes": ("New lane…", "lane.new"),
    }[first]
    return RowAction(text, command, path=path)
