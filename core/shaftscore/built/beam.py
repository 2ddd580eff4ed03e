"""A shaft as a beam on bearings: deflection, moments, reactions, stress, twist, bearing friction.

Frame: z along the shaft, mm; loads across it in two fixed directions x and y, so that a force is
(..., 2, angles), N. Bearings are points that hold and do not clamp. The shaft is straight, thin and stiff in
shear (Euler-Bernoulli beam); its rigidity E I is constant on each stretch and the same in every direction.

Method: the principle of virtual work (unit loads). On the first and last bearing the moment of a unit
load is known; the deflection at i from a load at j is the integral of m_i m_j / (E I), exact by Simpson's
rule on each stretch, where both are linear. Bearings in between are loads that make their own deflection
zero (force method). Source: strength of materials texts; checked against worked examples.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from shaftscore.base.angles import distinct
from shaftscore.built.arrays import Reals
from shaftscore.built.sections import CrossSection

BEARING_FRICTION = {"ball": 0.0015, "plain": 0.2}
"""Friction at the shaft's surface by bearing: ball within 0.0010 to 0.0015 of makers' tables; plain, printed
or dry, common practice."""

STRESS_RESERVE = 1.5
"""How many times the stress the yield strength must be."""


@dataclass(frozen=True)
class ShaftStretch:
    """A stretch of shaft from z to z, mm, with its rigidities E I and G J, N mm²."""

    start_mm: float
    end_mm: float
    bending_nmm2: float
    torsion_nmm2: float


@dataclass(frozen=True, eq=False)
class LoadedShaft:
    """What loads at k places do to a shaft, over n angles.

    places_mm: (k,) of the loads. forces_n: (k, 2, n). reactions_n: (b, 2, n) of the bearings on the shaft.
    """

    beam: ShaftBeam
    places_mm: Reals
    forces_n: Reals
    reactions_n: Reals

    def deflection_mm(self, z_mm: Reals) -> Reals:
        """Compute the deflection at places (m,) along the shaft, (m, 2, n) mm, along the forces."""
        return superposed(self.beam.influence(z_mm, self.places_mm), self.forces_n)

    def moment_nmm(self, z_mm: Reals) -> Reals:
        """Compute the bending moment at places (m,), (m, 2, n) N mm, each in the plane of its direction."""
        at = np.concatenate([self.places_mm, self.beam.bearings_mm])
        return moment_from_below_nmm(z_mm, at, np.concatenate([self.forces_n, self.reactions_n]))

    def worst_moment_nmm(self) -> float:
        """Return the greatest bending moment anywhere at any angle, N mm: it is at a load or a bearing."""
        corners = np.concatenate([self.places_mm, self.beam.bearings_mm])
        return float(np.hypot(*np.moveaxis(self.moment_nmm(corners), 1, 0)).max(initial=0.0))


@dataclass(frozen=True, eq=False)
class ShaftBeam:
    """A shaft of stretches, in order and without gaps, on two or more bearings, (b,) mm in order.

    Loads may be anywhere, also beyond the bearings; outside of the stretches the first and last go on.
    Raises ValueError for fewer than two bearings, bearings out of order, and stretches that do not meet.
    """

    bearings_mm: Reals
    stretches: tuple[ShaftStretch, ...]

    def __post_init__(self) -> None:
        if len(self.bearings_mm) < 2 or np.any(np.diff(self.bearings_mm) <= 0):
            raise ValueError(f"bearings at {list(self.bearings_mm)} mm: two or more, in order, are required")
        ends = [
            (one.end_mm, two.start_mm) for one, two in zip(self.stretches, self.stretches[1:], strict=False)
        ]
        if not self.stretches or any(end != start for end, start in ends):
            raise ValueError(f"stretches of the shaft do not meet: {ends}")

    @cached_property
    def _starts(self) -> Reals:
        """Where each stretch but the first begins, (stretches - 1,)."""
        return np.array([one.start_mm for one in self.stretches[1:]])

    def _rigidity(self, z_mm: Reals, values: Sequence[float]) -> Reals:
        """Return the value of the stretch at places (m,)."""
        return np.array(values)[np.searchsorted(self._starts, z_mm, side="right")]

    def unit_moment(self, z_mm: Reals, at_mm: Reals) -> Reals:
        """Compute moments at places (m,) from unit loads at (k,), on the two outer bearings, (m, k) mm."""
        first, last = self.bearings_mm[0], self.bearings_mm[-1]
        share = (at_mm - first) / (last - first)  # of the load that the last bearing holds
        ramp = [np.maximum(z_mm[:, None] - place, 0.0) for place in (at_mm, first, last)]
        return np.asarray(ramp[0] - (1 - share) * ramp[1] - share * ramp[2])

    def _determinate(self, z_mm: Reals, at_mm: Reals) -> Reals:
        """Compute deflections at (m,) from unit loads at (k,) on the first and last bearing, (m, k) mm/N."""
        cuts = distinct(np.concatenate([z_mm, at_mm, self.bearings_mm, self._starts]))
        start, end = cuts[:-1], cuts[1:]
        weight = (
            (end - start) / 6 / self._rigidity((start + end) / 2, [s.bending_nmm2 for s in self.stretches])
        )
        total = np.zeros((len(z_mm), len(at_mm)))
        for place, count in ((start, 1), ((start + end) / 2, 4), (end, 1)):
            here, there = self.unit_moment(place, z_mm), self.unit_moment(place, at_mm)
            total += count * (here * weight[:, None]).T @ there
        return total

    def _held(self, at_mm: Reals) -> Reals:
        """Compute the reactions of the bearings in between to unit loads at (k,), (b - 2, k), N/N."""
        inner = self.bearings_mm[1:-1]
        held = np.linalg.solve(self._determinate(inner, inner), self._determinate(inner, at_mm))
        return np.asarray(-held, dtype=np.float64)

    def influence(self, z_mm: Reals, at_mm: Reals) -> Reals:
        """Compute deflections at places (m,) from unit loads at (k,), (m, k) mm/N."""
        inner = self.bearings_mm[1:-1]
        return self._determinate(z_mm, at_mm) + self._determinate(z_mm, inner) @ self._held(at_mm)

    def loaded(self, places_mm: Reals, forces_n: Reals) -> LoadedShaft:
        """Compute the reactions to forces (k, 2, n) N at places (k,) mm, and keep both."""
        held = superposed(self._held(places_mm), forces_n)
        all_places = np.concatenate([places_mm, self.bearings_mm[1:-1]])
        all_forces = np.concatenate([forces_n, held])
        first, last = self.bearings_mm[0], self.bearings_mm[-1]
        share = ((all_places - first) / (last - first))[:, None, None]
        ends = [-((1 - share) * all_forces).sum(axis=0), -(share * all_forces).sum(axis=0)]
        reactions = np.concatenate([ends[0][None], held, ends[1][None]])
        return LoadedShaft(self, places_mm, forces_n, reactions)

    def twist_deg(self, hub_mm: float, places_mm: Reals, torques_nm: Reals) -> Reals:
        """Compute the twist at places (k,) against the hub from the torques there, (k, n) degrees.

        torques_nm: (k, n), positive as the hub's. hub_mm: where the hub turns the shaft. A disc lags by it.
        """
        soft = self._softness(places_mm) - self._softness(np.array([hub_mm]))
        shared = np.where(soft[:, None] * soft > 0, np.minimum(np.abs(soft[:, None]), np.abs(soft)), 0.0)
        return np.degrees(shared @ torques_nm * 1000)

    def _softness(self, z_mm: Reals) -> Reals:
        """Return the twist per torque from the shaft's start to places (m,), rad/(N mm)."""
        total = np.zeros(len(z_mm))
        for number, one in enumerate(self.stretches):
            low = -inf if number == 0 else one.start_mm
            high = inf if number == len(self.stretches) - 1 else one.end_mm
            total += (np.clip(z_mm, low, high) - one.start_mm) / one.torsion_nmm2
        return total


