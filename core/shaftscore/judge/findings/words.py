"""The words of a finding: title, lanes, where, what by how much against which limit, and the cure.

No blame, no exclamation mark. Measured values are rounded to the nearest, numbers in cures to the safe
side. The maker's own words (names of lanes and levels) stand as typed, never quoted.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.judge.findings.describing import DESCRIBE
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.findings.record import Finding
from shaftscore.judge.findings.rules import RULES
from shaftscore.model import Project


@dataclass(frozen=True)
class Words:
    """A finding as people read it; where and cure may be empty."""

    title: str
    lanes: str
    where: str
    what: str
    cure: str


def words(finding: Finding, project: Project) -> Words:
    """Return a finding in words; `project` is the one that it was found in."""
    return Words(
        title=RULES[finding.rule].title,
        lanes=", ".join(lane_text(project, lane) for lane in finding.lanes),
        where=_where(finding),
        what=DESCRIBE[finding.rule](finding, project),
        cure=finding.cure.sentence if finding.cure else "",
    )


def _where(finding: Finding) -> str:
    """Write the place: its worst angle (fact at_deg), else its span; the turn first where there is one."""
    place = ""
    if "at_deg" in finding.facts:
        place = wording.degrees(float(finding.facts["at_deg"]))
    elif finding.span is not None and finding.turn is not None:
        place = wording.degrees(finding.span.start)
    elif finding.span is not None:
        single = finding.span.length == 0
        place = wording.degrees(finding.span.start) if single else wording.angle_range(finding.span)
    if finding.turn is None:
        return place
    return f"turn {finding.turn}, {place}" if place else f"turn {finding.turn}"
