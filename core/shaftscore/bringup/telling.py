"""A symptom sheet in words, and as the object of `faults --json`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from shaftscore.base.wording import counted, degrees, listed, millimetres
from shaftscore.bringup.fault_words import mark
from shaftscore.bringup.items import LEFT, LOST
from shaftscore.bringup.records import BuildFault, PredictedSighting
from shaftscore.bringup.symptoms import (
    FaultSymptom,
    OutletDifference,
    SeenDifference,
    SymptomGroup,
    SymptomSheet,
)
from shaftscore.model import Project

MOST_ENDS = 3
"""Outlets that a line names."""


def sheet_lines(project: Project, sheet: SymptomSheet) -> Iterator[str]:
    """Yield the lines of a symptom sheet: a heading a group, a line a fault."""
    yield f"{project.name}: {counted(len(sheet.checks), 'check')} in a turn, at {_angles(sheet.checks)}"
    for group in sheet.groups:
        yield ""
        yield f"{group_text(project, group)}:"
        yield from (f"  {symptom_text(one)}" for one in group.symptoms)
    if sheet.invisible:
        yield ""
        yield "Would not show at these checks:"
        yield from (f"  {_invisible_text(project, one)}" for one in sheet.invisible)
    yield from left_out_lines(sheet)


def _invisible_text(project: Project, symptom: FaultSymptom) -> str:
    """Return a fault that does not show at the checks, and where else it would."""
    place = symptom.between
    if place is None:
        return f"{symptom.fault.statement}."
    seen = "between levels" if place.seen.level == place.drawn.level else _quoted(place.seen.level)
    where = f"At {degrees(place.angle_deg)}, {mark(project, place.lane)} would be {seen}"
    return f"{symptom.fault.statement}. {where}, not {_quoted(place.drawn.level)}."


def _angles(angles: tuple[float, ...]) -> str:
    return ", ".join(degrees(angle) for angle in angles) or "no angle"


def left_out_lines(sheet: SymptomSheet) -> Iterator[str]:
    """Yield what is not in a sheet because it would take too long."""
    if sheet.left_out:
        yield f"{counted(sheet.left_out, 'fault')} left out: there are too many."
    if sheet.flow_left_out:
        faults = counted(sheet.flow_left_out, "fault")
        yield f"The items were not simulated for {faults}, which would take too long."


def group_text(project: Project, group: SymptomGroup) -> str:
    """Return where a group shows first: "At 21.0° (step 3), A1 is “open”, not “closed”"."""
    if not group.lane:
        return "All lanes as drawn, but other items come out"
    seen = group.symptoms[0].seen[0]
    shown = {one.seen[0].seen.level for one in group.symptoms}
    name, drawn = mark(project, group.lane), _quoted(seen.drawn.level)
    instead = "not" if len(shown) > 1 else f"{_quoted(seen.seen.level)}, not"
    instead = f"between levels, not {drawn}" if shown == {seen.drawn.level} else f"{instead} {drawn}"
    return f"At {degrees(group.angle_deg)} (step {group.step}), {name} is {instead}"


def _quoted(level: str) -> str:
    return f"“{level}”"


def symptom_text(symptom: FaultSymptom) -> str:
    """Return a fault and what would be seen of it, in one line."""
    parts = [f"{symptom.fault.statement}."]
    if symptom.count:
        parts.append(f"{counted(symptom.count, 'sighting')} {'differs' if symptom.count == 1 else 'differ'}.")
    return " ".join((*parts, *_items(symptom)))


def _items(symptom: FaultSymptom) -> Iterator[str]:
    """Yield sentences about what comes out."""
    rows = symptom.outlets or ()
    for row in rows[:MOST_ENDS]:
        where = row.end.capitalize() if row.end in (LEFT, LOST) else f"To {row.end}"
        yield f"{where}: {_counts(row)}."
    if len(rows) > MOST_ENDS:
        yield f"And {len(rows) - MOST_ENDS} more."
    empty = symptom.empty or {}
    if empty:
        first = min(empty.values())
        yield f"Runs empty in turn {first}: {listed(list(empty)[:MOST_ENDS])}."


def _counts(row: OutletDifference) -> str:
    """Return counts by turn: one number where all turns are alike."""
    if len({*row.seen}) == len({*row.drawn}) == 1:
        return f"{row.seen[0]} each turn, not {row.drawn[0]}"
    seen, drawn = (", ".join(map(str, counts)) for counts in (row.seen, row.drawn))
    return f"{seen} in the first turns, not {drawn}"


# ---- JSON


def sheet_json(project: Project, sheet: SymptomSheet) -> dict[str, Any]:
    """Return the object of `faults --json`; its keys stand in docs/guide/trouble.md."""
    return {
        "project": project.name,
        "checks": [{"angle_deg": round(angle, 6)} for angle in sheet.checks],
        "groups": [
            {
                "angle_deg": round(group.angle_deg, 6) if group.lane else None,
                "step": group.step or None,
                "lane": group.lane or None,
                "faults": [symptom_json(one) for one in group.symptoms],
            }
            for group in sheet.groups
        ],
        "invisible": [
            {**fault_json(one.fault), "between": one.between and _difference_json(one.between)}
            for one in sheet.invisible
        ],
        "left_out": sheet.left_out,
        "flow_left_out": sheet.flow_left_out,
    }


def fault_json(fault: BuildFault) -> dict[str, Any]:
    """Return a fault as plain values; what does not belong to its kind is left out."""
    sizes: dict[str, Any] = {}
    if fault.angle_deg:
        sizes["angle_deg"] = round(fault.angle_deg, 6)
    if fault.kind == "travel":
        sizes["share"] = fault.share
    if fault.kind == "slips":
        sizes["slip_at_deg"] = fault.slip_at_deg
    named = {"stack": fault.stack, "level": fault.level, "magazine": fault.part}
    return {
        "kind": fault.kind,
        "statement": fault.statement,
        "lanes": list(fault.lanes),
        **{key: value for key, value in named.items() if value},
        **({"turned_over": True} if fault.turned_over else {}),
        **sizes,
        "look": fault.look,
        "do": fault.do,
        "action": fault.action,
    }


def symptom_json(symptom: FaultSymptom) -> dict[str, Any]:
    """Return a fault with what would be seen of it, as plain values."""
    outlets = symptom.outlets
    return {
        **fault_json(symptom.fault),
        "differences": symptom.count,
        "seen": [_difference_json(one) for one in symptom.seen],
        "outlets": None
        if outlets is None
        else [{"to": one.end, "drawn": list(one.drawn), "seen": list(one.seen)} for one in outlets],
        "empty": dict(symptom.empty or {}) if outlets is not None else None,
    }


def _difference_json(one: SeenDifference) -> dict[str, Any]:
    return {
        "angle_deg": round(one.angle_deg, 6),
        "step": one.step,
        "lane": one.lane,
        "drawn": sighting_json(one.drawn),
        "seen": sighting_json(one.seen),
    }


def sighting_json(sighting: PredictedSighting) -> Mapping[str, Any]:
    """Return a predicted sighting as plain values."""
    output = sighting.output_mm
    return {"level": sighting.level or None, "output_mm": None if output is None else round(output, 4)}


def output_text(sighting: PredictedSighting) -> str:
    """Return a predicted sighting for people: its level, or its output."""
    if sighting.output_mm is None:
        return "on no disc"
    return sighting.level or millimetres(sighting.output_mm)
