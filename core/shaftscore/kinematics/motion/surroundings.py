"""What a lane's motion reads beyond the lane's own record.

Most motions read nothing else. A rider reads the lane whose disc it rides on; a drop reads the speed,
because the follower falls in its own time, and the least crest radius and the disc's base radius, which
shape the edge.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base.angles import wrap
from shaftscore.model import Lane, Limits, Project


@dataclass(frozen=True)
class Surroundings:
    """What lies round a lane.

    speed_rpm: of the lane's own stack, rev/min. limits: the project's. host: the lane whose disc a
    rider rides on. later_deg: how much later than its host's a rider's program runs, own angle.
    sense: +1 where the lane's stack turns counterclockwise seen from the top, else -1. base_radius_mm,
    offset_mm: of disc and follower, where their records leave them open and they are known (see
    `shaftscore.kinematics.motion.drop`).
    """

    speed_rpm: float
    limits: Limits
    host: Lane | None = None
    later_deg: float = 0.0
    sense: int = 1
    base_radius_mm: float | None = None
    offset_mm: float = 0.0


def surroundings(project: Project, lane: Lane) -> Surroundings:
    """Gather what lies round a lane of a project. Raises KeyError if a rider's host is missing."""
    speed = project.shaft.speed_rpm * project.rate_of(lane)
    sense = sense_of(project, lane)
    if lane.kind != "rider" or lane.disc_of is None:
        return Surroundings(speed, project.limits, sense=sense)
    host = project.lane(lane.disc_of)
    later = rider_later_deg(lane, host, sense_of(project, host))
    return Surroundings(speed, project.limits, host, later, sense)


def sense_of(project: Project, lane: Lane) -> int:
    """Return d: +1 where the lane's stack turns counterclockwise seen from the top, else -1."""
    return 1 if project.turn_of(project.stack_of(lane)) == "counterclockwise" else -1


def rider_later_deg(rider: Lane, host: Lane, sense: int) -> float:
    """Degrees by which a rider's program runs later than its host's, 0 <= result < 360.

    d (psi_rider - psi_host): a place of the disc that the host's follower feels at theta comes to the
    rider that much later. sense: d (see `sense_of`).
    """
    return wrap(sense * (rider.station_deg - host.station_deg))
