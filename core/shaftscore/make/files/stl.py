"""Binary STL: triangles as 32-bit floats, little-endian, without a unit (ours are mm).

Layout: a header of 80 bytes that must not begin with "solid", a count, then 50 bytes a triangle: unit
normal, three corners counterclockwise from outside, and two zero bytes. (The layout is that of the
StereoLithography interface specification as it is commonly described; little-endian by custom.)
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.solids import Mesh

Reals = npt.NDArray[np.floating]
"""Corners or normals, (n, 3, 3) or (n, 3), mm."""

HEADER_BYTES = 80

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One triangle: 50 bytes."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a file a part."""
    return [_planned(item) for item in order.items]


def _planned(item: OrderedPart) -> Planned:
    return Planned(f"{item.stem}.stl", "stl", (item,), lambda: stl_bytes(item.body, item.part.code))


def stl_bytes(mesh: Mesh, name: str) -> bytes:
    """Return a mesh as a binary STL file; `name` (ASCII) goes into its header. No clock, no chance."""
    corners = mesh.corners[mesh.triangles].astype("<f4")
    corners = corners[_has_area(corners)]
    records = np.zeros(len(corners), dtype=RECORD)
    records["corners"] = corners
    records["normal"] = _normals(corners.astype(np.float64))
    header = f"Shaftscore, mm: {name}".encode("ascii", "replace")[:HEADER_BYTES].ljust(HEADER_BYTES, b" ")
    return header + np.uint32(len(records)).tobytes() + records.tobytes()


def _has_area(corners: Reals) -> npt.NDArray[np.bool_]:
    """Return which triangles still have three corners once they are rounded to 32 bits.

    A triangle with two equal corners has two edges that lie on one another; without it the surface
    stays closed, because the same corners are equal for its neighbours too.
    """
    a, b, c = np.moveaxis(corners, 1, 0)
    return np.asarray(~((a == b).all(1) | (b == c).all(1) | (c == a).all(1)))


def _normals(corners: Reals) -> Reals:
    a, b, c = np.moveaxis(corners, 1, 0)
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    return np.asarray(np.divide(normal, size, out=np.zeros_like(normal), where=size > 0))
