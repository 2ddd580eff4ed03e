"""The loads of a lane on a stepped stack: its motion composed with that of the stage.

Angles are of the circle of the lane's round, where contact, inertia and torque depend on how far the stage
has turned the stack: geometry is that of the stack's own angle, velocity and acceleration are those by the
circle. Torque is that at a shaft that turns once in the round: by virtual work, the torque at the stack times
the ratio of the stage there. Figures are looked for on places of every step, ever nearer to the worst one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from math import pi, sqrt

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.judge.loads.cases import CONTACT, TORQUE, LoadCase
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.forces import Forces
from shaftscore.judge.loads.lane import GRID, LaneLoads, described_loads, squared_limit
from shaftscore.kinematics.course import chained
from shaftscore.kinematics.followers import Reals
from shaftscore.model import Project
from shaftscore.solution import LaneSolution
from shaftscore.solution.cycles import step_places

ROUNDS = 4
"""How often the neighbourhood of the worst place is divided."""

PARTS = 16
"""Parts to each side into which it is divided in each round."""

STILL = 1e-9
"""Ratios of the stage under this are rest."""


@dataclass(frozen=True, eq=False)
class SteppedForces(Forces):
    """Forces at n angles of the circle of a round; see `Forces`.

    course: (4, n) the stack's angle and its derivatives by the circle's. omega: of the circle, rad/s.
    """

    course: Reals = field(default_factory=lambda: np.zeros((4, 0)))

    @cached_property
    def _carried(self) -> tuple[Reals, Reals]:
        """Return what the load reads with derivatives by the circle, (4, n), and the ratio to the roller."""
        own, ratio = self.carried_by_stack
        return chained(own, self.course), ratio

    @cached_property
    def torque_nm(self) -> Reals:
        """Torque at a shaft that turns once in the round, (n,) N·m; inf where the guide locks in a step."""
        with np.errstate(invalid="ignore"):
            found = self.stack_torque_nm * self.course[1]
        return np.where(np.abs(self.course[1]) < STILL, 0.0, found)


def stepped_loads(project: Project, lanes: Iterable[LaneSolution]) -> dict[str, SteppedLoads]:
    """Return the loads of those of some lanes that are on stepped stacks and have a load, by id."""
    stepped = [solved for solved in lanes if solved.course.is_stepped]
    described = {solved.lane.id: described_loads(project, solved) for solved in stepped}
    return {lane_id: SteppedLoads(loads) for lane_id, loads in described.items() if loads is not None}


@dataclass(frozen=True, eq=False)
class SteppedLoads:
    """Loads of a lane on a stepped stack; lane: its records and materials, as for any lane."""

    lane: LaneLoads

    @property
    def solved(self) -> LaneSolution:
        """The lane, solved."""
        return self.lane.solved

    def forces(self, circle_deg: Reals, speed_rpm: float, case: LoadCase = CONTACT) -> SteppedForces:
        """Return the forces at angles of the circle, (n,) degrees, at a speed of the master, rev/min."""
        lane, course = self.lane, self.solved.course.own(circle_deg)
        own = wrap(course[0])
        at, output = lane.profile.at(own), lane.profile.motion.at(own)
        direction = np.sign(at.lift[1]) * (course[1] > STILL)
        omega = 2 * pi * speed_rpm / 60 / float(self.solved.course.cycles)
        return SteppedForces(lane.solved.lane, lane.load, at, output, direction, omega, case, course)

    def torque_at(self, circle_deg: Reals, speed_rpm: float | None = None) -> Reals:
        """Return the most torque at a shaft that turns once in the round, (n,) N·m, at its angles (n,)."""
        speed = self.lane.speed_rpm if speed_rpm is None else speed_rpm
        return self.forces(np.asarray(circle_deg), speed, TORQUE).torque_nm

    @cached_property
    def drawn_torque_nm(self) -> Reals:
        """The same over `GRID` as angles of the circle, (n,) N·m."""
        return self.torque_at(GRID)

    @cached_property
    def places_deg(self) -> Reals:
        """Angles of the circle at which figures are looked for: in every step and rest, (n,) degrees."""
        return step_places(self.solved)

    def _least(self, figure: Callable[[Reals], Reals]) -> Extreme:
        """Return the least value of a figure over the round and the circle's angle there, degrees."""
        places = self.places_deg
        values = figure(places)
        width = float(np.median(np.diff(np.sort(places)))) * 2
        for _ in range(ROUNDS):
            at = int(np.nanargmin(values))
            near = places[at] + np.linspace(-width, width, 2 * PARTS + 1)
            places, values = np.append(places, near), np.append(values, figure(near))
            width /= PARTS / 2
        at = int(np.nanargmin(values))
        return Extreme(float(values[at]), float(wrap(places[at])))

    @cached_property
    def float_speed(self) -> Extreme | None:
        """Highest speed of the master at which contact holds, rev/min, and where it is lost first.

        None where no speed loses it; 0 where the spring does not even hold at rest.
        """
        if self.lane.is_groove:
            return None
        squared = self._least(lambda circle: squared_limit(self.forces(circle, self.lane.top_rpm)))
        if not np.isfinite(squared.value):
            return None
        by_rpm = 2 * pi / 60 / float(self.solved.course.cycles)
        return Extreme(sqrt(max(squared.value, 0.0)) / by_rpm, squared.theta_deg)

    @cached_property
    def least_contact(self) -> Extreme:
        """Least contact force at the highest speed, N; 0 or less means that contact is lost."""
        return self._least(lambda circle: self.forces(circle, self.lane.top_rpm).contact_n)

    @cached_property
    def peak_torque(self) -> Extreme:
        """Greatest torque at a shaft that turns once in the round, N·m."""
        least = self._least(lambda circle: -self.torque_at(circle))
        return Extreme(-least.value, least.theta_deg)

    @cached_property
    def peak_pressure(self) -> Extreme:
        """Greatest line contact pressure at the highest speed, MPa."""
        case = self.lane.most_contact_case
        least = self._least(lambda at: -self.lane.pressure(self.forces(at, self.lane.top_rpm, case)))
        return Extreme(-least.value, least.theta_deg)

    @property
    def joints_deg(self) -> Reals:
        """Angles of the circle between which it moves smoothly, and that of its peak, (n,)."""
        course = self.solved.course
        rests = np.arange(0.0, TURN * course.turns, course.step_deg)
        return wrap(np.concatenate([course.first(rests), course.last(rests), [self.peak_torque.theta_deg]]))
