"""A stack clamped along its rod: when joints open, how stiff it is, which force it takes.

At an even pressure from the force F, a ring of the radii R and r opens at its rim when the bending moment
reaches F (R² + r²) / (4 R), because the bending stress M / W, W = π (R⁴ - r⁴) / (4 R), then equals
F / (π (R² - r²)). Printed parts creep: half of the force is left (common practice, no source); while no
joint opens they count with 0.3 of their section (common practice, no source).
"""

from __future__ import annotations

import numpy as np

from shaftscore.built.arrays import Flags, Values

FORCE_LEFT = 0.5
"""Share of the clamping force left after creep."""

SECTION_COUNTED = 0.3
"""Share of the section of clamped parts that counts."""


def force_left_n(clamp_n: float) -> float:
    """Return the clamping force left after creep, N."""
    return FORCE_LEFT * clamp_n


def opening_moment_nmm(force_n: float, outer_radius_mm: float, inner_radius_mm: float) -> float:
    """Return the bending moment at which a ring clamped by a force begins to open, N mm; force_n in N."""
    return force_n * (outer_radius_mm**2 + inner_radius_mm**2) / (4 * outer_radius_mm)


def joint_opens(moment_nmm: Values, force_n: float, outer_radius_mm: float, inner_radius_mm: float) -> Flags:
    """Return where a bending moment opens a joint, (...,); force_n: what is left of the clamping force, N."""
    return np.asarray(np.abs(moment_nmm) > opening_moment_nmm(force_n, outer_radius_mm, inner_radius_mm))


def clamp_needed_n(moment_nmm: float, outer_radius_mm: float, inner_radius_mm: float) -> float:
    """Return the clamping force to tighten to, N, so that a moment in N mm opens no joint after creep."""
    return abs(moment_nmm) / opening_moment_nmm(FORCE_LEFT, outer_radius_mm, inner_radius_mm)


def clamped_rigidity(rod: float, parts: float) -> float:
    """Return the rigidity (modulus times section constant, N mm²) of a rod with clamped parts about it."""
    return rod + SECTION_COUNTED * parts
