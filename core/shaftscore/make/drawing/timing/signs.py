"""Signs of findings on the rail: one at the middle of each, joined into one where they stand close."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
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


COUNT_PX = 7.0
"""Room for each figure of a count beside its sign, px of the design."""


def spread(signs: Sequence[Sign[T]], left: float, right: float, u: float = 1.0) -> tuple[Sign[T], ...]:
    """Move signs apart so that none lies over another one's count: no further than that takes.

    left, right: px between which they stay as far as there is room.
    """
    after = [_needed(sign, u) for sign in signs]
    xs = [sign.x for sign in signs]
    for place in range(1, len(xs)):
        xs[place] = max(xs[place], xs[place - 1] + after[place - 1])
    limit = right
    for place in reversed(range(len(xs))):
        xs[place] = max(left, min(xs[place], limit - after[place]))
        limit = xs[place]
    return tuple(sign if x == sign.x else replace(sign, x=x) for sign, x in zip(signs, xs, strict=True))


def _needed(sign: Sign[T], u: float) -> float:
    """Return the distance that the next sign keeps from one, px."""
    count = len(sign.things)
    return (JOIN_PX + COUNT_PX * len(str(count)) * (count > 1)) * u


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
    signs = joined(((x, one.severity, one) for one, x in placed if several or left <= x <= right), frame.u)
    return spread(signs, axis.left, axis.right, frame.u)


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
