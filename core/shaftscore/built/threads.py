"""Metric screw threads: diameters, areas, strength, tightening torque.

Sources: coarse pitches ISO 261 (from memory); pitch and core diameter d2 = d - 0.649519 P and
d3 = d - 1.226869 P by ISO 724 (d3 of the rounded root); stress area As = (π/4) ((d2 + d3) / 2)² and
property classes by ISO 898-1; tightening torque T = K F d with K = 0.2 (U. C. Jindal, Machine Design,
2010, example 9-5).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi

COARSE_PITCH_MM = {
    2.0: 0.4,
    2.5: 0.45,
    3.0: 0.5,
    3.5: 0.6,
    4.0: 0.7,
    5.0: 0.8,
    6.0: 1.0,
    7.0: 1.0,
    8.0: 1.25,
    10.0: 1.5,
    12.0: 1.75,
    14.0: 2.0,
    16.0: 2.0,
    18.0: 2.5,
    20.0: 2.5,
    22.0: 2.5,
    24.0: 3.0,
    27.0: 3.0,
    30.0: 3.5,
}
"""Coarse pitch by nominal diameter, mm."""

NUT_FACTOR = 0.2
"""Share of force times diameter that a dry nut takes as torque."""

_DESIGNATION = re.compile(r"M(\d+(?:\.\d+)?)(?: ?[x×] ?(\d+(?:\.\d+)?))?")
_CLASS = re.compile(r"(\d+)\.(\d)")


@dataclass(frozen=True)
class MetricThread:
    """A metric thread by its nominal diameter and pitch, mm."""

    nominal_mm: float
    pitch_mm: float

    @property
    def pitch_diameter_mm(self) -> float:
        """Pitch diameter d2."""
        return self.nominal_mm - 0.649519 * self.pitch_mm

    @property
    def core_mm(self) -> float:
        """Core diameter d3, at the root of the thread: what bends and twists."""
        return self.nominal_mm - 1.226869 * self.pitch_mm

    @property
    def stress_area_mm2(self) -> float:
        """Stress area As, mm²: what is pulled."""
        return pi / 4 * ((self.pitch_diameter_mm + self.core_mm) / 2) ** 2


def thread_named(designation: str) -> MetricThread:
    """Return the thread of a designation such as M8 (coarse) or M8x1.

    Raises ValueError for text of another form, for a diameter without a coarse pitch, and for a pitch that
    leaves no core.
    """
    found = _DESIGNATION.fullmatch(designation)
    if found is None:
        raise ValueError(f"{designation!r} is no metric thread; write M8 or M8x1")
    nominal = float(found[1])
    if found[2] is None and nominal not in COARSE_PITCH_MM:
        raise ValueError(f"{designation} has no coarse pitch; write its pitch, as in M8x1")
    thread = MetricThread(nominal, COARSE_PITCH_MM[nominal] if found[2] is None else float(found[2]))
    if thread.pitch_mm <= 0 or thread.core_mm <= 0:
        raise ValueError(f"{designation}: a pitch of {thread.pitch_mm} mm leaves no core")
    return thread


def class_strength_mpa(property_class: str) -> tuple[float, float]:
    """Return tensile and yield strength, MPa, of an ISO 898-1 property class such as 8.8.

    The digits are the standard's code: a hundredth of the tensile strength, and ten times the ratio of
    yield to tensile strength. Raises ValueError for text of another form.
    """
    found = _CLASS.fullmatch(property_class)
    if found is None:
        raise ValueError(f"{property_class!r} is no property class; write 4.6 or 8.8")
    tensile = 100.0 * int(found[1])
    return tensile, tensile * int(found[2]) / 10


def breaking_load_n(thread: MetricThread, property_class: str) -> float:
    """Return the least load that breaks a thread of a property class, N: stress area times strength."""
    return thread.stress_area_mm2 * class_strength_mpa(property_class)[0]


def nut_torque_nm(force_n: float, nominal_mm: float, factor: float = NUT_FACTOR) -> float:
    """Return the tightening torque that clamps with a force, N·m: factor times force times diameter."""
    return factor * force_n * nominal_mm / 1000
