"""The edges that a follower can touch, read back from an exported file.

Plan view in the disc frame: axis at the origin, zero mark at +x, as seen from the top; complex points
x + iy, mm. A *rim edge* runs with the material on its left. From a mesh come all triangles that stand
upright and reach into the stretch of z where the follower runs; from a drawing, its closed cut lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.errors import ExportError

Points = npt.NDArray[np.complex128]
"""Plan-view points, x + iy, mm."""

UPRIGHT = 1e-3
"""A wall's normal may lean this much (sine of the angle) out of the plan and still count as upright."""


OUTLINE_MM = 1e-3
"""Edges that are nearer to an outline than this lie on it."""


class RimError(ExportError):
    """A file that cannot be read back, or is not a closed body in its place; says why."""


@dataclass(frozen=True)
class ReadRim:
    """Rim edges: start and end points, (n,) each; height_mm: of the body (None: a drawing)."""

    start: Points
    end: Points
    height_mm: float | None

    @property
    def normal(self) -> Points:
        """Unit normals away from the material, (n,)."""
        along = self.end - self.start
        return np.asarray(-1j * along / np.abs(along))

    def scaled(self, factor: float) -> ReadRim:
        """Return the edges enlarged in plan by a factor."""
        return ReadRim(self.start * factor, self.end * factor, self.height_mm)

    def outermost(self, area: Any) -> ReadRim:
        """Return the edges that lie on the outer outline of a cross-section (a shapely area)."""
        import shapely  # kept off the start-up path

        outline = shapely.MultiLineString([piece.exterior for piece in shapely.get_parts(area)])
        middle = (self.start + self.end) / 2
        kept = shapely.distance(shapely.points(middle.real, middle.imag), outline) <= OUTLINE_MM
        return ReadRim(self.start[kept], self.end[kept], self.height_mm)

    def facing(self, outward: bool) -> ReadRim:
        """Return the edges whose material lies towards the axis (outward), or away from it."""
        middle = (self.start + self.end) / 2
        kept = ((self.normal * np.conj(middle)).real > 0) == outward
        return ReadRim(self.start[kept], self.end[kept], self.height_mm)


def walls(corners: npt.NDArray[np.float64], low_mm: float, high_mm: float) -> tuple[Points, Points]:
    """Project the upright triangles, (n, 3, 3) mm, that reach into (low, high) to plan-view edges (m,)."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    z = corners[:, :, 2]
    upright = np.abs(normal[:, 2]) <= UPRIGHT * np.linalg.norm(normal, axis=1)
    reaches = (z.min(1) < high_mm - 1e-6) & (z.max(1) > low_mm + 1e-6)
    chosen = corners[upright & reaches]
    plan = chosen[:, :, 0] + 1j * chosen[:, :, 1]
    spread = np.abs(np.roll(plan, -1, axis=1) - plan)
    widest = spread.argmax(1)
    row = np.arange(len(plan))
    start, end = plan[row, widest], np.roll(plan, -1, axis=1)[row, widest]
    facing = normal[upright & reaches][:, 0] + 1j * normal[upright & reaches][:, 1]
    flipped = (np.conj(-1j * (end - start)) * facing).real < 0
    start, end = np.where(flipped, end, start), np.where(flipped, start, end)
    return _distinct(start, end)


def _distinct(start: Points, end: Points) -> tuple[Points, Points]:
    """Keep one of the edges that lie on one another (two triangles of one wall)."""
    both = np.column_stack([start.real, start.imag, end.real, end.imag])
    unique = np.unique(both[np.abs(end - start) > 0], axis=0)
    return unique[:, 0] + 1j * unique[:, 1], unique[:, 2] + 1j * unique[:, 3]


def ring_area(ring: Points) -> float:
    """Return the area that a ring (n,) encloses, mm², negative for a clockwise one."""
    return float((np.conj(ring) * np.roll(ring, -1)).imag.sum()) / 2


def rim_of_rings(rings: list[Points], *, outside: bool) -> ReadRim:
    """Return the edges of rings (n,), the largest first: that counterclockwise and the others clockwise.

    The other way round with `outside`: a contour has its material within and holes in it, the outer flank of
    a groove has it outside.
    """
    turned = [
        ring if (ring_area(ring) > 0) == ((number == 0) != outside) else ring[::-1]
        for number, ring in enumerate(rings)
    ]
    start = np.concatenate(turned)
    end = np.concatenate([np.roll(ring, -1) for ring in turned])
    return ReadRim(start, end, None)
