"""A part read as triangles: closed or not, its faces, its cross-sections, its rim.

Triangles lie counterclockwise as seen from outside. A *face* is flat and level, a *wall* stands upright;
anything else is only right on a chamfer.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM, PROOF_SHAPE_MM
from shaftscore.base.wording import millimetres
from shaftscore.make.proof.expected import ExpectedPart, Place
from shaftscore.make.proof.faults import FileFault
from shaftscore.make.proof.reading.contents import refuse_far
from shaftscore.make.proof.reading.shadow import shadow_of
from shaftscore.make.proof.reading.walks import closed_walks
from shaftscore.make.proof.rim import ReadRim, RimError, walls

MOST_TRIANGLES = 200_000
"""Most triangles of one part that are read: thirty times those of a disc that fills a bed of 220 mm."""

SAME_MM = 1e-5
"""Bodies whose corners are nearer than this are the same: files keep five to seven decimals."""

THIN_MM = 1e-4
"""Triangles thinner than this have no direction."""

NAMED_FACES = 3
"""This many wrong faces are named."""

Reals = npt.NDArray[np.float64]
"""Corners or heights, mm."""


class SolidPart:
    """A body of triangles, (n, 3, 3) mm; `where` names it in errors; chord_mm: chord error of its arcs."""

    def __init__(self, corners: Reals, where: str, chord_mm: float = CHORD_MM) -> None:
        """Take the corners; raises RimError if there are none, too many, or some are not finite."""
        if not 0 < len(corners) <= MOST_TRIANGLES:
            raise RimError(f"{where}: has {len(corners):,} triangles; 1 to {MOST_TRIANGLES:,} are read")
        refuse_far(corners.reshape(-1, 3), where)
        self.corners = corners
        self.where = where
        self.chord_mm = chord_mm

    @cached_property
    def digest(self) -> bytes:
        """A hash of the corners, rounded to SAME_MM."""
        return hashlib.sha256((np.round(self.corners / SAME_MM) + 0.0).tobytes()).digest()

    @cached_property
    def top_mm(self) -> float:
        """Height of its highest corner."""
        return float(self.corners[:, :, 2].max())

    @cached_property
    def shadow(self) -> Any:
        """What it covers seen from the top: areas of shapely, mm, corners on a grid of 0.1 µm.

        Raises RimError where its edges cross at more places than any of our parts has.
        """
        return shadow_of(self.corners, self.where)

    @cached_property
    def _numbered(self) -> tuple[Reals, npt.NDArray[np.int64]]:
        """Its distinct corners (m, 3), and the triangles by their numbers (n, 3)."""
        flat = self.corners.reshape(-1, 3)
        keys = np.zeros(len(flat), np.int64)
        for column in flat.T:
            values, numbers = np.unique(column, return_inverse=True)
            keys = keys * len(values) + numbers.reshape(-1)
            keys = np.unique(keys, return_inverse=True)[1].reshape(-1)
        points = np.empty((int(keys.max()) + 1, 3))
        points[keys] = flat
        return points, keys.reshape(-1, 3).astype(np.int64)

    def refuse_unsound(self) -> None:
        """Raise RimError unless each edge is met by one that runs the other way, or if it is inside out."""
        triangles = self._numbered[1]
        following = np.roll(triangles, -1, axis=1)
        size = int(triangles.max()) + 1
        forward = np.sort((triangles * size + following).ravel())
        backward = np.sort((following * size + triangles).ravel())
        twice = int(np.count_nonzero(np.diff(forward) == 0))
        if twice or not np.array_equal(forward, backward):
            alone = len(np.setdiff1d(forward, backward)) + twice
            raise RimError(
                f"{self.where}: the body is not closed: {alone} edges do not meet exactly one other"
            )
        if self._volume < 0:
            raise RimError(f"{self.where}: the body is inside out")

    @cached_property
    def _volume(self) -> float:
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6

    def structure(self, expected: ExpectedPart) -> list[FileFault]:
        """Return what is wrong with bottom, top, faces and walls; raises RimError for an unsound body."""
        self.refuse_unsound()
        return [*self._ends(expected), *self._faces(expected)]

    def _ends(self, expected: ExpectedPart) -> Iterator[FileFault]:
        z = self.corners[:, :, 2]
        for name, found, right in (
            ("bottom", float(z.min()), 0.0),
            ("top", float(z.max()), expected.shape.top_mm),
        ):
            if abs(found - right) > PROOF_SHAPE_MM:
                yield _height(f"its {name} is at z = {found:.3f} mm, not at {right:.3f} mm", found - right)

    def _faces(self, expected: ExpectedPart) -> Iterator[FileFault]:
        """Yield faces that are missing, and faces and walls that should not be there."""
        z = self.corners[:, :, 2]
        low, high = z.min(axis=1), z.max(axis=1)
        levels = np.array(expected.levels_mm)
        apart = np.abs(low[:, None] - levels)
        at = apart.argmin(axis=1)
        is_face = (high - low <= PROOF_SHAPE_MM) & (apart.min(axis=1) <= PROOF_SHAPE_MM)
        for number in sorted(set(range(len(levels))) - set(at[is_face].tolist())):
            flat = low[high - low <= PROOF_SHAPE_MM]
            nearest = float(np.abs(flat - levels[number]).min()) if len(flat) else float(levels.max())
            yield _height(f"it has no face at z = {levels[number]:.3f} mm", nearest)
        odd = ~is_face & ~self._is_right(expected)
        for height in np.unique(np.round(low[odd], 2))[:NAMED_FACES]:
            nearest = float(np.abs(levels - height).min())
            yield _height(
                f"it has a face or a leaning wall at z = {height:.2f} mm where there should be none", nearest
            )

    def _is_right(self, expected: ExpectedPart) -> npt.NDArray[np.bool_]:
        """Find the triangles that stand upright, lie on a chamfer, or have no direction, (n,)."""
        z = self.corners[:, :, 2]
        low, high = z.min(axis=1), z.max(axis=1)
        sides = np.roll(self.corners, -1, axis=1) - self.corners
        normal = np.cross(sides[:, 0], sides[:, 1])
        longest = np.linalg.norm(sides, axis=2).max(axis=1)
        level = np.hypot(normal[:, 0], normal[:, 1])
        right: npt.NDArray[np.bool_] = np.linalg.norm(normal, axis=1) <= THIN_MM * longest
        right |= (high - low) * np.abs(normal[:, 2]) <= PROOF_SHAPE_MM * level
        for bottom, top in expected.slopes_mm:
            right |= (low >= bottom - PROOF_SHAPE_MM) & (high <= top + PROOF_SHAPE_MM)
        return right

    def has(self, place: Place) -> bool:
        """Return whether the body reaches to a height on both sides."""
        z = self.corners[:, :, 2]
        return not isinstance(place, str) and bool(z.min() < place < z.max())

    def area(self, place: Place, expected: ExpectedPart) -> Any:  # noqa: ARG002 - drawings need it
        """Return the cross-section at a height; raises RimError if a hole of it lies outside of the body."""
        if isinstance(place, str):
            raise RimError(f"{self.where}: a body has no layer {place}")
        return self.section(place)

    def section(self, height_mm: float) -> Any:
        """Return the cross-section at a height, mm; raises RimError if a hole is outside of the body."""
        return _enclosed(self._rings(height_mm), f"{self.where}, at z = {height_mm:.2f} mm")

    def _rings(self, height: float) -> list[Reals]:
        """Cut the body: closed lines with the material on their left."""
        points, triangles = self._numbered
        above = points[triangles, 2] > height
        count = above.sum(axis=1)
        cut, up = triangles[(count == 1) | (count == 2)], above[(count == 1) | (count == 2)]
        single_up = up.sum(axis=1) == 1
        lone = np.where(single_up[:, None], up, ~up).argmax(axis=1)
        row = np.arange(len(cut))
        a, b, c = (cut[row, np.array((lone, lone + 1, lone + 2)[k]) - 3 * ((lone + k) > 2)] for k in range(3))
        first, second = (np.where(single_up, x, y) for x, y in ((b, c), (c, b)))
        size = len(points)
        start, end = (np.minimum(a, x) * size + np.maximum(a, x) for x in (first, second))
        order = np.argsort(start)
        following = order[np.searchsorted(start[order], end) % max(1, len(order))]
        low, high = points[start // size], points[start - (start // size) * size]
        rise = high[:, 2] - low[:, 2]
        share = ((height - low[:, 2]) / np.where(rise == 0, 1.0, rise))[:, None]
        places = (low + share * (high - low))[:, :2]
        return [places[ring] for ring in closed_walks(following.tolist())]

    def rim(self, low_mm: float, high_mm: float, *, grooved: bool = False) -> ReadRim:  # noqa: ARG002
        """Return the upright walls that reach into a stretch of height, seen from the top."""
        return ReadRim(*walls(self.corners, low_mm, high_mm), self.top_mm)


def _height(what: str, by_mm: float) -> FileFault:
    by = abs(by_mm)
    return FileFault(
        "", "", f"{what}: off by {millimetres(by, 3)}, the limit is {millimetres(PROOF_SHAPE_MM, 2)}",
        by_mm, PROOF_SHAPE_MM, "mm",
    )  # fmt: skip


def _enclosed(rings: list[Reals], where: str) -> Any:
    """Return the area within rings: counterclockwise ones hold material, clockwise ones are holes in them."""
    import shapely  # kept off the start-up path

    polygons = [shapely.Polygon(ring) for ring in rings]
    signed = np.array([_area(ring) for ring in rings])
    order = np.argsort(np.abs(signed))
    shells = [int(k) for k in order if signed[k] > 0]
    holes: dict[int, list[Reals]] = {k: [] for k in shells}
    for k in (int(k) for k in order if signed[k] < 0):
        x, y = rings[k][0]
        around = [s for s in shells if signed[s] > -signed[k] and shapely.intersects_xy(polygons[s], x, y)]
        if not around:
            raise RimError(f"{where}: a hole lies outside of the body")
        holes[around[0]].append(rings[k])
    parts = [shapely.Polygon(rings[k], holes[k]) for k in shells]
    area = parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
    return area if area.is_valid else _areas_of(shapely.make_valid(area))


def _areas_of(found: Any) -> Any:
    """Return the areas of a repaired outline, without lines and points that are left over."""
    import shapely  # kept off the start-up path

    return shapely.union_all([piece for piece in shapely.get_parts(found) if piece.area > 0])


def _area(ring: Reals) -> float:
    x, y = (ring - ring[0]).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
