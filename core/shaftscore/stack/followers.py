"""Heights of followers, and followers as plain bodies for pictures, where a lane's program puts them.

Machine frame: axis at the origin, reference line along +x, seen from the top of the stack, complex points
x + iy, mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from shaftscore.built.bearings import BEARINGS
from shaftscore.built.heights import HeightBand
from shaftscore.kinematics.followers import SwingingRollerModel, lift_of
from shaftscore.model import Lane, Project, Stack, SwingingRoller, TranslatingFlat, TranslatingRoller
from shaftscore.solution import LaneSolution
from shaftscore.stack.paths import circle
from shaftscore.stack.plan import Layer
from shaftscore.stack.thickness import bottom_chamfer_mm, edge_chamfer_mm

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


AXLE_MM = 3.0
"""Diameter of the pin on which a roller turns that is no bearing (common practice, no source)."""

HEAD_WIDE, HEAD_HIGH = 1.9, 0.55
"""Diameter and height of a button head by its thread (ISO 7380-1: M4 7.6 and 2.2 mm; from memory)."""


FLOOR_MM = 8.0
"""How far the face that posts and guides stand on is below the lowest disc where no frame says it, mm."""

TURNING_MM = 0.1
"""Clearance to each side of a rod or screw that turns in its hole, mm (common practice, no source)."""

POST_WALL_MM = 3.0
"""Material about the rod in a lever's post, mm."""


def post_radius_mm(pivot_rod_mm: float) -> float:
    """Return the radius of the post about a pivot's rod, mm."""
    return pivot_rod_mm / 2 + TURNING_MM + POST_WALL_MM


def roller_axle_mm(follower: TranslatingRoller | SwingingRoller) -> float:
    """Return the diameter of the screw or pin on which a roller turns, mm: the bore of its bearing if any."""
    bearing = BEARINGS.get(follower.bearing or "")
    return float(min(AXLE_MM, follower.roller_radius_mm) if bearing is None else bearing.bore_mm)


NUT_HIGH = MappingProxyType({3.0: 4.0, 4.0: 5.0, 5.0: 5.0, 6.0: 6.0, 8.0: 8.0, 10.0: 10.0})
"""Height of a lock nut by its thread, mm (DIN 985; from memory)."""


@dataclass(frozen=True)
class FollowerBands:
    """The heights of the parts of a follower whose lever is described.

    roller: of the roller or the flat face. levers: of the lever or bar, two where it holds the roller on both
    sides. screw: the roller's axle with its washers, from the head of a bearing's screw to the far face of
    the lever; None without a roller. screw_radius_mm: radius of its head or washers, mm.
    """

    roller: HeightBand
    levers: tuple[HeightBand, ...]
    screw: HeightBand | None
    screw_radius_mm: float

    @property
    def whole(self) -> HeightBand:
        """All heights that the follower takes."""
        all_ = (self.roller, *self.levers, *([] if self.screw is None else [self.screw]))
        return HeightBand(min(one.bottom_mm for one in all_), max(one.top_mm for one in all_))


@dataclass(frozen=True)
class Heights:
    """Between which heights a follower's body lies, mm; roller_mm: where its roller begins below it.

    bands: of its parts, where its lever is described.
    """

    bottom_mm: float
    top_mm: float
    roller_mm: float
    bands: FollowerBands | None = None


def roller_band(project: Project, lane: Lane, layer: Layer) -> HeightBand:
    """Return the heights of a lane's roller or flat face as drawn, about the middle of its disc.

    It is as wide as stated (or as its bearing is), else as wide as the disc that it runs on. In a groove it
    ends a little above the floor, and is as high as the groove where no width is stated. layer: of the disc.
    """
    width = lane.follower.width_mm
    if lane.follower.closure == "groove":
        disc = project.lane(lane.disc_of or lane.id).disc
        bottom = min(layer.top_mm, layer.top_mm - disc.groove_depth_mm + FLOOR_GAP_MM)
        return HeightBand(bottom, layer.top_mm if width is None else bottom + width)
    half = (layer.top_mm - layer.bottom_mm if width is None else width) / 2
    return HeightBand(layer.middle_mm - half, layer.middle_mm + half)


def contact_width_mm(project: Project, lane: Lane) -> float:
    """Return the width over which a lane's follower touches the disc that it runs on, mm.

    The disc less both chamfers, the lower of which may be a foot chamfer; of a groove its depth less the
    upper chamfer and the gap over its floor; or the follower's own width where that is less. 0 where nothing
    is left.
    """
    host = project.lane(lane.disc_of or lane.id)
    chamfer = edge_chamfer_mm(host)
    running = host.disc.thickness_mm - chamfer - bottom_chamfer_mm(project.print, host)
    if host.follower.closure == "groove":
        running = host.disc.groove_depth_mm - FLOOR_GAP_MM - chamfer
    width = lane.follower.width_mm
    return max(running if width is None else min(running, width), 0.0)


