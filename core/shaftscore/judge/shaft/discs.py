"""Contact forces on the discs of a stack over one turn of it, in the machine's frame.

Frame: plan view from the top, complex points x + iy, the axis at the origin, the reference line along +x.
A roller pushes its disc along the contact normal, against it where its spring presses and along it where a
groove pulls; the friction across the normal (5 % for a roller) is left out. Forces are those at the
highest speed, angles are of the stack.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.judge.loads import LaneLoads
from shaftscore.judge.loads.lane import GRID, GRID_DEG
from shaftscore.kinematics.followers import Points, Reals
from shaftscore.kinematics.profiles import Kinematics

OWN_DEG = GRID
"""Angles at which a shaft is judged, (n,) degrees of its stack. `GRID` itself is of the master shaft: a
stack of k turns is read there at every k-th of them."""


def index_at(own_deg: float) -> int:
    """Return the number of the angle nearest to one of the stack, degrees."""
    return round(own_deg / GRID_DEG) % len(OWN_DEG)


@dataclass(frozen=True, eq=False)
class ContactForces:
    """What one lane's follower does to its disc at the angles `OWN_DEG`.

    disc_id: lane whose disc it runs on. normal: (n,) unit vectors from disc to roller, machine frame.
    cos_alpha: (n,) of the pressure angle. push_n: (n,) force of the roller against the normal, N, negative
    where a groove pulls, inf where the guide locks. own_torque_nm: (n,) that its disc takes.
    """

    lane_id: str
    disc_id: str
    loads: LaneLoads
    normal: Points
    cos_alpha: Reals
    push_n: Reals
    own_torque_nm: Reals

    @cached_property
    def force_n(self) -> Reals:
        """Return the force on the disc, (2, n) N along x and y."""
        vector = -self.push_n * self.normal
        return np.stack([vector.real, vector.imag])

    @cached_property
    def normal_xy(self) -> Reals:
        """Return the normal as (2, n)."""
        return np.stack([self.normal.real, self.normal.imag])

    @property
    def locks(self) -> bool:
        """Whether the guide's friction locks the follower somewhere, so that no force can be computed."""
        return not bool(np.all(np.isfinite(self.push_n)))


def contact_forces(loads: LaneLoads) -> ContactForces:
    """Compute the force of a lane's follower on its disc over a turn of its stack.

    At the highest speed, with the friction and the spring that press most.
    """
    lane = loads.solved.lane
    forces = loads.forces(OWN_DEG, loads.top_rpm, case=loads.most_contact_case)
    pressed = np.maximum(forces.contact_n, 0.0)
    pulls = (lane.follower.closure == "groove") & (forces.driving_n < 0)
    return ContactForces(
        lane_id=lane.id,
        disc_id=lane.disc_of or lane.id,
        loads=loads,
        normal=machine_normal(forces.at),
        cos_alpha=np.cos(np.radians(forces.at.pressure_deg)),
        push_n=np.where(pulls, -pressed, pressed),
        own_torque_nm=forces.torque_nm,
    )


def machine_normal(at: Kinematics) -> Points:
    """Compute the contact normals of a disc in the machine's frame, (n,): out of its own, turned with it."""
    turned = at.placement.direction * np.radians(at.theta_deg + at.placement.offset_deg)
    return np.asarray(at.normal * np.exp(1j * turned))
