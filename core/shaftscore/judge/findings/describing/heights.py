"""Sentences of the rules about heights along the shaft and layers."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, value_of
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def off_edge(finding: Finding, _project: Project) -> str:
    """Read value, limit (contact width, mm); facts how: "drawn" | "worst", what, tolerance_mm.

    Or how "touch": value (gap in height in the worst case, negative, mm); facts first, second, tolerance_mm.
    """
    reach = f"± {wording.millimetres(number(finding, 'tolerance_mm'))} along the shaft"
    if finding.facts["how"] == "touch":
        first, second = finding.facts["first"], finding.facts["second"]
        by = wording.millimetres(-value_of(finding))
        return f"{first} can touch {second}: in the worst case ({reach}) they overlap by {by}."
    value, limit = wording.millimetres(value_of(finding)), wording.millimetres(limit_of(finding))
    if finding.facts["how"] == "drawn":
        return f"{finding.facts['what']} has {value} of contact with the rim as drawn; {limit} required."
    return f"{finding.facts['what']} keeps {value} of contact in the worst case ({reach}); {limit} required."


def between_layers(finding: Finding, _project: Project) -> str:
    """Read value (thickness, mm); facts part, low_mm, high_mm (what can be printed)."""
    low, high = (f"{wording.plain(number(finding, fact), 2)} mm" for fact in ("low_mm", "high_mm"))
    prints = low if low == high else f"{low} and {high}"
    thick = f"{wording.plain(value_of(finding), 2)} mm"
    return f"{finding.facts['part']} thickness {thick} is no whole number of layers; {prints} can be printed."
