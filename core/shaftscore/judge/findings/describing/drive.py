"""Sentences of the rules about forces, torque and the drive train."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, other_places, value_of
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def float_(finding: Finding, _project: Project) -> str:
    """Read value (speed at which contact is lost, rev/min), limit (the machine's, rev/min); fact others."""
    return (
        f"Loses contact above {wording.rpm(value_of(finding))}; "
        f"the machine runs at {wording.number(limit_of(finding))}.{other_places(finding)}"
    )


def contact_stress(finding: Finding, _project: Project) -> str:
    """Read value, limit (MPa), with as many decimals as show that they differ; fact at_deg."""
    value, limit = value_of(finding), limit_of(finding)
    decimals = next((n for n in (1, 2, 3) if wording.number(value, n) != wording.number(limit, n)), 3)
    return (
        f"Peak {wording.megapascals(value, decimals)} of {wording.megapascals(limit, decimals)} allowed, "
        f"at {round_angle(number(finding, 'at_deg'), finding.cycles)}."
    )


def overload(finding: Finding, _project: Project) -> str:
    """Read value, limit (N·m at the shaft); fact at_deg."""
    return (
        f"Peak {wording.newton_metres(value_of(finding))} of {wording.newton_metres(limit_of(finding))} "
        f"allowed, at {round_angle(number(finding, 'at_deg'), finding.cycles)}."
    )


def weak_gear(finding: Finding, _project: Project) -> str:
    """Read value, limit (MPa); facts stage (its number) or stack, wheel ("driver", "driven wheel"), teeth."""
    wheel, teeth = finding.facts["wheel"], finding.facts["teeth"]
    where = finding.facts["stack"] if "stack" in finding.facts else f"Stage {finding.facts['stage']}"
    return (
        f"{where}: {wording.megapascals(value_of(finding))} of "
        f"{wording.megapascals(limit_of(finding))} allowed at the root of the {wheel}’s {teeth} teeth."
    )


def weak_stage(finding: Finding, _project: Project) -> str:
    """Read value, limit (MPa, of speeds mm/s); facts stack, what (a key of `STAGE_WORDS`)."""
    stack, what, value, limit = (
        finding.facts["stack"],
        finding.facts["what"],
        value_of(finding),
        limit_of(finding),
    )
    where = STAGE_WORDS[str(what)]
    if what in ("speed", "tooth speed"):
        said, most = (f"{wording.plain(one / 1000, 2)} m/s" for one in (value, limit))
        return f"{stack}: the {where} at {said}; a printed wheel bears {most}."
    return f"{stack}: {wording.megapascals(value)} of {wording.megapascals(limit)} allowed in the {where}."


STAGE_WORDS = {
    "pin": "pin of its Geneva wheel",
    "slots": "slots of its Geneva wheel",
    "speed": "pin of its Geneva stage moves",
    "teeth": "teeth of its stage",
    "tooth speed": "counted teeth of its stage move",
}
"""What of an intermittent stage a finding is about."""


def wrong_hand(finding: Finding, _project: Project) -> str:
    """Read facts shaft_turn (what the drive gives), program_turn."""
    gives, meant = (finding.facts[key] for key in ("shaft_turn", "program_turn"))
    return f"The drive train turns the shaft {gives}; the program is for {meant}."


def off_speed(finding: Finding, _project: Project) -> str:
    """Read value (what the drive gives, rev/min), limit (the project's, rev/min)."""
    return (
        f"The drive train turns the shaft at {wording.rpm(value_of(finding))}; "
        f"the project says {wording.rpm(limit_of(finding))}."
    )
