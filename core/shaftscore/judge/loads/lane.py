"""The loads of one lane over its turn, and the figures that they are judged by.

Torque is taken at the machine's nominal speed; contact force, float and contact stress at the highest
speed at which the machine must still work. Each figure takes the ends of the load's ranges that are worst
for it (`judge.loads.cases`). Figures are extremes over the smooth pieces of the motion
(`judge.loads.extreme`); they are computed when first read and kept. Angles are of the lane's stack.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import sqrt

import numpy as np

from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.judge.loads.cases import CONTACT, MOST_CONTACT, OVERRUN, TORQUE, LoadCase
from shaftscore.judge.loads.contact import effective_modulus_mpa, line_pressure_mpa
from shaftscore.judge.loads.course import even_speed, geared_at, own_speed
from shaftscore.judge.loads.extreme import Extreme, greatest, least
from shaftscore.judge.loads.forces import Forces
from shaftscore.judge.loads.reserve import SpringReserve
from shaftscore.judge.loads.sampled import ForceLimits, force_limits
from shaftscore.kinematics.followers import Reals, lift_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Kinematics, Profile
from shaftscore.kinematics.profiles.pieces import Side
from shaftscore.kinematics.profiles.places import surely_under
from shaftscore.kinematics.profiles.stretches import OverLimit, over_limit
from shaftscore.model import Load, Material, Project
from shaftscore.model.materials import materials_of
from shaftscore.solution import LaneSolution
from shaftscore.solution.incremental import Reads
from shaftscore.stack.followers import contact_width_mm

GRID_DEG = 0.1
"""Spacing of drawn curves, degrees of the master shaft."""

GRID = np.arange(0.0, TURN, GRID_DEG)
"""Master angles of drawn curves, degrees."""
GRID.setflags(write=False)


@dataclass(frozen=True, eq=False)
class LaneLoads:
    """Loads of a lane that has a profile and a load record. Over 300 lines, since it keeps all figures.

    speed_rpm, top_rpm: of the master shaft. disc, roller: materials of both partners. force_reserve: factor
    by which the spring must exceed what holds the follower back. contact_width_mm: over which the follower
    touches the disc that it runs on.
    """

    solved: LaneSolution
    profile: Profile
    load: Load
    speed_rpm: float
    top_rpm: float
    disc: Material
    roller: Material
    force_reserve: float
    contact_width_mm: float

    @property
    def reads(self) -> Reads:
        """All that it depends on."""
        values = (self.speed_rpm, self.top_rpm, self.force_reserve, self.contact_width_mm)
        return (self.solved, self.disc, self.roller, *values)

    def on_master(self, own: Arcs) -> Arcs:
        """Return a stretch of the lane's stack as one of the master shaft, the first where it is several."""
        return self.solved.course.stretch(own.start, own.length)

    def forces(
        self, theta_deg: Reals, speed_rpm: float, side: Side = "right", case: LoadCase = CONTACT
    ) -> Forces:
        """Return the forces at angles of the stack, (n,) degrees, at a speed of the master shaft."""
        output = self.profile.motion.at(theta_deg, side)
        at = self.profile.at(theta_deg, side)
        return self._forces(at, output, np.sign(at.lift[1]), speed_rpm, case=case, theta_deg=theta_deg)

    def at_nodes(self, speed_rpm: float, case: LoadCase = CONTACT) -> Forces:
        """Return the forces at the motion's nodes (one-sided at steps) at a speed of the master shaft."""
        nodes = self.profile.nodes
        return self._forces(
            *self._node_kinematics, nodes.rise, speed_rpm, case=case, theta_deg=nodes.inside_deg
        )

    def _inside(self, theta_deg: Reals, speed_rpm: float, case: LoadCase = CONTACT) -> Forces:
        """Return the forces between nodes, (n,) degrees as theirs, moving as within the piece at its ends."""
        output = self.profile.motion.at(wrap(theta_deg))
        at = self.profile.trace(theta_deg, lift_of(self.profile.follower, output))
        direction = self.profile.nodes.rise_at(theta_deg, at.lift[1])
        return self._forces(at, output, direction, speed_rpm, case=case, theta_deg=theta_deg)

    @cached_property
    def _node_kinematics(self) -> tuple[Kinematics, Reals]:
        """The contact's kinematics at the nodes, and the output with its derivatives, (4, m)."""
        nodes = self.profile.nodes
        at = self.profile.trace(nodes.theta_deg, nodes.lift)
        return at, self.profile.motion.at(wrap(nodes.inside_deg))

    def _forces(
        self,
        at: Kinematics,
        output: Reals,
        direction: Reals,
        speed_rpm: float,
        *,
        case: LoadCase,
        theta_deg: Reals,
    ) -> Forces:
        course = self.solved.course
        omega, own = even_speed(course, speed_rpm), own_speed(course, theta_deg)
        return Forces(self.solved.lane, self.load, at, output, direction, omega, case, own)

    @cached_property
    def nominal(self) -> Forces:
        """Forces at the nodes of the motion, nominal speed, where they ask the most torque."""
        return self.at_nodes(self.speed_rpm, TORQUE)

    @cached_property
    def top(self) -> Forces:
        """Forces at the nodes of the motion, highest speed, where contact is least."""
        return self.at_nodes(self.top_rpm)

    @cached_property
    def drawn_torque_nm(self) -> Reals:
        """Most torque at the lane's own stack over `GRID`, nominal speed, (n,) N·m.

        Of a stepped stack it counts as its gearing there: none while the stage holds it.
        """
        own, gearing = geared_at(self.solved.course, GRID)
        return np.asarray(self.torque_at(own, self.speed_rpm) * gearing)

    def torque_at(self, theta_deg: Reals, speed_rpm: float, side: Side = "right") -> Reals:
        """Return the most torque, (n,) N·m, at angles of the stack, (n,) degrees; speed: of the master shaft.

        Where the follower rests it is the same at every angle and speed: nothing accelerates.
        """
        motion = self.profile.motion
        if not isinstance(motion, LaneMotion) or motion.drop_mm:
            return self.forces(theta_deg, speed_rpm, side, TORQUE).torque_nm
        rests = motion.rests_at(theta_deg, side)
        moves = np.flatnonzero(rests < 0)
        torque = self._resting_torque_nm[rests]
        if len(moves):
            torque[moves] = self.forces(theta_deg[moves], speed_rpm, side, TORQUE).torque_nm
        return torque

    @cached_property
    def _resting_torque_nm(self) -> Reals:
        """Most torque in the middle of each segment of the motion, (segments,) N·m; it counts for rests."""
        motion = self.profile.motion
        assert isinstance(motion, LaneMotion), "its rests require it"
        middle = wrap(motion.starts_deg + motion.lengths_deg / 2)
        return self.forces(middle, self.speed_rpm, case=TORQUE).torque_nm

    @cached_property
    def drawn_overrun_nm(self) -> Reals:
        """Least torque at the lane's own stack over `GRID`, nominal speed, (n,) N·m."""
        if self.load.friction_least_n == self.load.friction_most_n:
            return self.drawn_torque_nm
        own, gearing = geared_at(self.solved.course, GRID)
        return np.asarray(self.overrun_at(own) * gearing)

    def overrun_at(self, theta_deg: Reals) -> Reals:
        """Return the least torque, (n,) N·m, at angles of the stack, (n,) degrees, nominal speed."""
        return self.forces(theta_deg, self.speed_rpm, case=OVERRUN).torque_nm

    @cached_property
    def rest_torque_nm(self) -> Reals:
        """Most torque at the lane's own stack over `GRID` without inertia, as at a start, (n,) N·m."""
        own, gearing = geared_at(self.solved.course, GRID)
        return np.asarray(self.torque_at(own, 0.0) * gearing)

    @cached_property
    def reserve(self) -> SpringReserve | None:
        """The reserve of the spring over friction; None for a groove, which needs no spring."""
        if self.is_groove:
            return None
        return SpringReserve(
            self.profile,
            self.force_reserve,
            lambda case: self.top if case == CONTACT else self.at_nodes(self.top_rpm, case),
            lambda theta, case: self._inside(theta, self.top_rpm, case),
        )

    @property
    def sticks(self) -> Arcs | None:
        """Master angles at which the follower sticks on a fall; None where none falls under a spring."""
        if self.reserve is None or not self.reserve.applies:
            return None
        course, own = self.solved.course, self.reserve.sticks
        if course.is_stepped:
            parts = [course.stretch(start, length) for start, length in own.spans]
            return Arcs.of(span for part in parts for span in part.spans)
        return Arcs.of(
            ((start + TURN * repeat) / course.turns, length / course.turns)
            for start, length in own.spans
            for repeat in range(course.turns)
        )

    @cached_property
    def force_limits(self) -> ForceLimits | None:
        """What friction and spring of a built machine must satisfy; None for a groove."""
        return None if self.reserve is None else force_limits(self.reserve)

    @cached_property
    def most_travel(self) -> Extreme:
        """The greatest travel of what the spring acts on, from output 0, mm."""
        found = greatest(
            self.profile.nodes, self.top.carried_mm, lambda theta: self._inside(theta, 0.0).carried_mm
        )
        assert found is not None, "a motion has travel at every angle"
        return found

    @property
    def travel_is_under_mm(self) -> float:
        """What the travel of what the spring acts on is surely under, from output 0, mm."""
        travel = self.top.carried_mm
        return float(np.max(travel) + np.max(np.abs(np.diff(travel)), initial=0.0))

    @property
    def is_groove(self) -> bool:
        """Whether a groove holds the follower, so that contact cannot be lost."""
        return self.solved.lane.follower.closure == "groove"

    @cached_property
    def peak_torque(self) -> Extreme | None:
        """Greatest torque required of the motor at the lane's own stack, N·m."""
        return greatest(
            self.profile.nodes,
            self.nominal.torque_nm,
            lambda theta: self._inside(theta, self.speed_rpm, TORQUE).torque_nm,
        )

    @property
    def highest_deg(self) -> float:
        """The node of the motion at which the torque is greatest, degrees."""
        torque = self.nominal.torque_nm
        return float(self.profile.nodes.theta_deg[np.argmax(np.where(np.isnan(torque), -np.inf, torque))])

    @cached_property
    def least_contact(self) -> Extreme | None:
        """Least contact force at the highest speed, N; 0 or less means that contact is lost."""
        return least(
            self.profile.nodes,
            np.where(self.profile.nodes.judged, self.top.contact_n, np.nan),
            lambda theta: self._inside(theta, self.top_rpm).contact_n,
        )

    @property
    def most_contact_case(self) -> LoadCase:
        """Which friction and spring press disc and follower together most."""
        return TORQUE if self.is_groove else MOST_CONTACT  # friction presses a groove both ways

    @cached_property
    def peak_pressure(self) -> Extreme | None:
        """Greatest line contact pressure at the highest speed, MPa."""
        return greatest(
            self.profile.nodes,
            self._node_pressure,
            lambda theta: self._pressure(self._inside(theta, self.top_rpm, self.most_contact_case)),
        )

    @cached_property
    def _node_pressure(self) -> Reals:
        """Line contact pressure at the nodes at the highest speed, (m,) MPa."""
        return self._pressure(self.at_nodes(self.top_rpm, self.most_contact_case))

    @property
    def is_surely_sound(self) -> bool:
        """Whether the pressure is plainly under what the materials withstand; False says nothing."""
        return surely_under(self.profile.nodes, self._node_pressure, self.allowed_mpa)

    def _pressure(self, forces: Forces) -> Reals:
        modulus = effective_modulus_mpa(self.disc, self.roller)
        by_length = forces.contact_n / self.contact_width_mm if self.contact_width_mm > 0 else np.nan
        return line_pressure_mpa(np.asarray(by_length), forces.relative_curvature, modulus)

    @property
    def allowed_mpa(self) -> float:
        """Contact pressure that the weaker of both materials withstands, MPa."""
        return min(self.disc.contact_mpa, self.roller.contact_mpa)

    @cached_property
    def float_speed(self) -> Extreme | None:
        """Highest speed of the master shaft at which contact holds, rev/min, and where it is lost first.

        None where no speed loses it (a groove, or no mass); 0 where the spring does not even hold at rest.
        """
        if self.is_groove:
            return None
        squared = least(
            self.profile.nodes,
            np.where(self.profile.nodes.judged, _squared_limit(self.top), np.nan),
            lambda theta: _squared_limit(self._inside(theta, self.top_rpm)),
        )
        if squared is None:
            return None
        by_rpm = even_speed(self.solved.course, 1.0)
        return Extreme(sqrt(max(squared.value, 0.0)) / by_rpm, wrap(squared.theta_deg))

    @property
    def is_surely_pressed(self) -> bool:
        """Whether contact plainly holds at the highest speed and at rest; False says nothing."""
        missing = np.where(self.profile.nodes.judged, _missing_n(self.top), np.nan)
        return self.is_groove or surely_under(self.profile.nodes, missing, 0.0)

    @cached_property
    def lost_contact(self) -> OverLimit | None:
        """Where contact is lost at the highest speed or at rest; None where no speed loses it."""
        limit, judged = self.float_speed, self.profile.nodes.judged
        if limit is None:
            return None
        return over_limit(
            self.profile.nodes,
            np.where(judged, _missing_n(self.top), np.nan),
            lambda theta: _missing_n(self._inside(theta, self.top_rpm)),
            limit.theta_deg,
        )

    @cached_property
    def wanted_preload_n(self) -> float:
        """Least spring preload with which contact holds at the highest speed, N."""
        spare = least(
            self.profile.nodes,
            np.where(self.profile.nodes.judged, _spare_n(self.top), np.nan),
            lambda theta: _spare_n(self._inside(theta, self.top_rpm)),
        )
        return 0.0 if spare is None else max(0.0, self.load.spring_force.preload_n - spare.value)

    @cached_property
    def least_grip(self) -> Extreme | None:
        """Least of what divides the driving force into the contact force; 0 or less: locked."""
        return least(
            self.profile.nodes,
            self._moving_grip,
            lambda theta: self._inside(theta, self.speed_rpm, TORQUE).grip,
        )

    @cached_property
    def _moving_grip(self) -> Reals:
        """The grip at the nodes of moves, (m,); nan in dwells."""
        return np.where(self.nominal.direction != 0, self.nominal.grip, np.nan)

    @property
    def is_surely_free(self) -> bool:
        """Whether the guide plainly never locks; False says nothing."""
        return surely_under(self.profile.nodes, -self._moving_grip, 0.0)


