"""Sentences of the rules about items that move."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, value_of
from shaftscore.judge.findings.in_rounds import round_range, turn_text
from shaftscore.judge.findings.naming import lane_text, opening_text, states_of
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def starvation(finding: Finding, _project: Project) -> str:
    """Read turn, value (items short); facts item; fed_per_min, gives_per_min where they are known."""
    short = wording.counted(round(value_of(finding)), str(finding.facts["item"]))
    text = f"Runs empty in {turn_text(finding.turn or 1, finding.cycles)}, short by {short}"
    if "fed_per_min" not in finding.facts:
        return f"{text}."
    fed, gives = (wording.per_minute(number(finding, fact)) for fact in ("fed_per_min", "gives_per_min"))
    return f"{text}: supplied at {fed}, consumed at {gives}."


def collision(finding: Finding, project: Project) -> str:
    """Read value (s apart), limit (headway, s); fact channel; lanes: the two lanes (or one) that let out."""
    names = [lane_text(project, lane) for lane in finding.lanes[:2]]
    who = f"{names[0]} and {names[1]}" if len(names) == 2 else f"Two items of {names[0]}"
    return (
        f"{who} may meet in {_part(finding, 'channel')}: {wording.seconds(value_of(finding))} apart, "
        f"{wording.seconds(limit_of(finding))} required, travel spread counted."
    )


def release(finding: Finding, _project: Project) -> str:
    """Read value (items through), limit (items meant); facts open_s, item; the first subject, a state.

    Why nothing or too little left, where known: fact reload_s, how long the lane was in its reload state
    before; fact full, the magazine that had no room; fact why "short", with asked_s that the items need;
    why "never-closes".
    """
    through, meant = round(value_of(finding)), round(limit_of(finding))
    opening = opening_text(states_of(finding)[0])
    item, facts = str(finding.facts["item"]), finding.facts
    let = f"{wording.counted(through, item)} through; {meant} {'is' if meant == 1 else 'are'} intended"
    opening = f"{opening[:1].upper()}{opening[1:]}"
    if facts.get("why") == "never-closes":
        return f"{opening} the whole turn, without a start, lets {let}."
    text = f"{opening} {wording.seconds(number(finding, 'open_s'))} lets {let}"
    if "reload_s" in facts:
        return f"{text}: reloaded for {wording.seconds(number(finding, 'reload_s'))} before."
    if "full" in facts:
        return f"{text}: {_part(finding, 'full')} is full."
    if facts.get("why") == "short":
        return f"{text}, which takes {wording.seconds(number(finding, 'asked_s'))}."
    return f"{text}."


def misrouted(finding: Finding, project: Project) -> str:
    """Read span (arrival window); fact item; lanes: the diverter's, then the gate's.

    Facts between, or at (states of the diverter), or round (a channel that leads round to itself).
    """
    if "round" in finding.facts:
        return f"{finding.facts['item']} goes round in {_part(finding, 'round')} and never comes out."
    diverter = lane_text(project, finding.lanes[0])
    who = lane_text(project, finding.lanes[1]) if len(finding.lanes) > 1 else str(finding.facts["item"])
    state = (
        f"between {finding.facts['between']}" if "between" in finding.facts else f"at {finding.facts['at']}"
    )
    when = "" if finding.span is None else f", {round_range(finding.span, finding.cycles)}"
    return f"{diverter} is {state} when {who} arrives{when}."


def wrong_order(finding: Finding, _project: Project) -> str:
    """Read facts outlet, got, expected ("" for nothing), why: "swap" where only the spread may swap them.

    `got` arrives where `expected` should have.
    """
    outlet = _part(finding, "outlet")
    got, expected = (str(finding.facts[key]) for key in ("got", "expected"))
    if not got:
        return f"{outlet} does not get {expected}, which is expected."
    if not expected:
        return f"{outlet} gets {got}, which is not expected."
    gets = "may get" if finding.facts.get("why") == "swap" else "gets"
    return f"{outlet} {gets} {got} before {expected}; {expected} is expected first."


def _part(finding: Finding, fact: str) -> str:
    """Name the part of the flow of a fact."""
    return wording.part_name(str(finding.facts[fact]))
