"""Sentences of the rules about springs."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.judge.findings.describing.timing import limit_of, number, other_places, value_of
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project


def weak_spring(finding: Finding, _project: Project) -> str:
    """Read value (least available force over required), limit (the same, required); facts.

    how ("sticks", "weakest-sticks", "reserve"), at_deg, available_n, required_n, friction (name of the case
    with the most, or empty), others.
    """
    has, needs = (_newtons(number(finding, key)) for key in ("available_n", "required_n"))
    at, case = round_angle(number(finding, "at_deg"), finding.cycles), str(finding.facts["friction"])
    holding = f"friction and inertia hold it with {needs}" + (f" ({case})" if case else "")
    if finding.facts["how"] == "sticks":
        return f"Sticks at {at}: {has} return the follower, {holding}.{other_places(finding)}"
    if finding.facts["how"] == "weakest-sticks":
        return (
            f"The weakest spring within its tolerance sticks at {at}: {has} return the follower, "
            f"{holding}.{other_places(finding)}"
        )
    ratio, least = wording.number(value_of(finding), 2), wording.number(limit_of(finding), 2)
    return (
        f"Reserve {ratio} at {at}, at least {least} required: {has} return the follower, {holding}."
        f"{other_places(finding)}"
    )


def _newtons(value: float) -> str:
    """Write a force with two figures at least: 0.40 N, 12.3 N."""
    return wording.newtons(value, 1 if abs(value) >= 10 else 2)


def spring_solid(finding: Finding, _project: Project) -> str:
    """Read value (length at the greatest travel, mm), limit (solid length, mm); fact at_deg."""
    return (
        f"The coils touch at {round_angle(number(finding, 'at_deg'), finding.cycles)}: "
        f"{wording.millimetres(value_of(finding))} are left for a solid length of "
        f"{wording.millimetres(limit_of(finding))}."
    )


def spring_stress(finding: Finding, _project: Project) -> str:
    """Read value and limit (MPa, or mm of compression), facts how ("stress", "buckles"), at_deg."""
    at = round_angle(number(finding, "at_deg"), finding.cycles)
    if finding.facts["how"] == "buckles":
        return (
            f"Compressed by {wording.millimetres(value_of(finding))} at {at}; "
            f"without a guide it buckles from {wording.millimetres(limit_of(finding))} on."
        )
    return (
        f"Peak {wording.megapascals(value_of(finding), 0)} of {wording.megapascals(limit_of(finding), 0)} "
        f"allowed in the wire, at {at}."
    )
