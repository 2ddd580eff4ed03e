"""How far a body can turn and shift in the holes that hold it: rigid bodies in plan view.

All bodies belong to one rigid part and all holes to another; both are convex. A hole is the set of half
planes n·x <= b, a body the hull of corners and arcs. At an angle the part has room while some shift t
keeps n·t <= b - reach(n) for every n, where reach is the turned body's farthest point along n. The *margin*
is the largest m for which n·t + m <= b - reach(n): a linear program in t and m, solved by the dual simplex
method. Turned by dθ, no reach changes by more than ρ dθ, ρ the farthest point of the body, so a margin m
keeps for another m/ρ: steps of that size find the first angle without room and miss none before it.

Complex points x + iy, mm. No formula of the play is used here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from shaftscore.make.proof.rim import RimError

Points = npt.NDArray[np.complex128]
"""Plan-view points or directions, x + iy, mm."""

Reals = npt.NDArray[np.float64]
"""Lengths, mm."""

TOUCH_MM = 2e-4
"""Bodies that overlap by less than this touch: what is left of the chords of arcs, and of rounding."""

STEP_DEG = 0.001
"""Smallest step of the search, and so the accuracy of an angle."""

FREE_DEG = 180.0
"""A part that can turn so far turns freely."""

MOST_STEPS = 20_000
"""After so many steps without an end a part counts as turning freely."""

SHIFT_MM = 100.0
"""No shift is looked for beyond this."""

SOLVED_MM = 1e-9
"""The linear program is solved when no half plane is broken by more."""

FACING = 0.45
"""Cosine of the angle within which a wall limits a shift: those of a triangle are 60° from one another."""

MOST_PIVOTS = 2_000
"""A linear program that takes more pivots is given up."""


@dataclass(frozen=True)
class BodyArc:
    """An arc of a body's edge, as wide as its middle direction (of length 1) and half its angle say."""

    centre: complex
    radius_mm: float
    middle: complex
    half_rad: float


@dataclass(frozen=True, eq=False)
class ConvexBody:
    """Corners (n,) of a convex polygon, counterclockwise, with arcs; its edge moved outward by grown_mm."""

    corners: Points
    arcs: tuple[BodyArc, ...] = ()
    grown_mm: float = 0.0

    def reach_mm(self, normals: Points) -> Reals:
        """Compute the farthest extent along directions (m,), (m,) mm."""
        facing, corners = self._sorted
        nearest = np.searchsorted(facing, np.angle(normals))
        found = (np.conj(normals) * corners[nearest]).real
        for arc in self.arcs:
            beside = np.abs(np.angle(normals * np.conj(arc.middle)))
            on_arc = (np.conj(normals) * arc.centre).real + arc.radius_mm
            found = np.where(beside <= arc.half_rad, np.maximum(found, on_arc), found)
        return np.asarray(found + self.grown_mm)

    @cached_property
    def _sorted(self) -> tuple[Reals, Points]:
        """Directions that the sides face, ascending, radians (n,), and the corner before each, (n + 1,)."""
        sides = np.roll(self.corners, -1) - self.corners
        facing = np.angle(-1j * sides)
        first = int(facing.argmin())
        corners = np.roll(self.corners, -first)
        return np.roll(facing, -first), np.append(corners, corners[0])

    @property
    def farthest_mm(self) -> float:
        """No point of the body is farther from the origin, mm."""
        arcs = [abs(arc.centre) + arc.radius_mm for arc in self.arcs]
        return max(float(np.abs(self.corners).max()), *arcs) if arcs else float(np.abs(self.corners).max())


def _along(normals: Points, points: Points) -> Reals:
    """Compute the components of points (n,) along directions (m,), (m, n)."""
    return np.asarray(np.outer(normals.real, points.real) + np.outer(normals.imag, points.imag))


@dataclass(frozen=True, eq=False)
class ConvexHole:
    """Half planes: outward unit normals (m,) and their distances from the origin (m,), mm."""

    normals: Points
    distances_mm: Reals


@dataclass(frozen=True, eq=False)
class HeldBody:
    """A body in its hole."""

    body: ConvexBody
    hole: ConvexHole


class RigidFit:
    """Bodies of one part in the holes of another, about the origin."""

    def __init__(self, held: Sequence[HeldBody]) -> None:
        """Take one body or more, each with its hole."""
        self._held = tuple(held)
        around = np.exp(2j * np.pi * np.arange(3) / 3)
        self._normals: Points = np.concatenate([one.hole.normals for one in held] + [around])
        self._rows = np.column_stack([self._normals.real, self._normals.imag, np.ones(len(self._normals))])
        self._farthest_mm = max(one.body.farthest_mm for one in held)
        count = len(self._normals)
        self._basis = [count - 3, count - 2, count - 1]

    def _room_mm(self, angle_rad: float) -> Reals:
        """Return how far each half plane is from the body turned by an angle, (m + 3,) mm."""
        back = np.exp(-1j * angle_rad)
        room = [one.hole.distances_mm - one.body.reach_mm(one.hole.normals * back) for one in self._held]
        return np.concatenate([*room, np.full(3, SHIFT_MM)])

    def margin_mm(self, angle_rad: float) -> float:
        """Compute the margin at an angle, over all shifts; negative where no shift gives room.

        Raises RimError where the linear program does not end.
        """
        room, rows, basis = self._room_mm(angle_rad), self._rows, self._basis
        for _ in range(MOST_PIVOTS):
            inverse = np.linalg.inv(rows[basis])
            place = inverse @ room[basis]
            broken = rows @ place - room
            entering = int(broken.argmax())
            if broken[entering] <= SOLVED_MM:
                return float(place[2])
            share = inverse.T @ rows[entering]
            weights = inverse[2]  # the dual solution: not negative
            ratios = np.where(share > SOLVED_MM, weights / np.where(share > SOLVED_MM, share, 1.0), np.inf)
            basis[int(ratios.argmin())] = entering
        raise RimError("its room in the holes cannot be found")

    def turn_deg(self, way: int) -> float | None:
        """Return how far the part can turn one way (+1 counterclockwise, -1), over all shifts, degrees.

        `inf` if it turns freely, None if it has no room as it is. Raises RimError where the room cannot
        be found.
        """
        slack = self.margin_mm(0.0)
        if slack < -TOUCH_MM:
            return None
        angle, least = 0.0, np.radians(STEP_DEG)
        for _ in range(MOST_STEPS):
            if slack < 0:
                return float(np.degrees(max(angle - least, 0.0)))
            angle += max(slack / max(self._farthest_mm, TOUCH_MM), least)
            if angle > np.radians(FREE_DEG):
                break
            slack = self.margin_mm(way * angle)
        return np.inf

    def shifts_mm(self, directions: Points) -> Reals:
        """Compute how far the part, without turning, can shift along directions (k,), (k,) mm.

        Only half planes that face a direction by less than FACING limit it. Negative where the part has to go
        back first to have room at all.
        """
        along = _along(directions, self._normals)
        room = self._room_mm(0.0)
        ahead = along > FACING
        return np.asarray(np.where(ahead, room / np.where(ahead, along, 1.0), np.inf).min(axis=1))
