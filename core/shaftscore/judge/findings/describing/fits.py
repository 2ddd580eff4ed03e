"""Sentences of the rules about the joints of a stack, and about the chance that a built machine works."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, value_of
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project

MOST_NAMED = 3
"""Lanes that are named; of more the rest are counted."""

_BORES = {"d": "D bore", "hex": "hexagonal bore", "square": "square bore", "round": "round bore"}


def _lanes(finding: Finding, project: Project) -> str:
    """Name a finding's lanes."""
    names = [lane_text(project, lane) for lane in finding.lanes]
    more = len(names) - MOST_NAMED
    return wording.listed(names if more <= 0 else [*names[:MOST_NAMED], f"{more} more"])


def free_part(finding: Finding, project: Project) -> str:
    """Read value (torque that the clamp carries, N·m, or None), limit (N·m); facts stack, bore, clearance_mm.

    And fact unknown: 1 where the torque of the joints is not known.
    """
    bore, clearance = str(finding.facts["bore"]), number(finding, "clearance_mm")
    at = "" if bore == "round" else f" of {wording.millimetres(clearance, 2)} clearance"
    what = f"Turns freely on {finding.facts['stack']}: nothing in its {_BORES[bore]}{at} holds it"
    if len(finding.lanes) > 1:
        named = f"{_lanes(finding, project)} turn freely on {finding.facts['stack']}"
        what = f"{named}: nothing in their {_BORES[bore]}s{at} holds them"
    if finding.value is None:
        return f"{what}."
    carried = f"the clamp carries {wording.newton_metres(finding.value)}"
    if finding.facts["unknown"]:
        return f"{what}; {carried}, and what the discs take is not known, as forces are not described."
    return f"{what}; {carried}, {wording.newton_metres(limit_of(finding))} required."


def joint_slips(finding: Finding, project: Project) -> str:
    """Read value (greatest torque of the joints, N·m), limit (that the clamp carries, N·m).

    And facts stack, play_deg (±, degrees of the stack).
    """
    took = wording.newton_metres(value_of(finding))
    carried = wording.newton_metres(limit_of(finding))
    play = wording.degrees(number(finding, "play_deg"))
    others = len(finding.lanes) - 1
    more = f" and {wording.counted(others, 'more joint')}" if others else ""
    return (
        f"The joint of {lane_text(project, finding.lanes[0])}{more} on {finding.facts['stack']} takes up to "
        f"{took}; the clamp carries {carried} by friction, so the play of ±{play} comes back."
    )


def thin_margin(finding: Finding, project: Project) -> str:
    """Read value (share of machines that fail, 0 to 1); lanes: the one that contributes most first.

    And facts cause, without (chance without it), law and play_deg (of the stack with the most play), seat_mm;
    none where nothing is known of the cause. Or of a supply without reserve its id, fed_per_min and
    reserve_per_min.
    """
    share = wording.percent(value_of(finding) * 100, 1)
    if "supply" in finding.facts:
        fed = wording.per_minute(number(finding, "fed_per_min"))
        reserve = wording.number(number(finding, "reserve_per_min"), 1)
        supply = wording.part_name(str(finding.facts["supply"]))
        needs = f"Supply {supply} feeds {fed}, {reserve} more are needed in reserve"
        return f"{needs}; about {share} of built machines would fail."
    cause = str(finding.facts.get("cause", ""))
    most = f"{lane_text(project, finding.lanes[0])} contributes most" if finding.lanes else ""
    if cause == "play":
        return f"{_of_play(finding, share)}{'; ' + most if most else ''}."
    if cause not in CAUSES:
        return f"Works as drawn, but about {share} of built machines would fail{'; ' + most if most else ''}."
    seat = wording.millimetres(float(finding.facts.get("seat_mm", 0.0)), 2)
    errors = CAUSES[cause].format(seat=seat)
    lane = f", at {lane_text(project, finding.lanes[0])} most of all" if finding.lanes else ""
    return f"Works as drawn, but about {share} of built machines would fail; {errors} contribute most{lane}."


def _of_play(finding: Finding, share: str) -> str:
    """Write what the play of the joints does, by how they are set."""
    play = wording.degrees(number(finding, "play_deg"))
    turns = f"Each disc can turn ±{play} on its shaft"
    fail = f"about {share} of built machines would fail"
    return {
        "as-they-lie": f"{turns}; {fail} when tightened as they lie",
        "loose": f"{turns} while the machine runs; {fail}",
        "one-way": f"{turns}; {fail}, though all are turned one way while tightened",
        "lined-up": f"{turns}; {fail}, though they are lined up by their marks",
    }[str(finding.facts["law"])]


CAUSES = {
    "seat": "discs that sit up to {seat} off their axis",
    "disc-angle": "errors of the printed angles",
    "profile": "errors of the printed edges",
    "station": "followers beside their line",
    "zero": "errors of the outputs’ adjustment",
    "backlash": "backlashes of the drive",
    "link-play": "plays of the linkages",
    "shaft": "deflection and twist of the shaft",
    "friction": "differences in friction",
    "spring": "differences between springs",
    "speed": "differences in speed",
    "travel": "differences in travel time",
    "rate": "differences in the supply rate",
}
"""Causes as people read them, plural."""
