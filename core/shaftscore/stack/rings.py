"""Polygons moved along their normals.

A *ring* is a closed polygon, counterclockwise, shape (n, 2), mm, first point not repeated. Moving by a
positive distance makes it larger.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Ring = npt.NDArray[np.float64]
"""Closed counterclockwise polygon, shape (n, 2), mm."""


def ring_area(ring: Ring) -> float:
    """Signed area, mm²: positive for a counterclockwise ring."""
    x, y = ring.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def mitred(ring: Ring, by_mm: float) -> Ring | None:
    """Move every edge outward by `by_mm` and keep one corner for each corner.

    Returns None where an edge would vanish (a crest sharper, or a hollow tighter, than the distance) or
    far parts of the ring would meet; `offset_rings` finds the outline then.
    """
    start = ring[:, 0] + 1j * ring[:, 1]
    along = np.roll(start, -1) - start
    unit = along / np.abs(along)
    before = np.roll(unit, 1)
    normal = -1j * (unit + before)
    size = np.abs(normal) ** 2 / 2
    if float(size.min()) < 0.2:
        return None
    moved = start + by_mm * normal / size
    if float(((np.roll(moved, -1) - moved) * np.conj(unit)).real.min()) <= 0:
        return None
    result = np.column_stack([moved.real, moved.imag])
    return result if _is_simple(result) else None


def offset_rings(ring: Ring, by_mm: float) -> list[Ring]:
    """Move a ring as a whole, whatever its corners; returns the rings that are left, largest first."""
    from manifold3d import CrossSection, JoinType  # kept off the start-up path

    moved = CrossSection([ring]).offset(by_mm, JoinType.Miter, 4.0)
    return sorted((np.asarray(part) for part in moved.to_polygons()), key=ring_area, reverse=True)


def moved(ring: Ring, by_mm: float) -> Ring:
    """Move a ring outward by `by_mm` (inward if negative), corners kept sharp where they can be.

    Raises ValueError if it falls apart or vanishes.
    """
    if by_mm == 0:
        return ring
    kept = mitred(ring, by_mm)
    if kept is not None:
        return kept
    return _outermost(offset_rings(ring, by_mm), by_mm)


def can_move(ring: Ring, by_mm: float) -> bool:
    """Return whether a ring stays one ring when it is moved."""
    try:
        return len(moved(ring, by_mm)) > 2
    except ValueError:
        return False


def rounded(ring: Ring, by_mm: float, chord_mm: float) -> Ring:
    """Move a ring outward by `by_mm` (inward if negative), round about its corners within `chord_mm`.

    Raises ValueError if it falls apart or vanishes.
    """
    from manifold3d import CrossSection, JoinType  # kept off the start-up path

    if by_mm == 0:
        return ring
    step = 2 * np.arccos(1 - min(1.0, chord_mm / abs(by_mm)))
    rounds = CrossSection([ring]).offset(by_mm, JoinType.Round, 2.0, int(np.ceil(2 * np.pi / step)))
    return _outermost([np.asarray(part) for part in rounds.to_polygons()], by_mm)


def _outermost(rings: list[Ring], by_mm: float) -> Ring:
    """Return the one outer ring of a moved one; raises ValueError if there are more, or none."""
    outer = [part for part in rings if ring_area(part) > 0]
    if len(outer) != 1:
        raise ValueError(f"moved by {by_mm:g} mm the ring falls into {len(outer)} pieces")
    return outer[0]


def _is_simple(ring: Ring) -> bool:
    """Return whether a ring crosses itself: its own area then differs from what it covers once."""
    from manifold3d import CrossSection, FillRule  # kept off the start-up path

    area = ring_area(ring)
    covered = CrossSection([ring], FillRule.NonZero)
    return bool(covered.num_contour() == 1 and abs(covered.area() - area) < 1e-6 * area)
