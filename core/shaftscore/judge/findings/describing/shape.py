"""Sentences of the rules about a motion, its disc and its follower."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, other_places, value_of
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.findings.naming import move_text
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def pressure_angle(finding: Finding, _project: Project) -> str:
    """Read value, limit (degrees); facts move: "rise" | "fall" | "curve", to_level."""
    value, limit = value_of(finding), limit_of(finding)
    return (
        f"{wording.degrees(value)} on {move_text(finding)}, "
        f"{wording.degrees(value - limit)} over the limit of {wording.degrees(limit)}."
    )


def self_locking(finding: Finding, _project: Project) -> str:
    """Read value, limit (degrees: where the guide's friction locks); facts move, to_level."""
    value, limit = value_of(finding), limit_of(finding)
    return (
        f"{wording.degrees(value)} on {move_text(finding)}; the guide locks from {wording.degrees(limit)} on."
    )


def undercut(finding: Finding, _project: Project) -> str:
    """Read value (radius that the edge would need, mm, None for a face's corner); fact how.

    how: "convex" and "hollow" (a groove's outer flank) with facts roller_mm and path_mm (radius of the
    roller centre's path there), "face" (a flat face), "corner" (the motion has one), or "distant" with
    fact other_deg.
    """
    how = finding.facts["how"]
    if how == "corner":
        return "The motion has a corner here: the follower cannot touch both of its sides."
    if how == "distant":
        other = round_angle(number(finding, "other_deg"), finding.cycles)
        return f"The edge here is cut away by {wording.millimetres(-value_of(finding))} from {other}."
    if how == "face":
        needed = wording.millimetres(value_of(finding))
        return f"The face cannot touch the whole edge: it would need a radius of {needed}."
    roller, path = (wording.millimetres(number(finding, fact)) for fact in ("roller_mm", "path_mm"))
    if how == "hollow":
        return f"Roller radius {roller} is over the hollow of the path, {path}, on the groove's outer flank."
    needed = wording.millimetres(value_of(finding))
    return f"Roller radius {roller} is over the path's {path}: the edge would need {needed}."


def sharp_crest(finding: Finding, _project: Project) -> str:
    """Read value, limit (radius, mm)."""
    value, limit = wording.millimetres(value_of(finding)), wording.millimetres(limit_of(finding))
    return f"Crest of {value}; {limit} required."


def tight_hollow(finding: Finding, _project: Project) -> str:
    """Read value, limit (radius, mm); fact roller_mm."""
    hollow, roller = value_of(finding), number(finding, "roller_mm")
    return (
        f"Hollow of {wording.millimetres(hollow)} for a roller of {wording.millimetres(roller)}; "
        f"{wording.millimetres(limit_of(finding))} required."
    )


def knife_edge(_finding: Finding, _project: Project) -> str:
    """Read nothing."""
    return "The roller's radius is 0.0 mm: a knife edge wears fast and is for study only."


def velocity_jump(finding: Finding, _project: Project) -> str:
    """Read value (mm/s); facts move, to_level, where: "start" | "middle" | "end"; by: "stage" or absent."""
    jump = wording.number(value_of(finding))
    if finding.facts.get("by") == "stage":
        when = "starts" if finding.facts["where"] == "start" else "stops"
        return f"The velocity jumps by {jump} mm/s where the intermittent stage of its stack {when} at once."
    return f"The velocity jumps by {jump} mm/s at the {finding.facts['where']} of {move_text(finding)}."


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
    """Read value (width that the contact needs, mm), limit (width that the face has, mm); fact others."""
    past = (value_of(finding) - limit_of(finding)) / 2
    return f"Contact runs {wording.millimetres(past)} past the face.{other_places(finding)}"
