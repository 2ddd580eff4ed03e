"""The roller or flat face of a lane as a plain body in its place, and how it runs on its disc."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.kinematics.followers import lift_of
from shaftscore.layout import Course, PlanPose
from shaftscore.make.assembly.body import SectionedBody, outline_area, prism
from shaftscore.make.assembly.meeting import Flags, Reals
from shaftscore.make.assembly.placed import PlacedBody
from shaftscore.make.assembly.rolling import InAir, RollingTask
from shaftscore.make.solids import MadePart
from shaftscore.model import Project, TranslatingFlat
from shaftscore.solution import LaneSolution
from shaftscore.stack import Layer
from shaftscore.stack.followers import contact_width_mm, roller_band
from shaftscore.stack.paths import circle

ROUND_MM = 5e-5
"""Chord error of a roller: far less than what is judged."""

FACE_MM = 3.0
"""Depth to which a flat face is modelled."""

KNIFE_MM = 0.01
"""Radius of the plain body of a knife edge: no deeper in its disc than is allowed."""

IN_AIR_MM = 1e-3
"""A follower that is farther than this over the edge is in the air."""


@dataclass(frozen=True, eq=False)
class FollowerBody:
    """A roller, a knife edge or a flat face.

    Its travel is along +x of its own frame, the middle of roller or face at the origin. bottom_mm: height of
    its lower end. course: by angles of the master shaft.
    """

    name: str
    body: SectionedBody
    bottom_mm: float
    course: Course


def follower_body(project: Project, lane: LaneSolution, layer: Layer, axis: complex) -> FollowerBody:
    """Return the follower of a lane that has a profile and a motion.

    layer: of the disc that it runs on. axis: of its stack in plan, mm.
    """
    assert lane.profile is not None
    band = roller_band(project, lane.lane, layer)
    follower, radius = lane.profile.follower, lane.profile.model.roller_radius_mm
    if isinstance(follower, TranslatingFlat):
        half = follower.face_width_mm / 2
        corners = np.array([[0.0, -half], [FACE_MM, -half], [FACE_MM, half], [0.0, half]])
    else:
        corners = circle(max(radius, KNIFE_MM)).flattened(ROUND_MM)
    kind = "face" if isinstance(follower, TranslatingFlat) else "roller" if radius > 0 else "knife edge"
    is_round = not isinstance(follower, TranslatingFlat)
    body = prism(outline_area(corners), 0.0, band.top_mm - band.bottom_mm, is_round=is_round)
    return FollowerBody(
        f"{lane.lane.code or lane.lane.label} {kind}", body, band.bottom_mm, _course(lane, axis)
    )


def _course(lane: LaneSolution, axis: complex) -> Course:
    """Return where a lane's program puts its follower."""
    profile, motion = lane.profile, lane.motion
    assert profile is not None
    assert motion is not None
    station = complex(np.exp(1j * np.radians(profile.station_deg)))

    def course(master_deg: Reals) -> PlanPose:
        """Return the pose at angles of the master shaft, degrees."""
        lift = lift_of(profile.follower, motion.at(_own_deg(lane, master_deg)))[0]
        at = axis + profile.model.centre(lift)[0] * station
        return PlanPose(at, np.asarray(profile.model.travel(lift) * station))

    return course


def _own_deg(lane: LaneSolution, master_deg: Reals) -> Reals:
    """Return the angles of a lane's own stack at angles of the master shaft, (n,) degrees."""
    return np.asarray(lane.course.own(master_deg / float(lane.course.cycles))[0])


def rolling_task(
    project: Project, lane: LaneSolution, follower: PlacedBody, disc: PlacedBody, part: MadePart
) -> RollingTask:
    """Return how a lane's follower runs on its disc; part: that the disc was made from."""
    profile = lane.profile
    assert profile is not None
    own, host = profile.follower, project.lane(lane.lane.disc_of or lane.lane.id)
    return RollingTask(
        follower=follower,
        disc=disc,
        radius_mm=None if profile.model.is_flat else profile.model.roller_radius_mm,
        running_mm=part.running_mm,
        width_mm=contact_width_mm(project, lane.lane),
        half_face_mm=own.face_width_mm / 2 if isinstance(own, TranslatingFlat) else 0.0,
        clearance_mm=host.follower.groove_clearance_mm if part.groove is not None else None,
        turned_deg=profile.direction * profile.placement.offset_deg,
        in_air=_in_air(lane),
    )


def _in_air(lane: LaneSolution) -> InAir:
    """Return a function of the angle: whether a follower falls behind the edge of its disc."""
    profile, motion = lane.profile, lane.motion
    assert profile is not None
    assert motion is not None

    def in_air(master_deg: Reals) -> Flags:
        """Return at which angles of the master shaft, degrees, it does."""
        own = _own_deg(lane, master_deg)
        lift = lift_of(profile.follower, motion.at(own))[0]
        return np.asarray(lift - profile.at(own).lift[0] > IN_AIR_MM)

    return in_air
