"""The edges that a follower can touch, read back from an exported file.

Plan view in the disc frame: axis at the origin, zero mark at +x, as seen from the top; complex points
x + iy, mm. A *rim edge* runs with the material on its left. From a mesh come all triangles that stand
upright and reach into the stretch of z where the follower runs; from a drawing, its closed cut lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.errors import ExportError
from shaftscore.stack import Path

Points = npt.NDArray[np.complex128]
"""Plan-view points, x + iy, mm."""

HEADER_BYTES = 84
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

MOST_TRIANGLES = 200_000
"""Most triangles of one part that are read: thirty times those of a disc that fills a bed of 220 mm."""

UPRIGHT = 1e-3
"""A wall's normal may lean this much (sine of the angle) out of the plan and still count as upright."""

SAME_MM = 1e-9
"""Points of a drawing nearer than this are one point."""

DRAWN_MM = 1e-4
"""Chord error with which a drawing's arcs are read."""


class RimError(ExportError):
    """A file that cannot be read back, or is not a closed body in its place; says why."""


@dataclass(frozen=True)
class Rim:
    """Rim edges: start and end points, (n,) each; height_mm: of the body (None: a drawing)."""

    start: Points
    end: Points
    height_mm: float | None

    @property
    def normal(self) -> Points:
        """Unit normals away from the material, (n,)."""
        along = self.end - self.start
        return np.asarray(-1j * along / np.abs(along))

    def facing(self, outward: bool) -> Rim:
        """Return the edges whose material lies towards the axis (outward), or away from it."""
        middle = (self.start + self.end) / 2
        kept = ((self.normal * np.conj(middle)).real > 0) == outward
        return Rim(self.start[kept], self.end[kept], self.height_mm)


def read_stl(path: FilePath, low_mm: float, high_mm: float) -> Rim:
    """Read the rim edges between two heights from a binary STL file.

    Raises RimError if it is no such file, not closed, or does not stand on z = 0.
    """
    return rim_of_triangles(_triangles(path), low_mm, high_mm, path.name)


def rim_of_triangles(corners: npt.NDArray[np.float64], low_mm: float, high_mm: float, name: str) -> Rim:
    """Find the rim edges between two heights of a body of triangles, (n, 3, 3) mm; `name` says whose.

    Raises RimError if the body is not closed or does not stand on z = 0.
    """
    if not 0 < len(corners) <= MOST_TRIANGLES:
        raise RimError(f"{name}: has {len(corners):,} triangles; 1 to {MOST_TRIANGLES:,} are read")
    if not np.isfinite(corners).all():
        raise RimError(f"{name}: {np.count_nonzero(~np.isfinite(corners)):,} of its numbers are not finite")
    _refuse_open(corners, name)
    bottom, top = float(corners[:, :, 2].min()), float(corners[:, :, 2].max())
    if abs(bottom) > 1e-6:
        raise RimError(f"{name}: its bottom lies at z = {bottom:g} mm, not at 0")
    start, end = _walls(corners, low_mm, high_mm)
    return Rim(start, end, top)


def _triangles(path: FilePath) -> npt.NDArray[np.float64]:
    """Read the corners of all triangles, (n, 3, 3) mm."""
    most = HEADER_BYTES + MOST_TRIANGLES * RECORD.itemsize
    with path.open("rb") as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise RimError(f"{path.name}: has over {most:,} bytes, which {MOST_TRIANGLES:,} triangles have")
    count = int(np.frombuffer(data[80:HEADER_BYTES], "<u4")[0]) if len(data) >= HEADER_BYTES else 0
    if count == 0 or len(data) != HEADER_BYTES + count * RECORD.itemsize:
        raise RimError(f"{path.name}: {len(data)} bytes are no binary STL file of {count} triangles")
    read = np.frombuffer(data, RECORD, count, HEADER_BYTES)["corners"]
    with np.errstate(invalid="ignore"):  # some bytes are numbers that signal; they are refused as not finite
        return np.asarray(read.astype(np.float64))


def _refuse_open(corners: npt.NDArray[np.float64], name: str) -> None:
    """Raise RimError unless every edge is met by exactly one edge that runs the other way."""
    _, numbers = np.unique(corners.reshape(-1, 3), axis=0, return_inverse=True)
    triangles = numbers.reshape(-1, 3).astype(np.int64)
    following = np.roll(triangles, -1, axis=1)
    size = int(triangles.max()) + 1
    forward = np.sort((triangles * size + following).ravel())
    backward = np.sort((following * size + triangles).ravel())
    twice = int(np.count_nonzero(np.diff(forward) == 0))
    if twice or not np.array_equal(forward, backward):
        alone = len(np.setdiff1d(forward, backward)) + twice
        raise RimError(f"{name}: the body is not closed: {alone} edges do not meet exactly one other")


def _walls(corners: npt.NDArray[np.float64], low_mm: float, high_mm: float) -> tuple[Points, Points]:
    """Project the upright triangles that reach into (low, high) to plan-view edges."""
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


def read_dxf(path: FilePath, *, grooved: bool = False) -> Rim:
    """Read the rim edges from the closed lines of a drawing in mm: on layer `cut`, or `groove`.

    Raises RimError if the drawing is not in mm or has no closed line there.
    """
    import ezdxf  # kept off the start-up path: three quarters of a second

    document = ezdxf.readfile(path)
    if document.units != ezdxf.units.MM:
        raise RimError(f"{path.name}: its unit is {document.units}, not millimetres (4)")
    layer = "groove" if grooved else "cut"
    lines = document.modelspace().query("LWPOLYLINE CIRCLE")
    rings = [_open(_points(line)) for line in lines if line.dxf.layer == layer and _is_closed(line)]
    if not rings:
        raise RimError(f"{path.name}: no closed line on its layer {layer}")
    return _rim_of_rings(sorted(rings, key=lambda ring: -abs(_area(ring))), outside=grooved)


def _is_closed(line: Any) -> bool:
    return line.dxftype() == "CIRCLE" or bool(line.closed)


def _points(line: Any) -> Points:
    """Follow a circle or a line of straight pieces and arcs, in its own order."""
    if line.dxftype() == "CIRCLE":
        return np.array([complex(point.x, point.y) for point in line.flattening(DRAWN_MM)])
    corners = line.get_points("xyb")
    path = Path(tuple(complex(x, y) for x, y, _ in corners), tuple(bulge for _, _, bulge in corners))
    return np.asarray(path.flattened(DRAWN_MM) @ np.array([1, 1j]))


def _open(ring: Points) -> Points:
    """Drop points that repeat their predecessor, the closing point included."""
    return ring[np.abs(ring - np.roll(ring, 1)) > SAME_MM]


def _area(ring: Points) -> float:
    return float((np.conj(ring) * np.roll(ring, -1)).imag.sum()) / 2


def _rim_of_rings(rings: list[Points], *, outside: bool) -> Rim:
    """Run the largest ring counterclockwise and the others clockwise; the other way with `outside`.

    A contour has its material within and holes in it, the outer flank of a groove has it outside.
    """
    turned = [
        ring if (_area(ring) > 0) == ((number == 0) != outside) else ring[::-1]
        for number, ring in enumerate(rings)
    ]
    start = np.concatenate(turned)
    end = np.concatenate([np.roll(ring, -1) for ring in turned])
    return Rim(start, end, None)