def follower_bands(project: Project, lane: Lane, layer: Layer) -> FollowerBands | None:
    """Return the heights of a follower's parts; None where its lever is not described.

    The lever lies beside the roller, a washer between them, and above the disc of a groove; the bar of a
    flat face is in line with it. layer: of the disc that it runs on.
    """
    follower = lane.follower
    thick = lane.arm_thickness_mm
    if thick is None:
        return None
    roller = roller_band(project, lane, layer)
    if isinstance(follower, TranslatingFlat):
        middle = (roller.bottom_mm + roller.top_mm) / 2
        return FollowerBands(roller, (HeightBand(middle - thick / 2, middle + thick / 2),), None, 0.0)
    levers = tuple(_levers(follower, roller, layer, thick))
    if follower.roller_radius_mm == 0:
        return FollowerBands(roller, levers, None, 0.0)
    return _with_screw(follower, roller, levers, has_nut=lane.parts is not None)


def _levers(
    follower: TranslatingRoller | SwingingRoller, roller: HeightBand, layer: Layer, thick_mm: float
) -> Iterator[HeightBand]:
    """Yield the heights of the levers, the lower one first."""
    grooved = follower.closure == "groove"
    if follower.arm_side != "above" and not grooved:
        top = roller.bottom_mm - follower.washer_mm
        yield HeightBand(top - thick_mm, top)
    if follower.arm_side != "below" or grooved:
        bottom = (max(roller.top_mm, layer.top_mm) if grooved else roller.top_mm) + follower.washer_mm
        yield HeightBand(bottom, bottom + thick_mm)


def _with_screw(
    follower: TranslatingRoller | SwingingRoller,
    roller: HeightBand,
    levers: tuple[HeightBand, ...],
    *,
    has_nut: bool,
) -> FollowerBands:
    """Add the roller's axle: washers and what holds them.

    A bearing turns on a screw as thick as its bore, with its head on the free side of the roller; any other
    roller on a pin that is even with it. Where levers hold the roller on both sides the axle is even with
    both; in a groove there is no room for a head. has_nut: the lever is made as a part, with a nut on its
    far side.
    """
    thread = roller_axle_mm(follower)
    bottom = min(roller.bottom_mm, levers[0].bottom_mm)
    top = max(roller.top_mm, levers[-1].top_mm)
    head = follower.washer_mm + HEAD_HIGH * thread
    is_headed = follower.bearing in BEARINGS and follower.closure != "groove"
    nut = NUT_HIGH.get(thread, thread) if has_nut else 0.0
    if is_headed and follower.arm_side == "above":
        bottom, top = bottom - head, top + nut
    elif is_headed and follower.arm_side == "below":
        bottom, top = bottom - nut, top + head
    radius = min(HEAD_WIDE * thread / 2, follower.roller_radius_mm)
    return FollowerBands(roller, levers, HeightBand(bottom, top), radius)


def follower_heights(project: Project, stack: Stack, lane: Lane, layer: Layer) -> Heights:
    """Return the heights of a lane's follower: about its disc's middle, or above a groove with its roller.

    Where the lever is described, those of all its parts. layer: of the disc that it runs on.
    """
    bands = follower_bands(project, lane, layer)
    if bands is not None:
        return Heights(bands.whole.bottom_mm, bands.whole.top_mm, bands.roller.bottom_mm, bands)
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
    bands = heights.bands
    face = HeightBand(heights.roller_mm, top) if bands is None else bands.roller
    station, centre = _centre(lane, own_deg)
    along, length, half = station, BAR_MM, model.roller_radius_mm
    if isinstance(model, SwingingRollerModel):
        pivot = model.pivot * station
        along, length = (pivot - centre) / abs(pivot - centre), abs(pivot - centre)
        assert isinstance(follower, SwingingRoller)
        yield "rod", _round(pivot, lane.lane.pivot_rod_mm / 2), bottom, top
    if isinstance(follower, TranslatingFlat):
        half = follower.face_width_mm / 2
        yield "roller", _box(centre, along, FACE_MM, half), face.bottom_mm, face.top_mm
    elif model.roller_radius_mm > 0:
        yield "roller", _round(centre, model.roller_radius_mm), face.bottom_mm, face.top_mm
    if bands is not None and bands.screw is not None:
        yield "bar", _round(centre, bands.screw_radius_mm), bands.screw.bottom_mm, bands.screw.top_mm
    wide = follower.body_width_mm / 2 if follower.body_width_mm else max(half / 2, 1.0)
    bar = HeightBand(top - BAR_SHARE * (top - bottom), top + 0.02)
    for lever in (bar,) if bands is None else bands.levers:
        yield "bar", _box(centre, along, length, wide), lever.bottom_mm, lever.top_mm


def _round(centre: complex, radius_mm: float) -> Points:
    return centre + np.asarray(circle(radius_mm).flattened(CHORD_MM) @ np.array([1, 1j]))


def _box(start: complex, along: complex, length: float, half: float) -> Points:
    across = 1j * along * half
    far = start + along * length
    return np.array([start - across, far - across, far + across, start + across])
