"""The forces between a disc and its follower, and the torque that they ask of the stack.

Terms: the *driving force* F acts along the travel at the roller and carries the load: spring, friction,
external force and inertia. The *contact force* N acts along the contact normal, at the pressure angle α
to the travel. The *guide factor* μ (1 + 2A/B) is the friction that N sin α causes in a guide of length B
with the overhang A.

Formulas: F = preload + rate x lift + external + m a + friction sign(v), the sign 0 in a dwell;
N = F / (cos α - sign(v) μ (1 + 2A/B) sin |α|), and in a groove, which drives both ways,
N = |F| / (cos α - sign(F) sign(v) μ (1 + 2A/B) sin |α|); T = sign(F) N cos α s' + μc N r.
Source: H. A. Rothbart (ed.), Cam Design Handbook, McGraw-Hill 2004, eq. 6.4 to 6.6 (guide); the torque is
the power balance T ω = N cos α v with the contact friction at the radius r of the contact.

Signs: T is positive where the motor drives, negative where springs drive the shaft. Angles are of the
lane's own stack, derivatives by radian of its turn. Forces N, lengths mm, torques N·m.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import pi

import numpy as np

from shaftscore.built.reserve import ReturnForces, return_forces
from shaftscore.judge.loads.cases import CONTACT, LoadCase
from shaftscore.kinematics.followers import Reals, lift_of
from shaftscore.kinematics.profiles import Kinematics
from shaftscore.kinematics.profiles.pieces import Flags
from shaftscore.model import Follower, Lane, Load, TranslatingFlat, TranslatingRoller
from shaftscore.model.driven import driven_follower

ROLLER_FRICTION = 0.05
"""Contact friction of a roller where none is given (the file format's default)."""

FLAT_FRICTION = 0.25
"""Contact friction of a flat face where none is given (the file format's default)."""


def contact_friction(follower: Follower) -> float:
    """Return the contact's friction coefficient."""
    if follower.contact_friction is not None:
        return follower.contact_friction
    return FLAT_FRICTION if isinstance(follower, TranslatingFlat) else ROLLER_FRICTION


def guide_factor(follower: Follower) -> float:
    """Return μ (1 + 2A/B) of a follower's guide; 0 without one."""
    if not isinstance(follower, TranslatingRoller) or follower.guide_length_mm is None:
        return 0.0
    return follower.guide_friction * (1 + 2 * (follower.overhang_mm or 0.0) / follower.guide_length_mm)


def angular_speed(speed_rpm: float, turns: float) -> float:
    """Return the speed of a stack that turns `turns` times a cycle, rad/s; speed_rpm: of the master."""
    return 2 * pi * speed_rpm * turns / 60


def output_ratio(follower: Follower, output_mm: Reals) -> Reals:
    """Return output mm per roller mm at outputs (n,); inf where a linkage stands still at its roller."""
    zeros, ones = np.zeros_like(output_mm), np.ones_like(output_mm)
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / lift_of(follower, np.stack([output_mm, ones, zeros, zeros]))[1])


def _brought(force: Reals, ratio: Reals) -> Reals:
    """Return forces at the roller, (n,): no force stays none, also where a linkage's ratio is infinite."""
    return np.asarray(np.where(force == 0, 0.0, force) * np.where(force == 0, 1.0, ratio))


