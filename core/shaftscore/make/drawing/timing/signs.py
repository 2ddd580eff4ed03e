"""Signs of findings on the rail: one at the middle of each, joined into one where they stand close."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from shaftscore.judge.findings import Severity

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
