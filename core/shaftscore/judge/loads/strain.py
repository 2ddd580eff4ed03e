"""How a described spring is strained over the lane's travel: solid length, stress and buckling.

By EN 13906-1 (compression) and EN 13906-2 (extension), see `shaftscore.built.springs`; at the greatest
travel, where a compression spring is shortest and an extension spring longest.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base.tolerance import LIMIT, over
from shaftscore.model import CoilSpring


@dataclass(frozen=True)
class SpringStrain:
    """A spring at the greatest travel: lengths mm, stresses MPa.

    length_mm: what is left of it, or what it is drawn out to. solid_mm: length at which the coils touch, 0
    for an extension spring. travel_mm: by which it is shorter than when free, and buckles_mm: by which it
    buckles with both ends on plates, inf where it never does.
    """

    length_mm: float
    solid_mm: float
    stress_mpa: float
    allowed_mpa: float
    travel_mm: float
    buckles_mm: float

    @property
    def is_solid(self) -> bool:
        """Whether the coils touch."""
        return self.length_mm <= self.solid_mm + LIMIT

    @property
    def is_overstressed(self) -> bool:
        """Whether the stress is over what is allowed."""
        return over(self.stress_mpa, self.allowed_mpa, self.allowed_mpa)

    @property
    def buckles(self) -> bool:
        """Whether it buckles to the side, unless something guides it."""
        return self.travel_mm > self.buckles_mm

    @property
    def is_borne(self) -> bool:
        """Whether none of these is found; it is then not found with less travel either."""
        return not (self.is_solid or self.is_overstressed or self.buckles)


def strain_of(spring: CoilSpring, travel_mm: float) -> SpringStrain:
    """Compute the strain of a spring where what it acts on has travelled so far from output 0, mm."""
    installed = spring.installed
    length = float(installed.length_mm(travel_mm))
    pressed = spring.kind == "compression"
    return SpringStrain(
        length_mm=length,
        solid_mm=installed.spring.solid_mm if pressed else 0.0,
        stress_mpa=installed.stress_mpa(travel_mm),
        allowed_mpa=installed.spring.allowed_stress_mpa,
        travel_mm=spring.free_mm - length if pressed else 0.0,
        buckles_mm=installed.spring.buckling_travel_mm(),
    )
