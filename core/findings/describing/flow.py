"""Sentences of the rules about items that move."""

from __future__ import annotations

from core import wording
from core.findings.describing.timing import limit_of, number, value_of
from core.findings.naming import lane_text, opening_text, states_of
from core.findings.record import Finding
from core.model import Project


def starvation(finding: Finding, _project: Project) -> str:
    """Read turn, value (items short); facts item; fed_per_min, gives_per_min where they are known."""
    short = wording.counted(round(value_of(finding)), str(finding.facts["item"]))
    text = f"Opens empty in turn {finding.turn}, {short} short"
    if "fed_per_min" not in finding.facts:
        return f"{text}."
    fed, gives = (wording.per_minute(number(finding, fact)) for fact in ("fed_per_min", "gives_per_min"))
    return f"{text}: fed {fed}, gives {gives}."


def collision(finding: Finding, project: Project) -> str:
    """Read value (s apart), limit (headway, s); fact channel; lanes: the two lanes (or one) that let out."""
    names = [lane_text(project, lane) for lane in finding.lanes[:2]]
    who = f"{names[0]} and {names[1]}" if len(names) == 2 else f"Two items of {names[0]}"
    return (
        f"{who} may meet in {finding.facts['channel']}: {wording.seconds(value_of(finding))} apart, "
        f"{wording.seconds(limit_of(finding))} asked, travel spread counted."
    )


def release(finding: Finding, _project: Project) -> str:
    """Read value (items through), limit (items meant); facts open_s, item; the first subject, a state.

    Fact reload_s: how long the lane was in its reload state, where that is why nothing left.
    """
    through, meant = round(value_of(finding)), round(limit_of(finding))
    opening = opening_text(states_of(finding)[0])
    item = str(finding.facts["item"])
    text = (
        f"{opening[:1].upper()}{opening[1:]} {wording.seconds(number(finding, 'open_s'))} lets "
        f"{wording.counted(through, item)} through; {meant} {'is' if meant == 1 else 'are'} meant"
    )
    if "reload_s" in finding.facts:
        return f"{text}: reloaded for {wording.seconds(number(finding, 'reload_s'))} before."
    return f"{text}."


def misrouted(finding: Finding, project: Project) -> str:
    """Read span (arrival window); fact item; lanes: the diverter's, then the gate's; facts between, or at."""
    diverter = lane_text(project, finding.lanes[0])
    who = lane_text(project, finding.lanes[1]) if len(finding.lanes) > 1 else str(finding.facts["item"])
    state = (
        f"between {finding.facts['between']}" if "between" in finding.facts else f"at {finding.facts['at']}"
    )
    when = "" if finding.span is None else f", {wording.angle_range(finding.span)}"
    return f"{diverter} is {state} when {who} arrives{when}."


def wrong_order(finding: Finding, _project: Project) -> str:
    """Read facts outlet, got, expected ("" for nothing), why: "swap" where only the spread may swap them.

    `got` arrives where `expected` should have.
    """
    outlet, got, expected = (str(finding.facts[key]) for key in ("outlet", "got", "expected"))
    if not got:
        return f"{outlet} does not get {expected}, which is expected."
    if not expected:
        return f"{outlet} gets {got}, which is not expected."
    gets = "may get" if finding.facts.get("why") == "swap" else "gets"
    return f"{outlet} {gets} {got} before {expected}; {expected} is expected first."
