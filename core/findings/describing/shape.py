"""Sentences of the rules about a motion, its disc and its follower."""

from __future__ import annotations

from core import wording
from core.findings.describing.timing import limit_of, number, value_of
from core.findings.record import Finding
from core.model import Project


def pressure_angle(finding: Finding, _project: Project) -> str:
    """Read value, limit (degrees); facts move: "rise" | "fall", to_level."""
    value, limit = value_of(finding), limit_of(finding)
    return (
        f"{wording.degrees(value)} on the {finding.facts['move']} to {finding.facts['to_level']}, "
        f"{wording.degrees(value - limit)} over the limit of {wording.degrees(limit)}."
    )


def self_locking(finding: Finding, _project: Project) -> str:
    """Read value, limit (degrees: where the guide's friction locks); facts move, to_level."""
    value, limit = value_of(finding), limit_of(finding)
    return (
        f"{wording.degrees(value)} on the {finding.facts['move']} to {finding.facts['to_level']}; "
        f"the guide locks from {wording.degrees(limit)} on."
    )


def undercut(finding: Finding, _project: Project) -> str:
    """Read value (radius that the edge would need, mm); fact how: "convex" | "hollow" | "apart".

    convex, hollow: facts roller_mm, path_mm (radius of the roller centre's path there).
    """
    if finding.facts["how"] == "apart":
        return "Two parts of the edge that lie far apart cut each other: the roller cannot touch both."
    roller, path = number(finding, "roller_mm"), number(finding, "path_mm")
    if finding.facts["how"] == "hollow":
        return (
            f"The path's hollow of {wording.millimetres(path)} is too tight for the groove's outer flank: "
            f"roller radius {wording.millimetres(roller)}."
        )
    return (
        f"Roller radius {wording.millimetres(roller)} is over the path's {wording.millimetres(path)}: "
        f"the edge would need {wording.millimetres(value_of(finding))}."
    )


def sharp_crest(finding: Finding, _project: Project) -> str:
    """Read value, limit (radius, mm)."""
    return (
        f"Crest of {wording.millimetres(value_of(finding))}; {wording.millimetres(limit_of(finding))} asked."
    )


def tight_hollow(finding: Finding, _project: Project) -> str:
    """Read value, limit (radius, mm); fact roller_mm."""
    return (
        f"Hollow of {wording.millimetres(value_of(finding))} for a roller of "
        f"{wording.millimetres(number(finding, 'roller_mm'))}; {wording.millimetres(limit_of(finding))} asked."
    )


def knife_edge(_finding: Finding, _project: Project) -> str:
    """Read nothing."""
    return "The roller's radius is 0.0 mm: a knife edge wears fast and is for study only."


def velocity_jump(finding: Finding, _project: Project) -> str:
    """Read value (mm/s); facts move: "rise" | "fall", to_level, place: "start" | "end"."""
    facts = finding.facts
    return (
        f"The velocity jumps by {value_of(finding):.1f} mm/s at the {facts['place']} of the "
        f"{facts['move']} to {facts['to_level']}."
    )


def acceleration_jump(finding: Finding, _project: Project) -> str:
    """Read value (force of the step, N), limit (least contact force there, N); fact to_level."""
    return (
        f"A step in acceleration costs {wording.newtons(value_of(finding))} of "
        f"{wording.newtons(limit_of(finding))} contact force, on the way to {finding.facts['to_level']}."
    )


def drop_late(finding: Finding, _project: Project) -> str:
    """Read value (degrees late, of the lane's own stack); facts seconds, to_level."""
    return (
        f"Lands {wording.degrees(value_of(finding))} ({wording.seconds(number(finding, 'seconds'))}) after "
        f"{finding.facts['to_level']} begins."
    )


def drop_one_way(finding: Finding, _project: Project) -> str:
    """Read fact to_level."""
    return (
        f"The drop to {finding.facts['to_level']} has a steep edge: do not turn the machine backwards here."
    )


def face_width(finding: Finding, _project: Project) -> str:
    """Read value (width that the contact needs, mm), limit (width that the face has, mm)."""
    past = (value_of(finding) - limit_of(finding)) / 2
    return f"Contact runs {wording.millimetres(past)} past the face."
