"""The shaft of one stack over its turn: deflection, stress, twist, reactions, friction, joints.

The beam of `shaftscore.built.beam` with the forces on the discs. The force of the driven wheel's tooth is
known by its size alone, since the file does not say on which side its pinion is: it counts in the worst
direction, so that its share is added to the sizes of what the discs do.

Clamped parts count while no joint opens at any angle; as soon as one does, the rod is on its own for the
whole turn. With two bearings the moments do not depend on that. A chain of dogs passes its torque from
part to part, so that it twists by the parts alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import cos, radians

import numpy as np

from shaftscore.base.angles import distinct
from shaftscore.built.beam import (
    BEARING_FRICTION,
    STRESS_RESERVE,
    LoadedShaft,
    ShaftBeam,
    ShaftStretch,
    bearing_torque_nm,
)
from shaftscore.built.clamp import (
    SECTION_COUNTED,
    clamp_needed_n,
    clamped_rigidity,
    force_left_n,
    joint_opens,
    opening_moment_nmm,
)
from shaftscore.built.efficiency import PRESSURE_ANGLE_DEG
from shaftscore.built.sections import ring_section
from shaftscore.built.threads import nut_torque_nm
from shaftscore.judge.shaft.case import ClampedJoint, ShaftCase
from shaftscore.judge.shaft.discs import OWN_DEG, index_at
from shaftscore.kinematics.followers import Reals
from shaftscore.stack import Layer

LINE_POINTS = 121
"""Places of the bent line between the bearings, in addition to those of the discs."""

HAIR_MM = 1e-6
"""How far beside the end of a stretch its neighbours are read."""


@dataclass(frozen=True)
class ShaftExtreme:
    """A worst value, in its own unit, and the angle of the stack where it is."""

    value: float
    own_deg: float


@dataclass(frozen=True, eq=False)
class StackShaft:
    """The shaft of one stack, judged; figures are computed when first read and kept.

    Angles are those of `OWN_DEG`, (n,) degrees of the stack; discs are in order from the bottom, k of them.
    """

    case: ShaftCase

    @cached_property
    def disc_ids(self) -> tuple[str, ...]:
        """Return the lanes of the discs from the bottom up, (k,)."""
        return tuple(str(layer.lane_id) for layer in self.case.plan.discs)

    @cached_property
    def places_mm(self) -> Reals:
        """Return z of the discs' middles, (k,)."""
        return np.array([layer.middle_mm for layer in self.case.plan.discs])

    @cached_property
    def forces_n(self) -> Reals:
        """Return the forces on the discs, (k, 2, n) N; a disc's riders count with it."""
        total = np.zeros((len(self.disc_ids), 2, len(OWN_DEG)))
        for one in self.case.lanes.values():
            total[self.disc_ids.index(one.disc_id)] += one.force_n
        return total

    @cached_property
    def torques_nm(self) -> Reals:
        """Return the torques that the discs take from the hub, (k, n) N·m."""
        total = np.zeros((len(self.disc_ids), len(OWN_DEG)))
        for one in self.case.lanes.values():
            total[self.disc_ids.index(one.disc_id)] += one.own_torque_nm
        return total

    @cached_property
    def tooth_n(self) -> Reals:
        """Return the size of the tooth's force on the hub, (n,) N; 0 where it is not described."""
        radius = self.case.pitch_radius_mm
        if radius is None:
            return np.zeros(len(OWN_DEG))
        turning = np.abs(self.torques_nm.sum(axis=0)) * 1000 / radius
        return np.asarray(turning / cos(radians(PRESSURE_ANGLE_DEG)))

    # Moments: the same on a bare and on a clamped rod

    @cached_property
    def _bare(self) -> LoadedShaft:
        return self._beam(clamped=False).loaded(self.places_mm, self.forces_n)

    def moment_nmm(self, z_mm: Reals) -> Reals:
        """Compute the sizes of the bending moment at places (m,), (m, n) N mm, the tooth's share added."""
        own = self._bare.moment_nmm(z_mm)
        sizes = np.hypot(own[:, 0], own[:, 1])
        if not self._has_tooth:
            return np.asarray(sizes)
        return np.asarray(sizes + np.abs(self._tooth(self._bare).moment_nmm(z_mm)[:, 0]) * self.tooth_n)

    @property
    def _has_tooth(self) -> bool:
        """Whether the force of a tooth on the hub is described."""
        return self.case.pitch_radius_mm is not None

    def _tooth(self, shaft: LoadedShaft) -> LoadedShaft:
        """Return the shaft with a force of 1 N at its hub, at one angle."""
        return shaft.beam.loaded(np.array([self.case.hub_mm]), np.array([[[1.0], [0.0]]]))

    @cached_property
    def _corners_mm(self) -> Reals:
        """Return z where the moment or the rigidity has a corner, and of the joints, (c,) mm in order."""
        ends = [0.0, *(layer.top_mm for layer in self.case.plan.layers)] if self.case.rod.clamp_n else []
        joints = [joint.z_mm for joint in self.case.joints]
        some = (self.places_mm, self.case.bearings_mm, [self.case.hub_mm], ends, joints)
        return distinct(np.concatenate(some))

    @cached_property
    def _moments_nmm(self) -> Reals:
        """Return the moments at the corners, (c, n) N mm."""
        return self.moment_nmm(self._corners_mm)

    @property
    def _at_joints(self) -> Reals:
        """Return the moments at the joints, (j, n) N mm."""
        joints = np.array([joint.z_mm for joint in self.case.joints])
        return np.asarray(self._moments_nmm[np.searchsorted(self._corners_mm, joints)])

    @cached_property
    def needed_clamp_n(self) -> float | None:
        """Return the force to tighten to, so that no joint ever opens, N; None without a joint."""
        return None if self._worst_joint is None else self._worst_joint[1]

    @cached_property
    def _worst_joint(self) -> tuple[int, float] | None:
        """Return the joint that needs the greatest clamping force, and that force, N."""
        needs = [
            clamp_needed_n(most, joint.outer_mm, joint.inner_mm)
            for joint, most in zip(self.case.joints, self._at_joints.max(axis=1).tolist(), strict=True)
        ]
        return (int(np.argmax(needs)), max(needs)) if needs else None

    @property
    def nut_torque_nm(self) -> float | None:
        """Return the torque of a nut that clamps as needed, N·m; None without thread or joint."""
        nut, force = self.case.figures.nut_mm, self.needed_clamp_n
        return None if nut is None or force is None else nut_torque_nm(force, nut)

    @cached_property
    def open_joint(self) -> tuple[ClampedJoint, ShaftExtreme, float] | None:
        """Return the joint that opens first, its moment and what it holds, both N mm; None if none opens."""
        clamp = self.case.rod.clamp_n
        worst = self._worst_joint if clamp is not None else None
        if clamp is None or worst is None:
            return None
        joint, moments = self.case.joints[worst[0]], self._at_joints[worst[0]]
        left = force_left_n(clamp)
        if not np.any(joint_opens(moments, left, joint.outer_mm, joint.inner_mm)):
            return None
        return joint, _worst(moments), opening_moment_nmm(left, joint.outer_mm, joint.inner_mm)

    @property
    def is_stiffened(self) -> bool:
        """Whether clamped parts count: the stack is clamped and no joint opens."""
        return self.case.rod.clamp_n is not None and self.open_joint is None

    # Stiffness

    def _beam(self, *, clamped: bool) -> ShaftBeam:
        return ShaftBeam(self.case.bearings_mm, self._stretches(clamped=clamped))

    def _stretches(self, *, clamped: bool) -> tuple[ShaftStretch, ...]:
        """Return the rod below, along each part and above."""
        rod, layers = self.case.figures, self.case.plan.layers
        ends = (min(-1.0, *self.case.bearings_mm), max(layers[-1].top_mm + 1.0, *self.case.bearings_mm))
        below = ShaftStretch(float(ends[0]), layers[0].bottom_mm, rod.bending_nmm2, rod.torsion_nmm2)
        above = ShaftStretch(layers[-1].top_mm, float(ends[1]), rod.bending_nmm2, rod.torsion_nmm2)
        return (below, *(self._stretch(layer, clamped=clamped) for layer in layers), above)

    def _stretch(self, layer: Layer, *, clamped: bool) -> ShaftStretch:
        rod, ends = self.case.figures, (layer.bottom_mm, layer.top_mm)
        outer, inner = self.case.joint_radii_mm.get(layer, 0.0), self.case.stack.bore.outer_radius_mm
        if outer <= inner:
            return ShaftStretch(*ends, rod.bending_nmm2, rod.torsion_nmm2)
        ring, (elastic, shear) = ring_section(2 * outer, 2 * inner), self.case.part_moduli_mpa[layer]
        bending, torsion = elastic * ring.inertia_mm4, shear * ring.torsion_mm4
        both = clamped_rigidity(rod.bending_nmm2, bending if clamped else 0.0)
        if self.case.stack.keying == "chain":
            return ShaftStretch(*ends, both, SECTION_COUNTED * torsion)
        return ShaftStretch(*ends, both, clamped_rigidity(rod.torsion_nmm2, torsion if clamped else 0.0))

    @cached_property
    def loaded(self) -> LoadedShaft:
        """Return the shaft as it is, rod alone or clamped, under the forces on its discs."""
        return (
            self._beam(clamped=True).loaded(self.places_mm, self.forces_n)
            if self.is_stiffened
            else self._bare
        )

    @cached_property
    def _line(self) -> tuple[Reals, Reals]:
        """Return places of the bent line, (m,) mm, and its deflections by load, (m, k) mm/N."""
        ends = self.case.bearings_mm
        z = np.union1d(np.linspace(ends[0], ends[-1], LINE_POINTS), self.places_mm)
        return z, self.loaded.beam.influence(z, self.places_mm)

    def line_mm(self, own_deg: float) -> tuple[Reals, Reals]:
        """Return the bent line at an angle of the stack: places (m,) mm and deflections (m, 2) mm."""
        z, by_load = self._line
        return z, by_load @ self.forces_n[:, :, index_at(own_deg)]

    # Deflection

    @cached_property
    def deflection_mm(self) -> Mapping[str, ShaftExtreme]:
        """Return the worst deflection at every disc, mm, by lane id."""
        own = self._own_deflection_mm
        sizes = np.hypot(own[:, 0], own[:, 1]) + self._tooth_deflection_mm
        return {lane_id: _worst(row) for lane_id, row in zip(self.disc_ids, sizes, strict=True)}

    @cached_property
    def _own_deflection_mm(self) -> Reals:
        """Return what the forces on the discs bend the shaft at the discs, (k, 2, n) mm."""
        return self.loaded.deflection_mm(self.places_mm)

    @cached_property
    def _tooth_deflection_mm(self) -> Reals:
        """Return the sizes of the tooth's share at the discs, (k, n) mm; (k, 1) zeros without one."""
        if not self._has_tooth:
            return np.zeros((len(self.disc_ids), 1))
        unit = np.abs(self._tooth(self.loaded).deflection_mm(self.places_mm)[:, 0])
        return np.asarray(unit * self.tooth_n)

    @cached_property
    def lift_errors_mm(self) -> Mapping[str, ShaftExtreme]:
        """Return the lift error u·n / cos α of every loaded lane where it is greatest, signed, mm.

        Negative where the follower sinks; the tooth's share has the sign of the rest.
        """
        own = self._own_deflection_mm
        found = {}
        places = {disc_id: place for place, disc_id in enumerate(self.disc_ids)}
        for lane_id, one in self.case.lanes.items():
            at = places[one.disc_id]
            along = (own[at] * one.normal_xy).sum(axis=0)
            signed = along + np.where(along > 0, 1.0, -1.0) * self._tooth_deflection_mm[at]
            found[lane_id] = _worst_signed(signed / one.cos_alpha)
        return found

    @cached_property
    def twist_deg(self) -> Mapping[str, ShaftExtreme]:
        """Return by how much every disc lags behind the hub where it is most, degrees, signed, by lane id."""
        rows = self.loaded.beam.twist_deg(self.case.hub_mm, self.places_mm, self.torques_nm)
        return {lane_id: _worst_signed(row) for lane_id, row in zip(self.disc_ids, rows, strict=True)}

    # Stress and bearings

    @cached_property
    def stress_mpa(self) -> ShaftExtreme:
        """Return the greatest bending stress in the rod, MPa: where it shares with parts only its share."""
        corners = self._corners_mm
        least = np.minimum(self._rigidity(corners - HAIR_MM), self._rigidity(corners + HAIR_MM))
        share = self.case.figures.bending_nmm2 / least
        at = _worst((self._moments_nmm * share[:, None]).max(axis=0))
        return ShaftExtreme(at.value / self.case.figures.section.modulus_mm3, at.own_deg)

    def _rigidity(self, z_mm: Reals) -> Reals:
        """Return the rigidity E I at places (m,), N mm²."""
        stretches = self.loaded.beam.stretches
        starts = np.array([one.start_mm for one in stretches[1:]])
        return np.array([one.bending_nmm2 for one in stretches])[np.searchsorted(starts, z_mm, "right")]

    @property
    def allowed_mpa(self) -> float | None:
        """Return the stress that the rod may have, MPa; None where its yield strength is not known."""
        strength = self.case.figures.yield_mpa
        return None if strength is None else strength / STRESS_RESERVE

    @cached_property
    def reaction_sizes_n(self) -> Reals:
        """Return the sizes of the bearings' reactions, (b, n) N, from the bottom up."""
        own = self.loaded.reactions_n
        sizes = np.hypot(own[:, 0], own[:, 1])
        if not self._has_tooth:
            return np.asarray(sizes)
        return np.asarray(sizes + np.abs(self._tooth(self.loaded).reactions_n[:, 0]) * self.tooth_n)

    @cached_property
    def reactions_n(self) -> tuple[ShaftExtreme, ...]:
        """Return the greatest reaction of each bearing, N, from the bottom up."""
        return tuple(_worst(row) for row in self.reaction_sizes_n)

    @cached_property
    def friction_nm(self) -> Reals:
        """Return the friction torque of the bearings at the stack, (n,) N·m."""
        sizes = self.reaction_sizes_n
        along = np.stack([sizes, np.zeros_like(sizes)], axis=1)
        return bearing_torque_nm(along, self.case.figures.nominal_mm, BEARING_FRICTION[self.case.rod.bearing])

    @property
    def peak_friction_nm(self) -> ShaftExtreme:
        """Return the greatest friction torque of the bearings, N·m."""
        return _worst(self.friction_nm)


def _worst(values: Reals) -> ShaftExtreme:
    """Return the greatest of (n,) values, each in its unit, and its angle."""
    at = int(np.argmax(values))
    return ShaftExtreme(float(values[at]), float(OWN_DEG[at]))


def _worst_signed(values: Reals) -> ShaftExtreme:
    """Return the value of the greatest size of (n,) and its angle."""
    at = int(np.argmax(np.abs(values)))
    return ShaftExtreme(float(values[at]), float(OWN_DEG[at]))