@dataclass(frozen=True, eq=False)
class Forces:
    """Forces at n angles of a lane's stack; see the module's text.

    lane: with a load. at: the contact's kinematics. output: (4, n) output and derivatives by radian.
    direction: (n,) sign of the velocity: +1 rising, -1 falling, 0 in a dwell. omega: speed of the stack,
    rad/s. case: which friction and which spring count.
    """

    lane: Lane
    load: Load
    at: Kinematics
    output: Reals
    direction: Reals
    omega: float
    case: LoadCase = CONTACT

    @cached_property
    def _carried(self) -> tuple[Reals, Reals]:
        """Return what the load reads with its derivatives, (4, n), and the ratio to the roller."""
        return self.carried_by_stack

    @property
    def carried_by_stack(self) -> tuple[Reals, Reals]:
        """What the load reads, (4, n) mm by radian of the stack, and the ratio to the roller, (n,)."""
        if self.load.at == "roller":
            return self.at.lift, np.ones_like(self.at.lift[0])
        return self.output, output_ratio(driven_follower(self.lane), self.output[0])

    @cached_property
    def steady_n(self) -> Reals:
        """Driving force at rest speed: spring, external force and friction, N."""
        load, (carried, ratio) = self.load, self._carried
        spring = load.spring_force.at(carried[0], self.case.spring)
        return _brought(spring + load.external_n + self.case.friction_n(load, self.direction), ratio)

    @cached_property
    def inertia_n_s2(self) -> Reals:
        """Driving force of inertia by the square of the stack's speed, N s²/rad²."""
        carried, ratio = self._carried
        return _brought(self.load.moving_mass_g * 1e-6 * carried[2], ratio)

    @cached_property
    def driving_n(self) -> Reals:
        """Driving force F along the travel, N; nan where a linkage makes both of its parts infinite."""
        with np.errstate(invalid="ignore"):
            return np.asarray(self.steady_n + self.inertia_n_s2 * self.omega**2)

    @property
    def release_mm_s2(self) -> Reals:
        """Acceleration of the output at which the driving force is 0, mm/s²; -inf without a mass.

        The load's acceleration is then -(spring + external + friction) / mass. Where it is taken at the
        roller, the output's is that by the ratio, and what a linkage adds by its velocity.
        """
        mass = self.load.moving_mass_g * 1e-6
        if mass == 0:
            return np.full_like(self.steady_n, -np.inf)
        free = -self.steady_n / (mass * self._carried[1])
        if self.load.at == "output":
            return np.asarray(free)
        ratio = output_ratio(driven_follower(self.lane), self.output[0])
        return np.asarray(free * ratio + (self.output[2] - ratio * self.at.lift[2]) * self.omega**2)

    @cached_property
    def _pull(self) -> Reals:
        """Which way the contact pushes: +1 outward; a groove also inward, -1."""
        if self.lane.follower.closure == "groove":
            return np.where(self.driving_n < 0, -1.0, 1.0)
        return np.ones(len(self.direction))

    @cached_property
    def grip(self) -> Reals:
        """What divides F into N; not positive where the guide's friction locks the follower."""
        alpha = np.radians(self.at.pressure_deg)
        lean = self._pull * self.direction * guide_factor(self.lane.follower)
        return np.asarray(np.cos(alpha) - lean * np.abs(np.sin(alpha)))

    @cached_property
    def contact_n(self) -> Reals:
        """Contact force N along the normal, N; 0 or less: contact is lost; inf: the follower is locked."""
        force = self._pull * self.driving_n
        free = self.grip > 0
        return np.where(free, force / np.where(free, self.grip, 1.0), np.inf)

    @cached_property
    def torque_nm(self) -> Reals:
        """Torque at the lane's own stack, N·m; nothing where contact is lost, inf where the guide locks."""
        return self.stack_torque_nm

    @property
    def stack_torque_nm(self) -> Reals:
        """The same, whatever turns the stack, (n,) N·m."""
        alpha, locked = np.radians(self.at.pressure_deg), np.isinf(self.contact_n)
        normal = np.where(locked, 0.0, np.maximum(self.contact_n, 0.0))
        rubbing = contact_friction(self.lane.follower) * normal * np.abs(self.at.profile)
        driving = self._pull * normal * np.cos(alpha) * self.at.lift[1]
        return np.asarray(np.where(locked, np.inf, (driving + rubbing) / 1000))

    @cached_property
    def relative_curvature(self) -> Reals:
        """Sum of the curvatures of roller and disc, 1/mm; inf for a knife edge."""
        roller = self.at.model.roller_radius_mm
        if self.at.model.is_flat:
            return self.at.curvature
        with np.errstate(divide="ignore"):
            own = np.float64(1.0) / np.float64(roller)
        inner = self.at.curvature + own
        outer = -self.at.pitch_curvature / (1 + roller * self.at.pitch_curvature) + own
        return np.asarray(np.where(self._pull > 0, inner, outer))

    @property
    def steady_n_per_preload(self) -> Reals:
        """Driving force by newton of spring preload: 1 at the roller, the ratio at the output."""
        return self._carried[1]

    def returning(self, falls_freely: Flags | None = None) -> ReturnForces:
        """Return what brings the follower back and what holds it up, at the place where the load acts, N.

        With the spring and the friction on falls of the case, at rest. falls_freely: (n,) where the disc
        leaves the follower to its fall, so that its inertia requires nothing; None where it never does.
        """
        load, lift = self.load, self._carried[0]
        metres = lift[2] * self.omega**2 / 1000
        return return_forces(
            load.spring_force.at(lift[0], self.case.spring),
            load.external_n,
            -self.case.friction_n(load, np.full_like(lift[0], -1.0)),
            static_ratio=load.static_ratio,
            mass_kg=load.moving_mass_g / 1000,
            acceleration_m_s2=metres if falls_freely is None else np.where(falls_freely, 0.0, metres),
        )

    @property
    def carried_mm(self) -> Reals:
        """How far the spring is drawn out from the lowest place: lift of the roller, or the output, mm."""
        return np.asarray(self._carried[0][0])
