"""Sentences of the rules between blocks and states."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.findings.naming import (
    is_at,
    is_held,
    is_not_at,
    lane_text,
    opening_text,
    state_text,
    states_of,
)
from shaftscore.judge.findings.record import Finding
from shaftscore.model import LevelState, Project, RangeState


def number(finding: Finding, fact: str) -> float:
    """Return a fact that is a number, in the unit of its name; raises KeyError if the finding lacks it."""
    return float(finding.facts[fact])


def value_of(finding: Finding) -> float:
    """Return the measured value, in the rule's unit; raises ValueError if the finding has none."""
    if finding.value is None:
        raise ValueError(f"a finding of rule {finding.rule} needs a value")
    return finding.value


def limit_of(finding: Finding) -> float:
    """Return the limit, in the rule's unit; raises ValueError if the finding has none."""
    if finding.limit is None:
        raise ValueError(f"a finding of rule {finding.rule} needs a limit")
    return finding.limit


def other_places(finding: Finding) -> str:
    """Return a sentence that counts the other stretches of the turn with the same fault; empty for none."""
    others = int(finding.facts.get("others", 0))
    return f" Also in {wording.counted(others, 'other stretch')} of the turn." if others else ""


def no_time(finding: Finding, _project: Project) -> str:
    """Read value (overlap of the blocks, degrees of the lane's own stack); facts from_level, to_level."""
    short = value_of(finding)
    how = f"overlap by {wording.degrees(short)}" if short > LIMIT else "touch"
    facts = finding.facts
    return f"No time to move from {facts['from_level']} to {facts['to_level']}: the blocks {how}."


def pass_through(finding: Finding, _project: Project) -> str:
    """Read value (degrees); facts seconds, from_level, to_level; the first subject, a LevelState."""
    state = states_of(finding)[0]
    facts = finding.facts
    return (
        f"Sweeps guarded {opening_text(state)} for {wording.degrees(value_of(finding))} "
        f"({wording.seconds(number(finding, 'seconds'))}), {facts['from_level']} to {facts['to_level']}."
    )


def overlap(finding: Finding, project: Project) -> str:
    """Read value (degrees), limit (gap required, degrees); facts seconds, how: "overlap" | "gap".

    The first two subjects are the states.
    """
    gap = limit_of(finding)
    asked = f"; a gap of {wording.degrees(gap)} is required" if gap > 0 else ""
    length = f"{wording.degrees(value_of(finding))} ({wording.seconds(number(finding, 'seconds'))})"
    if finding.facts["how"] == "gap":
        return f"Only {length} apart{asked}."
    return f"{_both(finding, project)} for {length}{asked}."


def _both(finding: Finding, project: Project) -> str:
    """State that two states hold together, shortly where they are called the same."""
    first, second = states_of(finding)[:2]
    if opening_text(first) != opening_text(second) or first.lane == second.lane:
        return f"{lane_text(project, first.lane)} {is_held(first)} while {_other(project, first, second)}"
    within = "" if isinstance(first, LevelState) else "within "
    return f"Both are {within}{opening_text(first)}"


def _other(project: Project, first: LevelState | RangeState, second: LevelState | RangeState) -> str:
    """State that a second state holds; one of the same lane without naming it again."""
    lane = "it" if first.lane == second.lane else lane_text(project, second.lane)
    return f"{lane} {is_held(second)}"


def interlock(finding: Finding, project: Project) -> str:
    """Read fact kind: "requires" | "order" and what `_requires` or `_order` read."""
    return _requires(finding, project) if finding.facts["kind"] == "requires" else _order(finding, project)


def _requires(finding: Finding, project: Project) -> str:
    """Read value (degrees missing in all); span (the first stretch missing); subjects when, need."""
    when, need = states_of(finding)[:2]
    start = round_angle(0.0 if finding.start_deg is None else finding.start_deg, finding.cycles)
    return (
        f"{_subject_is_not(need, project)} while {lane_text(project, when.lane)} {is_at(when)}: "
        f"{wording.degrees(value_of(finding))} missing from {start}."
    )


def _subject_is_not(state: LevelState | RangeState, project: Project) -> str:
    return f"{lane_text(project, state.lane)} {is_not_at(state)}"


def _order(finding: Finding, project: Project) -> str:
    """Read value (s, absent: it never begins), limit (s); facts side: "min" | "max"; first, then."""
    first, then = states_of(finding)[:2]
    if finding.value is None:
        return f"{state_text(project, then)} never begins after {state_text(project, first)}."
    least = "least" if finding.facts["side"] == "min" else "most"
    return (
        f"{state_text(project, then)} begins {wording.seconds(finding.value)} after "
        f"{state_text(project, first)}; at {least} {wording.seconds(limit_of(finding))} required."
    )
