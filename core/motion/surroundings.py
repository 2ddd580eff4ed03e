"""What a lane's motion reads beyond the lane's own record.

Most motions read nothing else. A rider reads the lane whose disc it rides on; a drop reads the speed,
because the follower falls in its own time, and the least crest radius, which shapes the edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.angles import wrap
from core.model import Lane, Limits, Project


@dataclass(frozen=True)
class Surroundings:
    """What lies round a lane.

    speed_rpm: of the lane's own stack, rev/min. limits: the project's. host: the lane whose disc a
    rider rides on. later_deg: how much later than its host's a rider's program runs, own angle.
    """

    speed_rpm: float
    limits: Limits
    host: Lane | None = None
    later_deg: float = 0.0


def surroundings(project: Project, lane: Lane) -> Surroundings:
    """Gather what lies round a lane of a project. Raises KeyError if a rider's host is missing."""
    speed = project.shaft.speed_rpm * project.stack_of(lane).turns
    if lane.kind != "rider" or lane.disc_of is None:
        return Surroundings(speed, project.limits)
    host = project.lane(lane.disc_of)
    turn = project.turn_of(project.stack_of(host))
    return Surroundings(speed, project.limits, host, rider_later_deg(lane, host, turn))


def rider_later_deg(rider: Lane, host: Lane, turn: str) -> float:
    """Degrees by which a rider's program runs later than its host's, 0 <= result < 360.

    d (psi_rider - psi_host), with d = +1 where the stack turns counterclockwise seen from the top: a
    place of the disc that the host's follower feels at theta comes to the rider that much later.
    """
    between = rider.station_deg - host.station_deg
    return wrap(between if turn == "counterclockwise" else -between)