def _missing_n(forces: Forces) -> Reals:
    """Return by how much the driving force is under 0, at speed or at rest, N."""
    return np.asarray(-np.minimum(forces.driving_n, forces.steady_n))


def _spare_n(forces: Forces) -> Reals:
    """Return by how much less preload contact would still hold, N; negative where preload is missing.

    nan where a linkage stands still at its roller, so that no preload is felt there.
    """
    with np.errstate(invalid="ignore"):
        return np.asarray(forces.driving_n / forces.steady_n_per_preload)


def _squared_limit(forces: Forces) -> Reals:
    """Return the square of the stack's speed at which the driving force is 0, (rad/s)²; inf if none is."""
    inertia = forces.inertia_n_s2
    falling = inertia < 0
    limit = np.where(falling, forces.steady_n / np.where(falling, -inertia, 1.0), np.inf)
    return np.asarray(np.where(forces.steady_n <= 0, 0.0, limit))


def lane_loads(project: Project, solved: LaneSolution) -> LaneLoads | None:
    """Return a lane's loads, or None if it has no load record or no profile."""
    lane, shaft = solved.lane, project.shaft
    if lane.load is None or solved.profile is None:
        return None
    materials = materials_of(project)
    return LaneLoads(
        solved=solved,
        profile=solved.profile,
        load=lane.load,
        speed_rpm=shaft.speed_rpm,
        top_rpm=shaft.top_speed_rpm,
        disc=materials[project.lane(lane.disc_of or lane.id).disc.material],
        roller=materials[lane.follower.material],
        force_reserve=project.limits.force_reserve,
        contact_width_mm=contact_width_mm(project, lane),
    )
