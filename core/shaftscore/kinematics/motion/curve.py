"""Curves made of pieces with closed forms, exact in every derivative.

A *curve* is y(x) for 0 <= x <= 1. On each of its pieces it is a polynomial plus sine waves in
u = x - (start of the piece), so that every motion law, blend, free fall and spline of this project is
a curve, and all of them are evaluated by the same few lines of array arithmetic. A *joint* is an
inner end of a piece: derivatives may differ on its two sides, so every evaluation says from which
side it looks. A *run* is a longest stretch of x on which y only rises or only falls.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import factorial, perm
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Side = Literal["right", "left"]
"""From which side a value at a joint is taken: of what follows ("right") or what came before."""

SAME_X = 1e-12
"""Two x closer than this are the same place (3.6e-10 degree of a full turn)."""

_TABLE = 257
"""Points of the table that brackets roots."""

_ROOT_X = 1e-14
"""Roots are found to this x (4e-12 degree of a full turn), or to rounding."""

_HALVINGS = 52
"""Halvings that bring a bracket down to rounding."""

_MOST_INVERTED = 4096
"""So many inversions of a curve are kept."""

FEW, LOW_DEGREE = 200, 3
"""At fewer places, all orders of polynomials of more powers are evaluated at once."""

_ROUNDS = 100
"""Bound on the rounds of root finding; bisection alone would need 52."""


def read_only(array: Floats) -> Floats:
    """Keep an array, (n,) or any, that is handed out again and again from being changed."""
    array.flags.writeable = False
    return array


class CurvePiece(NamedTuple):
    """One piece of a curve: its length in x, polynomial and waves in u.

    poly: coefficients of 1, u, u**2, ...; waves: (amplitude, rate, phase) of
    amplitude * sin(rate * u + phase).
    """

    length: float
    poly: tuple[float, ...]
    waves: tuple[tuple[float, float, float], ...] = ()

    def reversed(self) -> CurvePiece:
        """Return the piece run backwards and turned over: -y(length - u)."""
        poly: Floats = np.zeros(1)
        for coefficient in self.poly[::-1]:
            shifted = np.append(poly * self.length, 0.0)
            shifted[1:] -= poly
            shifted[0] += coefficient
            poly = shifted
        waves = tuple((-amp, -rate, rate * self.length + phase) for amp, rate, phase in self.waves)
        return CurvePiece(self.length, tuple(float(-c) for c in poly), waves)

    def scaled(self, length: float, height: float) -> CurvePiece:
        """Stretch the piece: its length times the factor `length`, its values times the factor `height`."""
        poly = tuple(float(c * height / length**power) for power, c in enumerate(self.poly))
        waves = tuple((amp * height, rate / length, phase) for amp, rate, phase in self.waves)
        return CurvePiece(self.length * length, poly, waves)

    def part(self, begin: float, end: float) -> CurvePiece:
        """Cut the piece from begin to end, in its own u (0 to 1)."""
        poly: Floats = np.zeros(1)
        for coefficient in self.poly[::-1]:
            raised = np.append(poly * begin, 0.0)
            raised[1:] += poly
            raised[0] += coefficient
            poly = raised
        waves = tuple((amp, rate, rate * begin + phase) for amp, rate, phase in self.waves)
        return CurvePiece(end - begin, tuple(float(c) for c in poly), waves)


def cut(pieces: Sequence[CurvePiece], begin: float, end: float) -> list[CurvePiece]:
    """Cut a row of pieces from begin to end, counted from the row's start."""
    parts, start = [], 0.0
    for piece in pieces:
        low, high = max(begin - start, 0.0), min(end - start, piece.length)
        if high - low > SAME_X / 1000:
            parts.append(piece.part(low, high))
        start += piece.length
    return parts


