"""Signs of findings on the rail: one at the middle of each, joined into one where they stand close."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from shaftscore.judge.findings import Finding, Severity
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame

T = TypeVar("T")

JOIN_PX = 12.0
"""Signs closer than this become one, px of the design."""


def worst(severities: Iterable[Severity]) -> Severity | None:
    """Return the worst of some severities; None of none."""
    return min(severities, key=lambda severity: severity.rank, default=None)


@dataclass(frozen=True)
class Sign(Generic[T]):
    """One sign on the rail for one or several things, at px `x`."""

    x: float
    severity: Severity
    things: tuple[T, ...]


def joined(places: Iterable[tuple[float, Severity, T]], u: float = 1.0) -> tuple[Sign[T], ...]:
    """Join signs closer than 12 px: the joined one stands at their mean and is as bad as the worst."""
    groups: list[list[tuple[float, Severity, T]]] = []
    for place in sorted(places, key=lambda item: item[0]):
        if groups and place[0] - groups[-1][-1][0] < JOIN_PX * u:
            groups[-1].append(place)
        else:
            groups.append([place])
    return tuple(_sign(group) for group in groups)


def _sign(group: list[tuple[float, Severity, T]]) -> Sign[T]:
    severity = min({severity for _, severity, _ in group}, key=lambda severity: severity.rank)
    return Sign(sum(x for x, _, _ in group) / len(group), severity, tuple(thing for _, _, thing in group))


PlacedFinding = tuple[Finding, float]
"""A finding and the angle of its sign, degrees."""


def placed_findings(findings: Sequence[Finding]) -> tuple[PlacedFinding, ...]:
    """Return the findings that have a place, each with the angle of its sign, degrees."""
    return tuple((finding, deg) for finding in findings if (deg := middle_of(finding)) is not None)


def signs_of(findings: Sequence[PlacedFinding], frame: Frame) -> tuple[Sign[Finding], ...]:
    """Return the signs of findings on the rail of a frame."""
    axis = frame.axis
    left, right = axis.home
    placed = places_of(findings, axis)
    several = axis.width > 1.2 * (right - left)
    return joined(((x, one.severity, one) for one, x in placed if several or left <= x <= right), frame.u)


def places_of(placed: Sequence[PlacedFinding], axis: Axis) -> list[tuple[Finding, float]]:
    """Return findings, each with every px at which its sign is seen on an axis."""
    degs = np.array([deg for _, deg in placed], float)
    places, begins = axis.seen_copies(degs, np.zeros(len(degs)))
    return [(placed[place][0], x) for place, x in zip(places.tolist(), begins.tolist(), strict=True)]


def middle_of(finding: Finding) -> float | None:
    """Return the angle at which a finding's sign stands; None where it has no place."""
    if finding.span is None or finding.span.is_full:
        return None
    at = finding.facts.get("at_deg")
    return float(at) if at is not None else finding.span.middle
