"""Stress where two cylinders touch along a line (Hertz).

Source of the formulas: H. Hertz's line contact as in A. P. Boresi and R. J. Schmidt, Advanced Mechanics of
Materials, 6th ed., chapter 17. A *relative curvature* is the sum of the curvatures of both surfaces,
convex positive, flat 0; where it is not positive the surfaces conform and there is no line contact.
"""

from __future__ import annotations

import numpy as np

from shaftscore.kinematics.followers import Reals
from shaftscore.model import Material


def effective_modulus_mpa(first: Material, second: Material) -> float:
    """Return E* of two materials, MPa: 1/E* = (1 - ν1²)/E1 + (1 - ν2²)/E2."""
    compliance = sum((1 - m.poisson**2) / (1000 * m.modulus_gpa) for m in (first, second))
    return 1 / compliance


def line_pressure_mpa(load_n_per_mm: Reals, curvature: Reals, modulus_mpa: float) -> Reals:
    """Return the greatest pressure p0 = √(P E* κ / π) of a line contact, MPa.

    load_n_per_mm: load P by length, (n,). curvature: relative curvature κ, 1/mm, (n,). modulus_mpa: E*.
    A knife edge (infinite curvature) gives inf, and 0 where nothing presses it; surfaces that conform
    (κ <= 0) give nan: no line contact.
    """
    pressed = np.maximum(load_n_per_mm, 0.0)
    touching = np.where(curvature > 0, curvature, np.nan)
    squared = pressed * modulus_mpa / np.pi * np.where((pressed > 0) | (curvature <= 0), touching, 0.0)
    return np.asarray(np.sqrt(squared))