@dataclass(frozen=True, eq=False, repr=False)
class Curve:
    """A curve over 0 <= x <= 1; see the module's text. Build it with `Curve.of`.

    starts: (p,) starts of the pieces, the first 0. poly: (p, d) coefficients by rising power of u.
    waves: (3, h, p) amplitudes, rates and phases.
    """

    starts: Floats
    poly: Floats
    waves: Floats

    def __post_init__(self) -> None:
        for array in (self.starts, self.poly, self.waves):
            read_only(array)

    @classmethod
    def of(cls, pieces: Sequence[CurvePiece]) -> Curve:
        """Join pieces, whose lengths must add up to 1."""
        return cls(*packed(pieces))

    @cached_property
    def joints(self) -> tuple[float, ...]:
        """The inner ends of the pieces, rising."""
        return tuple(float(start) for start in self.starts[1:])

    @cached_property
    def _derived(self) -> Floats:
        """(5, p, d) coefficients of y and its first four derivatives."""
        degree = self.poly.shape[1]
        table = np.zeros((5, *self.poly.shape))
        for order in range(min(5, degree)):
            factors = np.array([perm(power, order) for power in range(order, degree)], dtype=float)
            table[order, :, : degree - order] = self.poly[:, order:] * factors
        return table

    def at(self, x: Floats, side: Side = "right", orders: int = 4) -> Floats:
        """Evaluate y and its derivatives with respect to x.

        x: (n,) within 0 to 1. side: which piece counts at a joint (within `SAME_X` of it). Returns
        (orders, n): y, y', y'', y''' for the usual four orders; at most five.
        """
        return self._evaluate(self._piece(x, side), x, orders)

    @cached_property
    def _columns(self) -> tuple[tuple[Floats, ...], ...]:
        """Coefficients of y and its first four derivatives, each (p,), from the highest power that occurs."""
        columns = []
        for table in self._derived:
            used = np.flatnonzero(table.any(axis=0))
            last = int(used[-1]) + 1 if len(used) else 0
            columns.append(tuple(np.ascontiguousarray(table[:, power]) for power in range(last)[::-1]))
        return tuple(columns)

    def _evaluate(self, piece: Ints, x: Floats, orders: int) -> Floats:
        """Evaluate given pieces (n,) at x (n,), also at or past their ends: (orders, n)."""
        u = x - self.starts[piece]
        few = len(u) < FEW and self.poly.shape[1] > LOW_DEGREE
        values = self._at_few(piece, u, orders) if few else self._at_many(piece, u, orders)
        for amp, rate, phase in zip(*self.waves[:, :, piece], strict=True):
            _add_wave(values, amp, rate, rate * u + phase)
        return values

    def _at_few(self, piece: Ints, u: Floats, orders: int) -> Floats:
        """Do what `_at_many` does, and to the same digits, all orders at once: fewer calls, more work."""
        values = np.zeros((orders, len(u)))
        for power in range(self.poly.shape[1])[::-1]:
            values *= u
            values += self._derived[:orders, piece, power]
        return values

    def _at_many(self, piece: Ints, u: Floats, orders: int) -> Floats:
        """Evaluate the polynomials of pieces (n,) at u (n,) by Horner's rule: (orders, n)."""
        values = np.zeros((orders, len(u)))
        for order, columns in enumerate(self._columns[:orders]):
            value = values[order]
            for column in columns:
                value *= u
                value += column if len(column) == 1 else column[piece]
        return values

    def _piece(self, x: Floats, side: Side) -> Ints:
        if side == "right":
            found = np.searchsorted(self.starts, x + SAME_X, side="right") - 1
        else:
            found = np.searchsorted(self.starts, x - SAME_X, side="left") - 1
        return np.maximum(found, 0)

    @cached_property
    def ends(self) -> tuple[Floats, Floats]:
        """Values (4,) at x = 0 and at x = 1, from inside."""
        return self.at(np.zeros(1))[:, 0], self.at(np.ones(1), "left")[:, 0]

    @cached_property
    def sides(self) -> tuple[Floats, Floats]:
        """Values at the inner joints (k,) from the left and from the right: (4, k) each."""
        joints = self.starts[1:]
        return self.at(joints, "left"), self.at(joints, "right")

    @cached_property
    def steps_at_joints(self) -> Floats:
        """The largest step of y and of each derivative at a joint, without sign: (4,), 0 without joints."""
        left, right = self.sides
        return np.asarray(np.max(np.abs(right - left), axis=1, initial=0.0))

    def nodes(self, count: int = 65) -> tuple[Floats, Floats]:
        """Places that stand for the curve: `count` even ones, joints on both sides.

        Returns x (m,) rising, ends included, and values (4, m), one-sided at joints (a joint stands
        there twice: left, then right). Each piece has at least 5 places.
        """
        cached: dict[int, tuple[Floats, Floats]] = self.__dict__.setdefault("_nodes", {})
        if count not in cached:
            cached[count] = self._make_nodes(count)
        return cached[count]

    def _make_nodes(self, count: int) -> tuple[Floats, Floats]:
        lengths = np.diff(self.edges)
        places = np.maximum(5, 1 + np.ceil((count - 1) * lengths - SAME_X).astype(np.int64))
        piece = np.repeat(np.arange(len(lengths)), places)
        number = np.arange(len(piece)) - np.repeat(np.cumsum(places) - places, places)
        share = number / (places[piece] - 1)
        x = np.where(share == 1, self.edges[piece + 1], self.edges[piece] + share * lengths[piece])
        return read_only(x), read_only(self._evaluate(piece, x, 4))

    @cached_property
    def edges(self) -> Floats:
        """The ends of the pieces, (p + 1,) from 0 to 1."""
        return read_only(np.append(self.starts, 1.0))

    @cached_property
    def runs(self) -> Floats:
        """The ends of the runs: (r + 1,) x rising from 0 to 1, where y turns in between."""
        return read_only(np.concatenate(([0.0], self.stationary(0), [1.0])))

    def stationary(self, order: int) -> Floats:
        """Inner places where the derivative number `order` turns: where its own derivative changes sign.

        Found between the nodes of `_grid`, also at joints and where a stretch of zeros lies in between,
        and refined to rounding. Returns x (m,), rising.
        """
        x, piece = self._grid()
        values = self._evaluate(piece, x, 5)[order + 1]
        solid = np.flatnonzero(np.abs(values) > 1e-12 * np.max(np.abs(values)))
        change = np.flatnonzero(values[solid[:-1]] * values[solid[1:]] < 0)
        before, after = solid[change], solid[change + 1]
        inside = (after == before + 1) & (piece[before] == piece[after])
        places = np.concatenate(
            (
                self._halved(order + 1, piece[before[inside]], x[before[inside]], x[after[inside]]),
                x[(before[~inside] + after[~inside] + 1) // 2],
            )
        )
        inner: Floats = np.sort(places[(places > SAME_X) & (places < 1 - SAME_X)])
        return inner

    def _halved(self, order: int, piece: Ints, low: Floats, high: Floats) -> Floats:
        """Find where a derivative of given pieces changes sign within brackets, by halving them."""
        falling = self._evaluate(piece, low, 5)[order] > 0
        for _ in range(_HALVINGS if len(piece) else 0):
            middle = (low + high) / 2
            before = (self._evaluate(piece, middle, 5)[order] > 0) == falling
            low, high = np.where(before, middle, low), np.where(before, high, middle)
        return (low + high) / 2

    def _grid(self) -> tuple[Floats, Ints]:
        """Return places on every piece, both ends included: x (m,) and piece number (m,)."""
        count = 33 if len(self.starts) <= 64 else 9
        shares = np.linspace(0.0, 1.0, count)
        x = self.starts[:, None] + np.diff(self.edges)[:, None] * shares
        return x.ravel(), np.repeat(np.arange(len(self.starts)), count)

    @cached_property
    def peaks(self) -> tuple[tuple[float, float], ...]:
        """Largest |y'|, |y''|, |y'''| with the x where each is reached, one-sided at joints."""
        return tuple(self._peak(order) for order in (1, 2, 3))

    def _peak(self, order: int) -> tuple[float, float]:
        joints = self.starts[1:]
        inner = self.stationary(order)
        after, before = np.concatenate(([0.0], joints, inner)), np.append(joints, 1.0)
        places = np.concatenate((after, before))
        values = np.abs(np.concatenate((self.at(after)[order], self.at(before, "left")[order])))
        best = int(np.argmax(values))
        return float(values[best]), float(places[best])

    def invert(self, y: Floats, low: Floats, high: Floats) -> Floats:
        """Find x with y(x) = y, each within a bracket on one run.

        y, low, high: (n,); y(low) and y(high) must enclose y. Newton's steps held in a bracket that
        bisection shrinks; all roots in one pass, exact to rounding.
        """
        low, high = low.copy(), high.copy()
        ends = self.at(np.concatenate((low, high)), orders=1)[0].reshape(2, -1)
        falling = ends[1] < ends[0]
        span = np.where(ends[1] == ends[0], 1.0, ends[1] - ends[0])
        x: Floats = low + (high - low) * np.clip((y - ends[0]) / span, 0.0, 1.0)
        done = np.zeros(len(x), dtype=bool)  # a root that is found stays, however long others take
        for _ in range(_ROUNDS):
            value, slope = self.at(x, orders=2)
            error = value - y
            below = (error < 0) != falling
            low, high = np.where(below, x, low), np.where(below, high, x)
            step = np.divide(error, slope, out=np.full_like(x, np.inf), where=slope != 0)
            step[error == 0] = 0.0
            settled = np.abs(step) <= _ROOT_X
            held = (x - step >= low) & (x - step <= high) | settled
            moved = np.where(held, np.clip(x - step, low, high), (low + high) / 2)
            x = np.where(done, x, moved)
            done |= settled | (high - low <= _ROOT_X)
            if done.all():
                break
        return x

    @cached_property
    def _table(self) -> tuple[Floats, Floats]:
        x = (1 - np.cos(np.linspace(0, np.pi, _TABLE))) / 2
        return x, np.maximum.accumulate(self.at(x, orders=1)[0])

    def inverse(self, y: Floats) -> Floats:
        """Find x with y(x) = y for a curve that rises from 0 to 1; y: (n,) within 0 to 1.

        What was found is kept: lanes of one law ask for the same shares of their moves again.
        """
        known: dict[float, float] = self.__dict__.setdefault("_inverted", {})
        asked = y.tolist()
        new = [value for value in dict.fromkeys(asked) if value not in known]
        if new:
            if len(known) + len(new) > _MOST_INVERTED:
                known.clear()
                new = list(dict.fromkeys(asked))
            known.update(zip(new, self._inverse(np.array(new)).tolist(), strict=True))
        return np.array([known[value] for value in asked])

    def _inverse(self, y: Floats) -> Floats:
        grid, heights = self._table
        cell = np.clip(np.searchsorted(heights, y), 1, len(grid) - 1)
        x = self.invert(y, grid[cell - 1], grid[cell])
        x[y <= 0] = 0.0
        x[y >= 1] = 1.0
        return x


def _add_wave(values: Floats, amp: Floats, rate: Floats, angle: Floats) -> None:
    """Add amp sin(angle) and its derivatives, of which the angle goes by `rate`, to rows: (orders, n)."""
    sine = amp * np.sin(angle)
    values[0] += sine
    if len(values) == 1:
        return
    cosine, turned = amp * rate * np.cos(angle), rate**2
    values[1] += cosine
    for order in range(2, min(4, len(values))):
        values[order] -= turned * (cosine if order == 3 else sine)
    if len(values) == 5:
        values[4] += rate**4 * sine


def packed(pieces: Sequence[CurvePiece]) -> tuple[Floats, Floats, Floats]:
    """Lay pieces out as the arrays of a curve (starts, poly, waves).

    Raises ValueError if the lengths do not add up to 1.
    """
    ends = np.cumsum([piece.length for piece in pieces])
    if abs(float(ends[-1]) - 1) > SAME_X:
        raise ValueError(f"the pieces of a curve add up to 1, got {float(ends[-1])!r}")
    degree = max(len(piece.poly) for piece in pieces)
    count = max(len(piece.waves) for piece in pieces)
    poly = np.zeros((len(pieces), degree))
    waves = np.zeros((3, count, len(pieces)))
    for index, piece in enumerate(pieces):
        poly[index, : len(piece.poly)] = piece.poly
        for number, wave in enumerate(piece.waves):
            waves[:, number, index] = wave
    return np.append(0.0, ends[:-1]), poly, waves


def mirrored_pieces(pieces: Sequence[CurvePiece]) -> list[CurvePiece]:
    """Return the pieces of 1 - y(1 - x)."""
    turned = [piece.reversed() for piece in reversed(pieces)]
    return [CurvePiece(p.length, (p.poly[0] + 1.0, *p.poly[1:]), p.waves) for p in turned]


def quintic(start: tuple[float, float, float], end: tuple[float, float, float]) -> tuple[float, ...]:
    """Return the coefficients of the fifth-degree polynomial with these (y, y', y'') at 0 and at 1."""
    (y0, v0, a0), (y1, v1, a1) = start, end
    rise, c1, c2 = y1 - y0 - v0 - a0 / 2, v1 - v0 - a0, a1 - a0
    return (
        y0,
        v0,
        a0 / factorial(2),
        10 * rise - 4 * c1 + c2 / 2,
        -15 * rise + 7 * c1 - c2,
        6 * rise - 3 * c1 + c2 / 2,
    )
