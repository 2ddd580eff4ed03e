"""Angles on the circle, in degrees: the one type for intervals and the only modulo arithmetic.

An `Arcs` is a set of closed stretches of the circle 0 <= angle < 360. A stretch is (start, length)
with 0 <= start < 360 and 0 <= length <= 360; it may run through 0, and length 0 is a single angle.
The stretches of a set are disjoint, do not touch, and are sorted by start; the full turn is one
stretch (0, 360). Angles grow in the direction in which the machine runs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar, overload

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import ANGLE_DEG

Span = tuple[float, float]
"""(start_deg, length_deg) of one stretch."""

Angles = npt.NDArray[np.float64]
"""Any array of angles in degrees."""

Number = TypeVar("Number", bound=np.generic)

TURN = 360.0


@overload
def wrap(deg: float) -> float: ...
@overload
def wrap(deg: Angles) -> Angles: ...
def wrap(deg: float | Angles) -> float | Angles:
    """Bring degrees into 0 <= angle < 360; never gives 360, however small the negative input. (n,) or one."""
    if isinstance(deg, np.ndarray):
        wrapped = np.mod(deg, TURN)
        return np.where(wrapped >= TURN, 0.0, wrapped) + 0.0
    # Plain floats take a way of their own: numpy costs forty times as much for one number.
    rest = float(deg) % TURN
    return 0.0 if rest >= TURN else rest + 0.0


def distinct(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """Return angles or indices, (n,), in order and each once: `np.unique` without its masked arrays."""
    ordered = np.sort(values)
    return ordered[np.append(True, ordered[1:] != ordered[:-1])] if len(ordered) else ordered


def numbered(values: npt.NDArray[Number]) -> npt.NDArray[np.intp]:
    """Return the place of each value, (n,), among the distinct ones in order, (n,) from 0."""
    return np.searchsorted(distinct(values), values)


def firsts(values: npt.NDArray[Number]) -> npt.NDArray[np.intp]:
    """Return where each distinct value of (n,) is first, in the order of the values."""
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    return order[np.append(True, ordered[1:] != ordered[:-1])] if len(ordered) else order


@overload
def ahead(start: float, to: float) -> float: ...
@overload
def ahead(start: float | Angles, to: Angles) -> Angles: ...
@overload
def ahead(start: Angles, to: float) -> Angles: ...
def ahead(start: float | Angles, to: float | Angles) -> float | Angles:
    """Degrees from `start` forward to `to`, 0 <= result < 360; (n,) or one each."""
    return wrap(to - start)


def turn_to(start: float, to: float) -> float:
    """Shortest signed turn from `start` to `to`, -180 < result <= 180."""
    forward = ahead(start, to)
    return forward - TURN if forward > TURN / 2 else forward


@dataclass(frozen=True)
class Arcs:
    """A set of closed stretches of the circle; see the module's text.

    Build with `Arcs.span`, `Arcs.between`, `Arcs.of`, `Arcs.empty` or `Arcs.full`.
    """

    spans: tuple[Span, ...]

    @staticmethod
    def empty() -> Arcs:
        """Return the set that holds no angle."""
        return _EMPTY

    @staticmethod
    def full() -> Arcs:
        """Return the whole turn."""
        return _FULL

    @staticmethod
    def span(start: float, length: float) -> Arcs:
        """Make one stretch from `start` on for `length` degrees (360 or more: the full turn).

        Raises ValueError if length is negative.
        """
        if length < 0:
            raise ValueError(f"an arc's length is at least 0 degrees, got {length!r}")
        return _FULL if length >= TURN else Arcs(((wrap(start), float(length)),))

    @staticmethod
    def between(start: float, end: float) -> Arcs:
        """Make the stretch from `start` forward to `end`, degrees; equal angles are a single angle."""
        return Arcs.span(start, ahead(start, end))

    @staticmethod
    def of(spans: Iterable[Span]) -> Arcs:
        """Make the union of stretches (start, length), which may overlap, touch and wrap."""
        return Arcs(_joined([Arcs.span(*span).spans[0] for span in spans]))

    @property
    def is_empty(self) -> bool:
        """Whether the set holds no angle."""
        return not self.spans

    @property
    def is_full(self) -> bool:
        """Whether the set is the whole turn."""
        return self.spans == _FULL.spans

    @property
    def length(self) -> float:
        """What is covered, 0 to 360 degrees."""
        return min(TURN, sum(length for _, length in self.spans))

    @property
    def start(self) -> float:
        """Start of a set of one stretch, degrees; raises ValueError for other sets."""
        return self._only()[0]

    @property
    def end(self) -> float:
        """End of a set of one stretch, 0 <= end < 360 (the full turn: 360)."""
        start, length = self._only()
        return TURN if self.is_full else wrap(start + length)

    @property
    def middle(self) -> float:
        """Middle of a set of one stretch, 0 <= middle < 360 degrees."""
        start, length = self._only()
        return wrap(start + length / 2)

    def _only(self) -> Span:
        if len(self.spans) != 1:
            raise ValueError(f"needs a set of one stretch, got {len(self.spans)}")
        return self.spans[0]

    def __iter__(self) -> Iterator[Arcs]:
        """Yield each stretch as a set of its own."""
        return (Arcs((span,)) for span in self.spans)

    def __or__(self, other: Arcs) -> Arcs:
        """Union."""
        return Arcs(_joined([*self.spans, *other.spans]))

    def __and__(self, other: Arcs) -> Arcs:
        """Intersection; stretches that only touch share that one angle."""
        pieces = [piece for a in self.spans for b in other.spans for piece in _common(a, b)]
        return Arcs(_joined(pieces))

    def __invert__(self) -> Arcs:
        """Complement, as a closed set: its ends are shared with this set.

        The complement of single angles is the full turn (what is left out has no length).
        """
        if self.is_empty or self.is_full:
            return _FULL if self.is_empty else _EMPTY
        solid = [span for span in self.spans if span[1] > 0]
        if not solid:
            return _FULL
        following = solid[1:] + solid[:1]
        gaps = [
            (wrap(start + length), ahead(start + length, after) or (TURN - length))
            for (start, length), (after, _) in zip(solid, following, strict=True)
        ]
        return Arcs(_joined(gaps))

    def shift(self, by: float) -> Arcs:
        """Turn the whole set forward by `by` degrees."""
        if self.is_full:
            return self
        return Arcs(_joined([(wrap(start + by), length) for start, length in self.spans]))

    def grow(self, before: float, after: float | None = None) -> Arcs:
        """Move every start back by `before` and every end forward by `after` degrees (the same if None).

        Negative values shrink; a stretch shrunk to less than nothing disappears.
        """
        after = before if after is None else after
        if self.is_full:
            return self
        grown = [(start - before, length + before + after) for start, length in self.spans]
        return Arcs.of(span for span in grown if span[1] >= 0)

    def contains(self, angle: float) -> bool:
        """Return whether `angle` lies in the set, ends included (to 1e-9 degree)."""
        return any(
            ahead(start, angle) <= length + ANGLE_DEG or ahead(angle, start) <= ANGLE_DEG
            for start, length in self.spans
        )

    def covers(self, other: Arcs) -> bool:
        """Return whether every angle of `other` lies in this set (to 1e-9 degree)."""
        return all(any(_covers(a, b) for a in self.spans) for b in other.spans)

    def gap(self, other: Arcs) -> float:
        """Least distance in degrees between the sets: 0 if they share an angle.

        Raises ValueError if either is empty: there is no distance to nothing.
        """
        if self.is_empty or other.is_empty:
            raise ValueError("an empty set has no distance to anything")
        return min(_distance(a, b) for a in self.spans for b in other.spans)


def _covers(a: Span, b: Span) -> bool:
    if a[1] >= TURN:
        return True
    lead = ahead(a[0], b[0])
    lead = lead - TURN if lead > TURN - ANGLE_DEG else lead
    return lead + b[1] <= a[1] + ANGLE_DEG


def _distance(a: Span, b: Span) -> float:
    if ahead(a[0], b[0]) <= a[1] or ahead(b[0], a[0]) <= b[1]:
        return 0.0
    return min(ahead(a[0] + a[1], b[0]), ahead(b[0] + b[1], a[0]))


def _common(a: Span, b: Span) -> list[Span]:
    """Return the one or two stretches that two stretches share."""
    first = _overlap(a, b)
    second = _overlap(b, a)
    return list(dict.fromkeys(span for span in (first, second) if span is not None))


def _overlap(a: Span, b: Span) -> Span | None:
    """Return the shared stretch that begins where `b` begins inside `a`."""
    lead = ahead(a[0], b[0])
    if lead > a[1]:
        return None
    return (b[0], min(b[1], a[1] - lead))


def _joined(spans: list[Span]) -> tuple[Span, ...]:
    """Sort stretches and join those that overlap or touch, also through 0."""
    runs: list[list[float]] = []
    for start, length in sorted(spans):
        if runs and start <= runs[-1][1]:
            runs[-1][1] = max(runs[-1][1], start + length)
        else:
            runs.append([start, start + length])
    while len(runs) > 1 and runs[0][0] + TURN <= runs[-1][1]:
        runs[-1][1] = max(runs[-1][1], runs.pop(0)[1] + TURN)
    if any(end - start >= TURN for start, end in runs):
        return ((0.0, TURN),)
    return tuple((start, end - start) for start, end in runs)


_EMPTY = Arcs(())
_FULL = Arcs(((0.0, TURN),))
