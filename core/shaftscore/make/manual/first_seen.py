"""Which fault shows first where: the rows of the manual's symptom sheet.

Faults of one follower are left out: the lane in which they show says enough, and the table of symptoms says
what to do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shaftscore.base.wording import counted, degrees
from shaftscore.bringup import FaultSymptom, SymptomSheet, symptom_sheet
from shaftscore.bringup.angles import check_angles
from shaftscore.bringup.fault_words import mark, turned_text
from shaftscore.bringup.records import BuildFault, FaultKind
from shaftscore.make.manual.context import ManualContext
from shaftscore.model import Project

KINDS: Final[tuple[FaultKind, ...]] = (
    "wrong-way",
    "upside-down",
    "hub-tooth",
    "geared-tooth",
    "swapped",
    "crossed",
    "off-position",
    "disc-over",
)
"""Kinds of faults that the manual lists."""

MOST_ROWS = 60
"""Rows of the table; what is beyond them is counted."""


@dataclass(frozen=True)
class FirstSeenRow:
    """One row: where the shaft is, what is seen there, the faults of which it is the first sign."""

    angle: str
    seen: str
    faults: tuple[str, ...]


@dataclass(frozen=True)
class FirstSeenTable:
    """The rows in running order, and how many faults are left out."""

    rows: tuple[FirstSeenRow, ...]
    left_out: int


def first_seen(context: ManualContext) -> FirstSeenTable:
    """Return the table of a manual's project."""
    solution = context.report.solution
    sheet = symptom_sheet(solution, angles=check_angles(solution), only=KINDS)
    rows = tuple(_rows(context.project, sheet))
    left = sum(len(row.faults) for row in rows[MOST_ROWS:])
    return FirstSeenTable(rows[:MOST_ROWS], left + sheet.left_out)


def _rows(project: Project, sheet: SymptomSheet) -> Iterator[FirstSeenRow]:
    """Yield a row for each place and each level that is seen there instead of the drawn one."""
    for group in sheet.groups:
        shown: dict[str, list[FaultSymptom]] = {}
        for one in group.symptoms:
            shown.setdefault(one.seen[0].seen.level, []).append(one)
        for level, symptoms in shown.items():
            drawn = symptoms[0].seen[0].drawn.level
            instead = f"“{level}”" if level != drawn else "between its levels"
            seen = f"{mark(project, group.lane)} is {instead}, not “{drawn}”"
            faults = tuple(_said(project, [one.fault for one in symptoms]))
            yield FirstSeenRow(f"{degrees(group.angle_deg)}, step {group.step}", seen, faults)


def _said(project: Project, faults: Sequence[BuildFault]) -> Iterator[str]:
    """Yield sentences about faults; all positions of a disc are one, and all with its marked face down."""
    upright: dict[str, list[float]] = {}
    over: dict[str, None] = {}
    for fault in faults:
        if fault.kind not in ("off-position", "disc-over"):
            yield f"{fault.statement}."
        elif fault.turned_over:
            over[fault.lanes[0]] = None
        else:
            upright.setdefault(fault.lanes[0], []).append(fault.angle_deg)
    for lane, angles in upright.items():
        turned = " or ".join(turned_text(angle) for angle in sorted(angles))
        yield f"Disc {mark(project, lane)} sits {turned} off its zero mark."
    for lane in over:
        yield f"Disc {mark(project, lane)} is mounted with its marked face down."


def left_out_text(table: FirstSeenTable) -> str:
    """Return a sentence about faults that are not in the table; empty where all are."""
    if not table.left_out:
        return ""
    return f"{counted(table.left_out, 'more fault')}: see Check > Bring-up, or the command shaftscore faults."