SMALL_SUM = 2e8
"""Up to this many products are summed without a matrix product, which would start threads."""


def superposed(by_load: Reals, forces_n: Reals) -> Reals:
    """Compute the sum of the effects of all loads, (m, 2, n) in the unit of by_load times N.

    by_load: (m, k) by newton. forces_n: (k, 2, n).
    """
    if by_load.size * forces_n[:1].size <= SMALL_SUM:
        return np.asarray(np.einsum("mk,kdn->mdn", by_load, forces_n))
    together = by_load @ forces_n.reshape(len(forces_n), -1)
    return np.asarray(together.reshape(len(by_load), *forces_n.shape[1:]))


def moment_from_below_nmm(z_mm: Reals, at_mm: Reals, forces_n: Reals) -> Reals:
    """Compute the sum of forces times their distances below places, (m, 2, n) N mm: the bending moment.

    z_mm: places (m,). at_mm: places (k,) of all forces, (k, 2, n) N, those of the bearings included. The
    sums are cumulative, so that the work grows with the number of discs and not with its square.
    """
    order = np.argsort(at_mm, kind="stable")
    at, forces = at_mm[order], forces_n[order]
    below = np.searchsorted(at, z_mm, side="right")
    none = np.zeros((1, *forces.shape[1:]))
    sums = np.concatenate([none, np.cumsum(forces, axis=0)])
    firsts = np.concatenate([none, np.cumsum(at[:, None, None] * forces, axis=0)])
    return np.asarray(z_mm[:, None, None] * sums[below] - firsts[below])


def even_shaft(bearings_mm: Sequence[float], bending_nmm2: float, torsion_nmm2: float = 1.0) -> ShaftBeam:
    """Return a shaft of one rigidity E I and G J, N mm², on bearings at places in mm."""
    whole = ShaftStretch(bearings_mm[0], bearings_mm[-1], bending_nmm2, torsion_nmm2)
    return ShaftBeam(np.array(bearings_mm, dtype=np.float64), (whole,))


def bending_stress_mpa(moment_nmm: float, section: CrossSection) -> float:
    """Return the greatest bending stress, MPa, of a moment in N mm."""
    return abs(moment_nmm) / section.modulus_mm3


def torsion_stress_mpa(torque_nm: float, section: CrossSection) -> float:
    """Return the greatest shear stress, MPa, of a torque in N·m."""
    return abs(torque_nm) * 1000 / section.torsion_modulus_mm3


def equivalent_stress_mpa(normal_mpa: float, shear_mpa: float) -> float:
    """Return the equivalent stress √(σ² + 3 τ²) of von Mises, MPa."""
    return float(np.sqrt(normal_mpa**2 + 3 * shear_mpa**2))


def bearing_torque_nm(reactions_n: Reals, shaft_mm: float, friction: float) -> Reals:
    """Compute the friction torque of all bearings, μ F d/2 each, (n,) N·m.

    reactions_n: (b, 2, n). friction: a factor at the shaft's surface, see BEARING_FRICTION.
    """
    loads = np.hypot(reactions_n[:, 0], reactions_n[:, 1]).sum(axis=0)
    return np.asarray(friction * loads * shaft_mm / 2 / 1000)
