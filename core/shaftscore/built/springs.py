"""Helical springs of round wire: force, rate, stress, solid length, buckling, force tolerance.

Symbols: wire d, mean coil diameter D, active coils n, index w = D/d, free length L0. Sources:

- rate R = G d⁴ / (8 D³ n); stress τ = k 8 F D / (π d³) with k = (w + 0.5) / (w - 0.75); buckling travel
  s = L0 (0.5 / (1 - G/E)) (1 - √(1 - ((1 - G/E) / (0.5 + G/E)) (π D / (ν L0))²)): EN 13906-1 (compression)
  and EN 13906-2 (extension), the buckling formula from memory;
- solid length (n + 2) d with closed ends and (n + 1) d with plain ends: U. C. Jindal, Machine Design, 2010,
  example 8-4;
- wire strength Rm = A / d^m: the same book, examples 8-6 (hard-drawn wire) and 8-9 (music wire);
- force tolerance: EN 15800, cold-coiled compression springs (formulas as printed in secondary sources; the
  sign of 1/(3n²) from memory of DIN 2095; the standard gives it for compression springs, and it is used
  for extension springs too).

The *roller* moves by x where the spring changes its length by ratio x; the force at the roller is the
spring's times the ratio, by the work done.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt
from typing import Literal

import numpy as np

from shaftscore.built.arrays import Reals, Values


@dataclass(frozen=True)
class SpringMaterial:
    """A spring wire: moduli in MPa, and strength A / d^m in MPa with the wire d in mm."""

    shear_modulus_mpa: float
    elastic_modulus_mpa: float
    strength_mpa: float
    strength_power: float


SPRING_MATERIALS = {
    "music-wire": SpringMaterial(81_500, 206_000, 2211, 0.145),
    "hard-drawn": SpringMaterial(80_700, 198_600, 1783, 0.190),
}
"""Music wire: moduli of EN 10270-1 wire (from memory). Hard-drawn: moduli of A227 wire, Shigley's Mechanical
Engineering Design, table 10-5."""

ALLOWED_SHARE = 0.5
"""Allowed share of the wire's strength for the stress with the curvature factor."""

SEATING = {"fixed": 0.5, "fixed-hinged": 0.7, "hinged": 1.0, "free": 2.0}
"""Seating factor ν of the ends: both on parallel plates, one on a plate and one hinged, both hinged, one
on a plate and one free (EN 13906-1, from memory)."""

GRADE_FACTOR = {1: 0.63, 2: 1.0, 3: 1.6}
"""Factor Q of the quality grades of EN 15800."""

SHORT_COILS = 4
"""Under so many active coils the ends' coils soften the spring."""


@dataclass(frozen=True)
class WireSpring:
    """A helical spring as it is bought.

    initial_n: initial tension of an extension spring. ends: of a compression spring. material: a key of
    SPRING_MATERIALS.
    """

    kind: Literal["compression", "extension"]
    wire_mm: float
    coil_mm: float
    active_coils: float
    free_mm: float
    ends: Literal["closed", "plain"] = "closed"
    initial_n: float = 0.0
    material: str = "music-wire"

    @property
    def index(self) -> float:
        """Index w = D/d, a factor."""
        return self.coil_mm / self.wire_mm

    @property
    def wire(self) -> SpringMaterial:
        """The material of the wire."""
        return SPRING_MATERIALS[self.material]

    @property
    def rate_n_per_mm(self) -> float:
        """Rate R, N/mm."""
        return self.wire.shear_modulus_mpa * self.wire_mm**4 / (8 * self.coil_mm**3 * self.active_coils)

    @property
    def curvature_factor(self) -> float:
        """Stress correction factor k, a factor."""
        return (self.index + 0.5) / (self.index - 0.75)

    @property
    def strength_mpa(self) -> float:
        """Tensile strength Rm of the wire, MPa."""
        return float(self.wire.strength_mpa / self.wire_mm**self.wire.strength_power)

    @property
    def allowed_stress_mpa(self) -> float:
        """Allowed stress, MPa: half the tensile strength."""
        return ALLOWED_SHARE * self.strength_mpa

    @property
    def solid_mm(self) -> float:
        """Length at which the coils of a compression spring touch, mm."""
        return (self.active_coils + (2 if self.ends == "closed" else 1)) * self.wire_mm

    def force_n(self, length_mm: Values) -> Reals:
        """Compute the force at lengths (...,) mm, (...,) N; 0 beyond the free length of a compression spring.

        An extension spring that is no longer than its free length holds nothing: 0.
        """
        length = np.asarray(length_mm, dtype=np.float64)
        if self.kind == "compression":
            return self.rate_n_per_mm * np.maximum(self.free_mm - length, 0.0)
        travel = length - self.free_mm
        return np.where(travel > 0, self.initial_n + self.rate_n_per_mm * travel, 0.0)

    def stress_mpa(self, force_n: Values) -> Reals:
        """Compute the shear stress with the curvature factor at forces (...,) N, MPa, (...,)."""
        plain = 8 * self.coil_mm / (pi * self.wire_mm**3)
        return np.asarray(self.curvature_factor * plain * force_n, dtype=np.float64)

    def buckling_travel_mm(self, seating: float = SEATING["fixed"]) -> float:
        """Return the compression at which the spring buckles, mm; `inf` where it never does.

        seating: factor ν of its ends, see SEATING.
        """
        ratio = self.wire.shear_modulus_mpa / self.wire.elastic_modulus_mpa
        slender = (1 - ratio) / (0.5 + ratio) * (pi * self.coil_mm / (seating * self.free_mm)) ** 2
        if self.kind == "extension" or slender > 1:
            return inf
        return self.free_mm * 0.5 / (1 - ratio) * (1 - sqrt(1 - slender))


