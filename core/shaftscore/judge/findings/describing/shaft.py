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


def joint_opens(finding: Finding, project: Project) -> str:
    """Read value, limit (N·m that bend the joint, that it holds), lanes[0]; facts stack, side, clamp_n."""
    disc = f"the disc of {lane_text(project, finding.lanes[0])}"
    force, stack = wording.newtons(number(finding, "clamp_n"), 0), finding.facts["stack"]
    clamp = f"the clamp of {stack}, {force}," if stack else f"the clamp of {force}"
    return (
        f"A bending moment of {wording.newton_metres(value_of(finding), 3)} opens the joint "
        f"{finding.facts['side']} {disc}; {clamp} holds "
        f"{wording.newton_metres(limit_of(finding), 3)} after creep."
    )
