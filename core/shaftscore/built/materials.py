"""Materials of rods and printed parts: stiffness and yield strength.

Metals: handbook values from memory; the yields are the least of the usual grade (EN 10025-2 S235,
EN 10088-3 1.4301, EN 12164 free-cutting brass, EN 755-2 6060 T6), so that a better rod is on the safe side.
PLA: E 3.5 GPa, yield 60 MPa by a filament maker's sheet (doi 10.2478/msp-2025-0039); its shear modulus by
E / (2 (1 + 0.35)).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SolidMaterial:
    """Elastic modulus, shear modulus and yield strength, MPa."""

    elastic_mpa: float
    shear_mpa: float
    yield_mpa: float


SOLID_MATERIALS = {
    "steel": SolidMaterial(205_000, 79_000, 235),
    "stainless": SolidMaterial(193_000, 75_000, 190),
    "brass": SolidMaterial(97_000, 36_000, 160),
    "aluminium": SolidMaterial(69_000, 26_000, 140),
    "pla": SolidMaterial(3_500, 1_300, 60),
}
"""By name."""