@dataclass(frozen=True)
class InstalledSpring:
    """A spring in its place: its length at the roller's lift 0, and spring travel per roller travel.

    Raises ValueError where it would not be tensioned there, for a ratio of 0 or less, and for a wire that is
    not thinner than its coil.
    """

    spring: WireSpring
    installed_mm: float
    ratio: float = 1.0

    def __post_init__(self) -> None:
        free, installed = self.spring.free_mm, self.installed_mm
        slack = installed > free if self.spring.kind == "compression" else installed < free
        if slack:
            raise ValueError(f"a free length of {free} mm leaves the spring loose at {installed} mm")
        if self.ratio <= 0:
            raise ValueError(f"a spring ratio of {self.ratio} does not move the spring")
        if self.spring.index <= 1:
            raise ValueError(f"a wire of {self.spring.wire_mm} mm makes no coil of {self.spring.coil_mm} mm")

    @property
    def preload_n(self) -> float:
        """Force at the roller at lift 0, N: with the whole initial tension."""
        travel = abs(self.installed_mm - self.spring.free_mm)
        initial = self.spring.initial_n if self.spring.kind == "extension" else 0.0
        return (initial + self.spring.rate_n_per_mm * travel) * self.ratio

    @property
    def rate_n_per_mm(self) -> float:
        """Rate at the roller, N/mm."""
        return self.spring.rate_n_per_mm * self.ratio**2

    def length_mm(self, lift_mm: Values) -> Reals:
        """Compute the spring's length at lifts (...,) of the roller, (...,) mm."""
        sign = -1 if self.spring.kind == "compression" else 1
        return np.asarray(self.installed_mm + sign * self.ratio * lift_mm, dtype=np.float64)

    def roller_force_n(self, lift_mm: Values) -> Reals:
        """Compute the force at the roller at lifts (...,) mm, (...,) N."""
        return np.asarray(self.preload_n + self.rate_n_per_mm * lift_mm, dtype=np.float64)

    def stress_mpa(self, lift_mm: float) -> float:
        """Return the shear stress at a lift of the roller, MPa; greatest at the greatest lift, mm."""
        return float(self.spring.stress_mpa(self.roller_force_n(lift_mm) / self.ratio))

    def solid_margin_mm(self, lift_mm: float) -> float:
        """Return the spring travel left before the coils touch at a lift, mm; `inf` in extension."""
        if self.spring.kind == "extension":
            return inf
        return float(self.length_mm(lift_mm)) - self.spring.solid_mm

    def buckling_margin_mm(self, lift_mm: float, seating: float = SEATING["fixed"]) -> float:
        """Return the spring travel left before it buckles at a lift, mm; `inf` where it never does.

        seating: factor ν of its ends.
        """
        return self.spring.buckling_travel_mm(seating) - (
            self.spring.free_mm - float(self.length_mm(lift_mm))
        )


