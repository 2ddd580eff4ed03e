"""Strength of a tooth at its root: Lewis.

The tooth is a beam that carries the whole tangential force at its tip: σ = Ft / (b m Y), with the face
width b, the module m and the form factor Y of its number of teeth (20°, full depth). Y is the printed table
of two programs that agree within 0.002 (as in texts of machine design). Between its rows, and beyond them,
Y is linear in 1 / z: from 100 teeth on this leads to 0.484 for a rack, which such tables print too.

Stresses are those of a slow drive: no factor of speed, life or shock. The table is that of teeth without
shift; a tooth shifted outward is stronger. An internal wheel counts as a rack.
"""

from __future__ import annotations

from itertools import pairwise

FORM_FACTORS = (
    (12, 0.245),
    (15, 0.289),
    (18, 0.308),
    (20, 0.320),
    (30, 0.358),
    (50, 0.408),
    (100, 0.446),
)
"""Form factor Y by number of teeth, 20° full depth, load at the tip."""


def form_factor(teeth: float, *, internal: bool = False) -> float:
    """Return the form factor Y of a number of teeth, a factor; `inf` for a rack.

    Raises ValueError for fewer teeth than the table reaches down to, 6.
    """
    if teeth < 6:
        raise ValueError(f"no form factor for {teeth:g} teeth; the table reaches down to 6")
    wanted = 0.0 if internal else 1 / teeth
    for (few, low), (many, high) in pairwise(FORM_FACTORS):
        if wanted >= 1 / many or many == FORM_FACTORS[-1][0]:
            share = (1 / few - wanted) / (1 / few - 1 / many)
            return low + share * (high - low)
    raise AssertionError("the last rows of the table hold for all other teeth")


def tangential_force_n(torque_nm: float, radius_mm: float) -> float:
    """Return the force along a circle of a radius that carries a torque, N."""
    return abs(torque_nm) * 1000 / radius_mm


def tooth_stress_mpa(force_n: float, face_mm: float, module_mm: float, factor: float) -> float:
    """Return the bending stress at the root of a tooth, MPa."""
    return force_n / (face_mm * module_mm * factor)


def face_for_mm(force_n: float, allowed_mpa: float, module_mm: float, factor: float) -> float:
    """Return the face width at which the stress is the allowed one, mm."""
    return force_n / (allowed_mpa * module_mm * factor)


SAFETY = 3.0
"""Strength of a material over the allowed stress of a tooth (common practice, no source): notches, layers."""


def allowed_mpa(strength_mpa: float) -> float:
    """Return the bending stress that a tooth of a material's strength may have, MPa."""
    return strength_mpa / SAFETY
