"""The hole for the shaft, in plan view.

A flat of a D, a hexagon or a square faces the zero mark (+x), so that all parts of a stack agree.
`grow_mm` moves every wall of the hole outward by that much: the fit clearance, and what a printer was
measured to make holes too small by, both on each side.
"""

from __future__ import annotations

import cmath
import math

from shaftscore.model import Bore
from shaftscore.stack.paths import BulgePath, circle, polygon


def bore_path(bore: Bore, grow_mm: float) -> BulgePath:
    """Return the hole of a bore with its walls moved outward by `grow_mm` (inward if negative).

    Raises ValueError if nothing of the hole is left, or a D has no flat.
    """
    radius = bore.across_mm / 2 + grow_mm
    if radius <= 0:
        raise ValueError(
            f"a bore of {bore.across_mm:g} mm cannot be made {-grow_mm:g} mm smaller on each side"
        )
    if bore.shape == "round":
        return circle(radius)
    if bore.shape == "d":
        return _d_path(bore, grow_mm)
    return _regular(radius, 6 if bore.shape == "hex" else 4)


def _regular(inner_radius: float, sides: int) -> BulgePath:
    """Make a regular polygon by its inscribed circle, one side facing +x."""
    corner = inner_radius / math.cos(math.pi / sides)
    return polygon(tuple(corner * cmath.exp(1j * math.pi * (2 * side + 1) / sides) for side in range(sides)))


def _d_path(bore: Bore, grow_mm: float) -> BulgePath:
    """Make a circle cut off by a flat at x = flat_mm - radius."""
    if bore.flat_mm is None:
        raise ValueError("a bore of shape d needs flat_mm, the distance from the flat to the opposite side")
    radius = bore.across_mm / 2 + grow_mm
    flat = bore.flat_mm - bore.across_mm / 2 + grow_mm
    if not -radius < flat < radius:
        raise ValueError(
            f"the flat of a {bore.across_mm:g} mm D lies {bore.flat_mm:g} mm from the opposite side"
        )
    half = math.acos(flat / radius)
    upper = radius * cmath.exp(1j * half)
    return BulgePath((upper, upper.conjugate()), (math.tan((math.pi - half) / 2), 0.0))
