"""Sentences of the rules about the shaft and its clamp."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, value_of
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def shaft_bends(finding: Finding, project: Project) -> str:
    """Read fact what: deflection (value, limit mm; lanes, the worst first) or stress (MPa); fact stack."""
    shaft = str(finding.facts["stack"]) or "The shaft"
    if finding.facts["what"] == "stress":
        stress, allowed = wording.megapascals(value_of(finding)), wording.megapascals(limit_of(finding))
        return f"{shaft}: bending stress {stress} in the rod; at most {allowed} allowed."
    others = len(finding.lanes) - 1
    more = f" and over the limit at {wording.counted(others, 'other disc')}" if others else ""
    return (
        f"{shaft} bends by {wording.millimetres(value_of(finding), 3)} at "
        f"{lane_text(project, finding.lanes[0])}{more}; "
        f"at most {wording.millimetres(limit_of(finding), 3)} allowed, the tolerance of the profile."
    )


def joint_opens(finding: Finding, _project: Project) -> str:
    """Read value, limit (N·m that bend the joint, that it holds); facts stack, first, second, clamp_n."""
    where = f"{finding.facts['stack']}: " if finding.facts["stack"] else ""
    joint = f"the joint between {finding.facts['first']} and {finding.facts['second']}"
    clamp = wording.newtons(number(finding, "clamp_n"), 0)
    text = (
        f"{where}{joint} opens at a bending moment of {wording.newton_metres(value_of(finding), 3)}; "
        f"the clamp of {clamp} holds {wording.newton_metres(limit_of(finding), 3)} once it has crept."
    )
    return text if where else text[:1].upper() + text[1:]
