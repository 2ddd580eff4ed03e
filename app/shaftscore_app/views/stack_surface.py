"""Surfaces of the parts of a stack as they are seen, with bore, dogs and groove; without chamfers and marks.

Contours are complex points x + iy in mm that run counterclockwise; heights are of the stack. What does not
fit into a part is left out of it: a finding says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.profiles import Profile
from shaftscore.make.solids.dogged import dog_shapes
from shaftscore.make.solids.rings import Ring, moved
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Lane, Project, Stack
from shaftscore.stack import BulgePath, bore_path, pin_paths
from shaftscore.stack.pins import pin_dog_web_mm, pin_web_mm
from shaftscore.stack.walls import counterclockwise

Points = npt.NDArray[np.complex128]
Reals = npt.NDArray[np.float64]

SCREEN_CHORD_MM = 0.05
"""Largest distance between a curve and the polygon that is drawn."""


@dataclass(frozen=True, eq=False)
class Outline:
    """What is seen of a disc from above: contour, and flanks (inner, outer) of its groove."""

    rim: Points
    flanks: tuple[Points, Points] | None = None

    @property
    def clear_mm(self) -> float:
        """Radius within which the face is whole."""
        edge = self.rim if self.flanks is None else self.flanks[0]
        return float(np.min(np.abs(edge)))


@dataclass(frozen=True, eq=False)
class Inside:
    """What a part of a stack has about its axis: bore, holes of pins, pegs on its top, pockets below; mm."""

    bore: Points | None
    pegs: tuple[Points, ...] = ()
    pockets: tuple[Points, ...] = ()
    peg_mm: float = 0.0
    pocket_mm: float = 0.0
    pins: tuple[Points, ...] = ()

    @property
    def through(self) -> tuple[Points, ...]:
        """What goes through the part."""
        return self.pins if self.bore is None else (self.bore, *self.pins)


def disc_outline(lane: Lane, profile: Profile) -> Outline:
    """Return what is seen of a disc. Raises ValueError if nothing is left of its contour."""
    if not profile.limits.groove:
        return Outline(points_of(counterclockwise(profile.outline(SCREEN_CHORD_MM))))
    inner, outer = (counterclockwise(profile.outline(SCREEN_CHORD_MM, flank)) for flank in profile.flanks)
    rim = counterclockwise(moved(outer, lane.disc.rim_mm))
    return Outline(points_of(rim), (points_of(inner), points_of(outer)))


def inside_of(project: Project, stack: Stack, thickness_mm: float, clear_mm: float) -> Inside:
    """Return what a part has about its axis, as far as it has room for it within a radius."""
    try:
        bore = bore_path(stack.bore, stack.fit_clearance_mm)
    except ValueError:
        return Inside(None)
    if bore.largest_radius >= clear_mm:
        return Inside(None)
    hole, pins = _flat(bore), _pin_holes(stack, bore.largest_radius, clear_mm)
    try:
        dogs = dog_shapes(project, stack, stack.label)
    except SolidError:
        dogs = None
    if dogs is None or dogs.outer_mm >= clear_mm or dogs.inner_mm <= bore.largest_radius:
        return Inside(hole, pins=pins)
    if dogs.depth_mm >= thickness_mm:
        return Inside(hole, pins=pins)
    pegs, pockets = (tuple(map(_flat, paths)) for paths in (dogs.pegs, dogs.pockets))
    return Inside(hole, pegs, pockets, dogs.height_mm, dogs.depth_mm, _beside_dogs(stack, pins))


def _pin_holes(stack: Stack, bore_mm: float, clear_mm: float) -> tuple[Points, ...]:
    """Return the holes for the pins, none where they have no room between two radii, mm."""
    pins = stack.pins
    if pins is None or pins.reach_mm[0] <= bore_mm or pins.reach_mm[1] >= clear_mm or pin_web_mm(pins) <= 0:
        return ()
    return tuple(map(_flat, pin_paths(pins, pins.clearance_mm)))


def _beside_dogs(stack: Stack, pins: tuple[Points, ...]) -> tuple[Points, ...]:
    """Return the holes for the pins where the dogs leave room for them."""
    if stack.pins is None or stack.dogs is None:
        return pins
    return pins if pin_dog_web_mm(stack.pins, stack.dogs, stack.pocket_clearance_mm) > 0 else ()


def surface(
    outline: Outline, inside: Inside, low: float, high: float, groove_mm: float = 0.0
) -> tuple[Reals, Reals]:
    """Return the closed surface of a part between two heights, and its edges; groove_mm: depth of a groove.

    Triangles (n, 3, 3), counterclockwise seen from outside; lines (m, 2, 3).
    """
    bore = inside.through
    peg_top, pocket_top, floor = high + inside.peg_mm, low + inside.pocket_mm, high - groove_mm
    faces = [
        lid((outline.rim, *_holes(bore + inside.pockets)), low, up=False),
        *_walls((outline.rim, *_holes(bore)), low, high),
        *(lid((pocket,), pocket_top, up=False) for pocket in inside.pockets),
        *_walls(_holes(inside.pockets), low, pocket_top),
        *(lid((peg,), peg_top) for peg in inside.pegs),
        *_walls(inside.pegs, high, peg_top),
        *_top(outline, _holes(bore + inside.pegs), high, floor),
    ]
    flanks = outline.flanks or ()
    edges = [
        *_edges((outline.rim, *bore, *inside.pockets), low),
        *_edges((outline.rim, *bore, *inside.pegs, *flanks), high),
        *_edges(inside.pegs, peg_top),
        *_edges(flanks, floor),
    ]
    return np.concatenate(faces), np.concatenate(edges)


def lid(rings: Sequence[Points], z: float, *, up: bool = True) -> Reals:
    """Return a level face; holes run clockwise."""
    from manifold3d import triangulate  # takes 0.1 s to load, and only this view needs it

    flat = [np.column_stack([ring.real, ring.imag]) for ring in rings]
    corners = _raised(np.concatenate(rings), z)
    places = np.asarray(triangulate(flat))
    return np.asarray(corners[places if up else places[:, ::-1]])


def wall(ring: Points, low: float, high: float) -> Reals:
    """Return an upright wall: it looks outward from a contour, inward from a hole, which runs clockwise."""
    lower, upper = _raised(ring, low), _raised(ring, high)
    after_lower, after_upper = np.roll(lower, -1, axis=0), np.roll(upper, -1, axis=0)
    return np.concatenate(
        [
            np.stack([lower, after_lower, after_upper], axis=1),
            np.stack([lower, after_upper, upper], axis=1),
        ]
    )


def edge(ring: Points, z: float) -> Reals:
    """Return a closed contour as lines."""
    points = _raised(ring, z)
    return np.stack([points, np.roll(points, -1, axis=0)], axis=1)


def points_of(ring: Ring) -> Points:
    """Return corners (n, 2) as complex points."""
    return np.asarray(ring[:, 0] + 1j * ring[:, 1])


def _top(outline: Outline, holes: tuple[Points, ...], high: float, floor: float) -> Iterator[Reals]:
    if outline.flanks is None:
        yield lid((outline.rim, *holes), high)
        return
    inner, outer = outline.flanks
    yield lid((outline.rim, outer[::-1]), high)
    yield lid((inner, *holes), high)
    yield lid((outer, inner[::-1]), floor)
    yield from _walls((inner, outer[::-1]), floor, high)


def _walls(rings: Iterable[Points], low: float, high: float) -> Iterator[Reals]:
    return (wall(ring, low, high) for ring in rings)


def _edges(rings: Iterable[Points], z: float) -> Iterator[Reals]:
    return (edge(ring, z) for ring in rings)


def _holes(rings: Iterable[Points]) -> tuple[Points, ...]:
    return tuple(ring[::-1] for ring in rings)


def _flat(path: BulgePath) -> Points:
    return points_of(counterclockwise(path.flattened(SCREEN_CHORD_MM)))


def _raised(ring: Points, z: float) -> Reals:
    return np.column_stack([ring.real, ring.imag, np.full(len(ring), z)])
