"""Cross-sections of rods and clamped stacks: area, bending and torsion.

Bending constants are integrals over the section. A hexagon and a square have the same moment of inertia
about every axis; of a D the least is taken, and of every section the least modulus. Torsion constants:
round and ring exact; square and hexagon from Saint-Venant's solution (handbook torsion tables, from
memory: 0.1406 and 0.208, 0.115 and 0.188 for the width across flats); a D by the polynomials of Roark's
Formulas for Stress and Strain, table of torsion, circular section with one flat (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, hypot, pi, sin, sqrt

from shaftscore.built.threads import MetricThread


@dataclass(frozen=True)
class CrossSection:
    """Constants of a cross-section: mm², mm⁴, mm³.

    inertia_mm4, modulus_mm3: of bending, the least. torsion_mm4, torsion_modulus_mm3: twist per length is
    T / (G torsion), greatest shear stress T / modulus.
    """

    area_mm2: float
    inertia_mm4: float
    modulus_mm3: float
    torsion_mm4: float
    torsion_modulus_mm3: float


def ring_section(outer_mm: float, inner_mm: float = 0.0) -> CrossSection:
    """Return the section of a ring by its diameters, mm; of a round rod without the inner one.

    Raises ValueError for a ring without width.
    """
    if not 0 <= inner_mm < outer_mm:
        raise ValueError(f"no ring between the diameters {inner_mm} and {outer_mm} mm")
    inertia = pi / 64 * (outer_mm**4 - inner_mm**4)
    modulus = inertia / (outer_mm / 2)
    return CrossSection(pi / 4 * (outer_mm**2 - inner_mm**2), inertia, modulus, 2 * inertia, 2 * modulus)


def square_section(across_mm: float) -> CrossSection:
    """Return the section of a square rod by its width across flats, mm."""
    s = across_mm
    return CrossSection(s**2, s**4 / 12, s**3 / (6 * sqrt(2)), 0.140577 * s**4, 0.208165 * s**3)


def hexagon_section(across_mm: float) -> CrossSection:
    """Return the section of a hexagonal rod by its width across flats, mm."""
    s = across_mm
    inertia = 5 * sqrt(3) / 144 * s**4
    return CrossSection(
        sqrt(3) / 2 * s**2, inertia, inertia / (s / sqrt(3)), 0.115051 * s**4, 0.187669 * s**3
    )


def flat_section(across_mm: float, flat_mm: float) -> CrossSection:
    """Return the section of a round rod with one flat, mm; flat_mm from the flat to the round side.

    Raises ValueError where the flat is not between the axis and the round side.
    """
    radius, height = across_mm / 2, flat_mm - across_mm / 2
    if not 0 <= height < radius:
        raise ValueError(f"a flat at {flat_mm} mm does not leave more than half of a rod of {across_mm} mm")
    half = acos(height / radius)  # half angle of the segment cut off
    area, across, toward, middle = _cut_circle(radius, half)
    toward -= area * middle**2
    at_corner = hypot(radius * sin(half) / across, (height + middle) / toward)  # stress of a unit moment
    modulus = 1 / max(at_corner, (radius - middle) / toward)  # the greatest is at an end of the arc
    least = min(toward, across)
    cut = 1 - height / radius
    return CrossSection(area, least, modulus, _flat_torsion(cut) * radius**4, radius**3 / _flat_shear(cut))


def thread_section(thread: MetricThread) -> CrossSection:
    """Return the section of a threaded rod: that of its core."""
    return ring_section(thread.core_mm)


def _cut_circle(radius: float, half: float) -> tuple[float, float, float, float]:
    """Return area, second moments along the flat and square to it, and the distance of the centroid.

    The moments are about the axis; the centroid is on the side away from the flat. Circle less the segment
    of the half angle: area r² (half - sin half cos half), first moment (2/3) r³ sin³ half, second
    moments by integration.
    """
    s, c = sin(half), cos(half)
    cut_area = radius**2 * (half - s * c)
    cut_first = 2 / 3 * (radius * s) ** 3
    cut_toward = radius**4 / 4 * (half - s * c + 2 * s**3 * c)
    cut_along = radius**4 / 12 * (3 * half - 3 * s * c - 2 * s**3 * c)
    area, whole = pi * radius**2 - cut_area, pi / 4 * radius**4
    return area, whole - cut_along, whole - cut_toward, cut_first / area


def _flat_torsion(cut: float) -> float:
    """Return the torsion constant over r⁴ of a circle cut by a share of its radius."""
    steps = (0.7854, -0.0333, -2.6183, 4.1595, -3.0769, 0.9299)
    return 2 * sum(factor * cut**power for power, factor in enumerate(steps))


def _flat_shear(cut: float) -> float:
    """Return the greatest shear stress times r³ over torque of a circle cut by a share of its radius."""
    steps = (0.6366, 1.7598, -5.4897, 14.062, -14.510, 6.434)
    return sum(factor * cut**power for power, factor in enumerate(steps))