@dataclass(frozen=True)
class SpringForce:
    """A spring's force over the travel of what it acts on, with its plus-minus limit.

    preload_n: at travel 0, N. rate_n_per_mm: N/mm. tolerance_n, tolerance_share: the limit is tolerance_n
    plus that share of the force, and at most the force itself, since a spring does not push back.
    """

    preload_n: float
    rate_n_per_mm: float
    tolerance_n: float = 0.0
    tolerance_share: float = 0.0

    def limit_n(self, travel_mm: Values) -> Reals:
        """Compute the plus-minus limit of the force at travels (...,) mm, (...,) N."""
        force = np.maximum(self.preload_n + self.rate_n_per_mm * travel_mm, 0.0)
        return np.asarray(np.minimum(self.tolerance_n + self.tolerance_share * force, force))

    def at(self, travel_mm: Values, deviation: float = 0.0) -> Reals:
        """Compute the force at travels (...,) mm, (...,) N.

        deviation: a factor, 0 as stated, -1 the weakest spring within the limit, 1 the strongest.
        """
        force = np.asarray(self.preload_n + self.rate_n_per_mm * travel_mm, dtype=np.float64)
        return force + deviation * self.limit_n(travel_mm) if deviation else force

    @property
    def weakest(self) -> SpringForce:
        """The weakest spring within the limit, without a tolerance of its own."""
        share = 1 - self.tolerance_share
        preload = max(self.preload_n * share - self.tolerance_n, 0.0)
        return SpringForce(preload, max(self.rate_n_per_mm * share, 0.0))


def within_en_15800(spring: WireSpring) -> bool:
    """Return whether EN 15800 covers a spring.

    Wire 0.07 to 16 mm, coil 0.63 to 200 mm, length up to 630 mm, at least 2 coils, index 4 to 20.
    """
    return (
        0.07 <= spring.wire_mm <= 16
        and 0.63 <= spring.coil_mm <= 200
        and spring.free_mm <= 630
        and spring.active_coils >= 2
        and 4 <= spring.index <= 20
    )


def force_tolerance_n(spring: WireSpring, force_n: Values, grade: int = 2) -> Reals:
    """Compute the plus-minus limit of the force by EN 15800, (...,) N: (aF kF + 1.5 F / 100) Q.

    force_n: (...,). Raises ValueError for a spring outside of the standard's range, or another grade.
    """
    if not within_en_15800(spring):
        raise ValueError(
            f"EN 15800 does not cover wire {spring.wire_mm} mm, coil {spring.coil_mm} mm, "
            f"{spring.active_coils} coils; state the force tolerance in percent"
        )
    if grade not in GRADE_FACTOR:
        raise ValueError(f"EN 15800 has no grade {grade}; grades 1 to 3 are known")
    own = _diameter_term_n(spring) * _coils_factor(spring.active_coils)
    return np.asarray((own + 0.015 * np.asarray(force_n)) * GRADE_FACTOR[grade])


def short_spring_share(spring: WireSpring) -> float:
    """Return by what share a short spring may be softer than its computed rate; 0 from 4 coils on.

    Upper ends of the shortfall measured on springs of 2.5 to 3 coils: 15 % at an index of 5, 19 % at 7
    (doi 10.2478/ama-2025-0055), between them in proportion.
    """
    if spring.active_coils >= SHORT_COILS:
        return 0.0
    return float(np.interp(spring.index, [5, 7], [0.15, 0.19]))


def force_tolerance_share(spring: WireSpring, force_n: float, grade: int = 2) -> float:
    """Return the plus-minus limit of the force as a share of it: EN 15800 and what a short spring lacks.

    force_n must be above 0. Raises ValueError outside of the standard's range, for another grade, and
    without a force.
    """
    if force_n <= 0:
        raise ValueError(f"a force of {force_n} N has no tolerance in percent")
    return float(force_tolerance_n(spring, force_n, grade)) / force_n + short_spring_share(spring)


def installed_force(installed: InstalledSpring, stated_percent: float, grade: int = 2) -> SpringForce:
    """Return the force of a spring in its place, N, with its limit by EN 15800 and what a short one lacks.

    stated_percent: the limit of a spring that the standard does not cover, % of the force. Raises ValueError
    for an unknown grade.
    """
    spring, preload, rate = installed.spring, installed.preload_n, installed.rate_n_per_mm
    if not within_en_15800(spring):
        return SpringForce(preload, rate, 0.0, stated_percent / 100)
    fixed = float(force_tolerance_n(spring, 0.0, grade))
    share = float(force_tolerance_n(spring, 1.0, grade)) - fixed + short_spring_share(spring)
    return SpringForce(preload, rate, fixed * installed.ratio, share)


def _diameter_term_n(spring: WireSpring) -> float:
    """Return aF of EN 15800, N."""
    v = spring.index / 10
    bend = -0.84 * v**3 + 3.781 * v**2 - 4.244 * v + 2.274
    return float(65.92 * spring.wire_mm**3.3 / spring.coil_mm**1.6 * bend)


def _coils_factor(coils: float) -> float:
    """Return kF of EN 15800."""
    return -1 / (3 * coils**2) + 8 / (5 * coils) + 0.803
