"""The reserve of a lane's spring over friction: whether its follower comes down with the disc.

Judged on falls and where the follower comes to rest after one, at the highest speed. *Available* is the
spring and the external force towards the disc, *required* friction at rest and inertia that acts against the
fall; a follower *sticks* where available is not more than required (`shaftscore.built.reserve`). On a drop
the disc leaves the follower to its own fall, so that inertia requires nothing. Angles are of the lane's
stack, forces at the place where the load acts.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.base.angles import Arcs, wrap
from shaftscore.base.tolerance import under
from shaftscore.built.reserve import ReturnForces
from shaftscore.judge.loads.cases import CONTACT, LEAST_CONTACT, LoadCase
from shaftscore.judge.loads.extreme import Extreme, least
from shaftscore.judge.loads.forces import Forces
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles import Profile
from shaftscore.kinematics.profiles.pieces import Flags
from shaftscore.kinematics.profiles.stretches import OverLimit, over_limit, stretches_over

AMPLE = 1.1
"""Forces at the nodes of a motion that exceed what is needed by this factor do so between them, too."""


@dataclass(frozen=True, eq=False)
class SpringReserve:
    """The reserve over the turn; see the module's text.

    required: reserve that is required, a factor. at_nodes: forces at the motion's nodes in a case. inside:
    forces at angles (n,) within its pieces, degrees counted as the nodes' are, in a case.
    """

    profile: Profile
    required: float
    at_nodes: Callable[[LoadCase], Forces]
    inside: Callable[[Reals, LoadCase], Forces]

    @cached_property
    def applies(self) -> bool:
        """Whether the follower falls anywhere."""
        return bool(np.any(self._returns))

    @cached_property
    def least(self) -> Extreme | None:
        """The least reserve with the most friction and the spring as stated; None where nothing holds it."""
        return least(
            self.profile.nodes,
            np.where(self._returns, self._node_forces(CONTACT).reserve, np.nan),
            self._where(lambda forces: forces.reserve, CONTACT, np.nan),
        )

    @cached_property
    def least_spare(self) -> Extreme | None:
        """The least spare of the weakest spring over the most friction, N; 0 or less: it may stick."""
        return least(
            self.profile.nodes,
            np.where(self._returns, _spare(self._node_forces(LEAST_CONTACT)), np.nan),
            self._where(_spare, LEAST_CONTACT, np.nan),
        )

    @cached_property
    def sticks(self) -> Arcs:
        """Where the follower sticks with the most friction and the spring as stated."""
        worst = self.least
        if worst is None or worst.value > 1:  # available over required: at 1 it sticks
            return Arcs.empty()
        excess, figure = self._excess(lambda forces: -_spare(forces), CONTACT)
        found = stretches_over(self.profile.nodes, excess, figure, worst.theta_deg)
        return Arcs.span(wrap(worst.theta_deg), 0.0) if found.is_empty else found

    @cached_property
    def is_weak(self) -> bool:
        """Whether it sticks, the weakest spring does, or the reserve is less than required."""
        if self._is_ample:
            return False
        worst, spare = self.least, self.least_spare
        sticks = worst is not None and worst.value <= 1
        short = worst is not None and under(worst.value, self.required, self.required)
        return sticks or short or (spare is not None and spare.value <= 0)

    @property
    def _is_ample(self) -> bool:
        """Whether the nodes alone say that the spring is far from weak, not only there."""
        held, weak = self._node_forces(CONTACT), self._node_forces(LEAST_CONTACT)
        most = AMPLE * held.required_n
        enough = (held.available_n > self.required * most) & (weak.available_n > most)
        return bool(np.all(enough | ~self._returns))

    @property
    def needs(self) -> tuple[Reals, Reals]:
        """What holds the follower up with the most friction, N, and the spring's travel, mm, (k,) each.

        At the nodes at which the follower returns.
        """
        held = self._node_forces(CONTACT)
        return held.required_n[self._returns], self.at_nodes(CONTACT).carried_mm[self._returns]

    def returning_at(self, theta_deg: float, case: LoadCase) -> ReturnForces:
        """Return what brings the follower back at one angle of the pieces, degrees, in a case; arrays ()."""
        theta = np.array([theta_deg])
        there = self.inside(theta, case).returning(self.free_at(theta))
        return ReturnForces(there.available_n[0], there.required_n[0])

    def short_of(self, short: Callable[[ReturnForces], Reals], case: LoadCase, worst_deg: float) -> OverLimit:
        """Return the stretch about the worst place in which a figure of the forces is 0 or more, and others.

        In a case. worst_deg: a place where it is, degrees.
        """
        return over_limit(self.profile.nodes, *self._excess(short, case), worst_deg)

    def returns_at(self, theta_deg: Reals, direction: Reals) -> Flags:
        """Return whether the follower falls, or rests after a fall, at angles (n,) degrees.

        direction: (n,) +1 where it rises, -1 where it falls, 0 in a dwell.
        """
        return np.asarray((direction < 0) | self._rests[self.profile.nodes.pieces_at(theta_deg)])

    def free_at(self, theta_deg: Reals) -> Flags:
        """Return whether the disc leaves the follower to its fall, at angles (n,) degrees."""
        return np.asarray(self._free[self.profile.nodes.pieces_at(theta_deg)])

    def reserve_at(self, theta_deg: Reals, case: LoadCase) -> Reals:
        """Return the reserve in a case at angles (n,) of the stack, degrees; nan where nothing returns."""
        first = self.profile.nodes.theta_deg[0]
        own = np.asarray(first + wrap(theta_deg - first))
        return self._where(lambda forces: forces.reserve, case, np.nan)(own)

    # Inside

    def _excess(
        self, short: Callable[[ReturnForces], Reals], case: LoadCase
    ) -> tuple[Reals, Callable[[Reals], Reals]]:
        """Return a figure of the forces in a case at the nodes, (m,), and at any angles, for `over_limit`."""
        at_nodes = np.where(self._returns, short(self._node_forces(case)), -1.0)
        return at_nodes, self._where(short, case, -1.0)

    def _where(
        self, figure: Callable[[ReturnForces], Reals], case: LoadCase, elsewhere: float
    ) -> Callable[[Reals], Reals]:
        """Make a figure of angles that is `elsewhere` where the follower does not return."""

        def read(theta_deg: Reals) -> Reals:
            forces = self.inside(theta_deg, case)
            values = figure(forces.returning(self.free_at(theta_deg)))
            return np.where(self.returns_at(theta_deg, forces.direction), values, elsewhere)

        return read

    def _node_forces(self, case: LoadCase) -> ReturnForces:
        return self.at_nodes(case).returning(self._free[self.profile.nodes.piece])

    @cached_property
    def _returns(self) -> Flags:
        nodes = self.profile.nodes
        return np.asarray((nodes.rise < 0) | self._rests[nodes.piece])

    @cached_property
    def _free(self) -> Flags:
        """Whether the disc leaves the follower to its fall, by piece."""
        return ~self.profile.nodes.table.judged

    @cached_property
    def _rests(self) -> Flags:
        """Whether the follower rests after a fall, by piece."""
        segments = self.profile.motion.segments
        resting = [False] * len(segments)
        falls = False
        for number in (*range(len(segments)), *range(len(segments))):  # twice: the turn has no first one
            segment = segments[number]
            if segment.curve is None:
                resting[number] = falls
            else:
                falls = segment.rise_mm < 0
        return np.array(resting)[self.profile.nodes.table.segment]


def _spare(forces: ReturnForces) -> Reals:
    return np.asarray(forces.available_n - forces.required_n)
