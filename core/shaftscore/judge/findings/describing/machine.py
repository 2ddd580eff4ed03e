"""Sentences of the rules about parts, bodies and what is not checked."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, value_of
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def interference(finding: Finding, _project: Project) -> str:
    """Read value (clearance, mm; negative: they cut), limit (mm); facts first, second (parts), at_deg."""
    clearance = value_of(finding)
    first, second = finding.facts["first"], finding.facts["second"]
    at = round_angle(number(finding, "at_deg"), finding.cycles)
    if clearance <= 0:
        return f"{first} overlaps {second} by {wording.millimetres(-clearance)} at {at}."
    return (
        f"{first} passes {second} at {wording.millimetres(clearance)}; "
        f"{wording.millimetres(limit_of(finding))} required, at {at}."
    )


def weak_part(finding: Finding, _project: Project) -> str:
    """Read value, limit (mm) and fact part; or fact why: a whole sentence."""
    if "why" in finding.facts:
        return str(finding.facts["why"])
    return (
        f"{finding.facts['part']} is {wording.millimetres(value_of(finding))}; "
        f"{wording.millimetres(limit_of(finding))} required."
    )


def bad_part(finding: Finding, _project: Project) -> str:
    """Read value (what is left of it, mm; 0 or less) and fact part; or fact why: a whole sentence."""
    if "why" in finding.facts:
        return str(finding.facts["why"])
    return f"{finding.facts['part']} is {wording.millimetres(value_of(finding))}; the part cannot be made."


def too_large(finding: Finding, _project: Project) -> str:
    """Read value, limit (radius, mm)."""
    return (
        f"Disc radius {wording.millimetres(value_of(finding))}; "
        f"{wording.millimetres(limit_of(finding))} may be made."
    )


def not_checked(finding: Finding, _project: Project) -> str:
    """Read fact what: plural, in sentence case ("Rules of kind order"), or why: a whole sentence."""
    if "why" in finding.facts:
        return str(finding.facts["why"])
    return f"{finding.facts['what']} are not checked by this version."
