"""Followers as plain bodies, for pictures: upright prisms that stand where a lane's program puts them.

Machine frame: axis at the origin, reference line along +x, seen from the top of the stack, complex points
x + iy, mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.followers import SwingingRollerModel, lift_of
from shaftscore.model import Lane, Project, Stack, SwingingRoller, TranslatingFlat
from shaftscore.solution import LaneSolution
from shaftscore.stack.paths import circle
from shaftscore.stack.plan import Layer

Points = npt.NDArray[np.complex128]
"""Corners of a contour, counterclockwise, mm."""

CHORD_MM = 0.05
"""Largest distance between a curve and the polygon that is drawn."""

BAR_MM = 32.0
"""Length to which the bar of a follower that moves straight is drawn; it goes on to what it moves."""

BAR_SHARE = 0.25
"""Share of the follower's height that its bar takes, at the top, so that the roller can be seen."""

FLOOR_GAP_MM = 0.3
"""By which a roller is drawn to end above the floor of its groove."""

FACE_MM = 3.0
"""Depth to which a flat face is drawn."""


@dataclass(frozen=True)
class Heights:
    """Between which heights a follower's body lies, mm; roller_mm: where its roller begins below it."""

    bottom_mm: float
    top_mm: float
    roller_mm: float


def follower_heights(project: Project, stack: Stack, lane: Lane, layer: Layer) -> Heights:
    """Return the heights of a lane's follower: about its disc's middle, or above a groove with its roller.

    layer: of the disc that it runs on.
    """
    height = stack.follower_height_mm or layer.top_mm - layer.bottom_mm
    if lane.follower.closure != "groove":
        bottom = layer.middle_mm - height / 2
        return Heights(bottom, bottom + height, bottom)
    floor = layer.top_mm - project.lane(lane.disc_of or lane.id).disc.groove_depth_mm
    return Heights(layer.top_mm, layer.top_mm + height, min(layer.top_mm, floor + FLOOR_GAP_MM))


@dataclass(frozen=True)
class Pose:
    """How a follower stands: a point of it, mm, and the direction of its bar, of length 1."""

    at: complex
    turn: complex


def follower_pose(lane: LaneSolution, own_deg: float) -> Pose:
    """Return how a follower stands at an angle of its own stack; its lane must have a profile and a motion.

    An arm stands at its pivot, any other follower at its roller's centre.
    """
    assert lane.profile is not None
    model = lane.profile.model
    station, centre = _centre(lane, own_deg)
    if isinstance(model, SwingingRollerModel):
        pivot = model.pivot * station
        return Pose(pivot, (pivot - centre) / abs(pivot - centre))
    return Pose(centre, station)


def _centre(lane: LaneSolution, own_deg: float) -> tuple[complex, complex]:
    """Return the direction of a lane's station, and where the centre of its roller stands."""
    assert lane.profile is not None
    assert lane.motion is not None
    lift = lift_of(lane.profile.follower, lane.motion.at(np.array([own_deg])))[0]
    station = complex(np.exp(1j * np.radians(lane.lane.station_deg)))
    return station, complex(lane.profile.model.centre(lift)[0][0]) * station


def follower_outlines(
    lane: LaneSolution, own_deg: float, heights: Heights
) -> Iterator[tuple[str, Points, float, float]]:
    """Yield the parts of a follower: kind (roller, bar or rod), contour, bottom and top, mm.

    own_deg: angle of the lane's own stack. The lane must have a profile and a motion.
    """
    assert lane.profile is not None
    model, follower = lane.profile.model, lane.profile.follower
    bottom, top = heights.bottom_mm, heights.top_mm
    station, centre = _centre(lane, own_deg)
    along, length, half = station, BAR_MM, model.roller_radius_mm
    if isinstance(model, SwingingRollerModel):
        pivot = model.pivot * station
        along, length = (pivot - centre) / abs(pivot - centre), abs(pivot - centre)
        assert isinstance(follower, SwingingRoller)
        yield "rod", _round(pivot, follower.pivot_rod_mm / 2), bottom, top
    if isinstance(follower, TranslatingFlat):
        half = follower.face_width_mm / 2
        yield "roller", _box(centre, along, FACE_MM, half), bottom, top
    elif model.roller_radius_mm > 0:
        yield "roller", _round(centre, model.roller_radius_mm), heights.roller_mm, top
    wide = follower.body_width_mm / 2 if follower.body_width_mm else max(half / 2, 1.0)
    yield "bar", _box(centre, along, length, wide), top - BAR_SHARE * (top - bottom), top + 0.02


def _round(centre: complex, radius_mm: float) -> Points:
    return centre + np.asarray(circle(radius_mm).flattened(CHORD_MM) @ np.array([1, 1j]))


def _box(start: complex, along: complex, length: float, half: float) -> Points:
    across = 1j * along * half
    far = start + along * length
    return np.array([start - across, far - across, far + across, start + across])
