"""The words of a finding: title, lanes, where, what by how much against which limit, and the cure.

No blame, no exclamation mark. Measured values are rounded to the nearest, numbers in cures to the safe
side. The maker's own words (names of lanes and levels) stand as typed, never quoted.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.judge.findings.describing import DESCRIBE
from shaftscore.judge.findings.in_rounds import round_angle, round_range, turn_text
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
        what=DESCRIBE[finding.rule](finding, project) + _repeated(finding),
        cure=finding.cure.sentence if finding.cure else "",
    )


def _repeated(finding: Finding) -> str:
    """Write in how many other places of the round the same is found; empty for none."""
    others = int(finding.facts.get("repeated", 1)) - 1
    return f" Also in {wording.counted(others, 'other place')} of the round." if others else ""


def _where(finding: Finding) -> str:
    """Write the place: its worst angle (fact at_deg), else its span; the turn first where there is one."""
    place = ""
    if "at_deg" in finding.facts:
        place = round_angle(float(finding.facts["at_deg"]), finding.cycles)
    elif finding.span is not None and finding.turn is not None:
        place = round_angle(finding.span.start, finding.cycles)
    elif finding.span is not None:
        single = finding.span.length == 0
        start = round_angle(finding.span.start, finding.cycles)
        place = start if single else round_range(finding.span, finding.cycles)
    if finding.turn is None:
        return place
    turn = turn_text(finding.turn, finding.cycles)
    return f"{turn}, {place}" if place else turn
