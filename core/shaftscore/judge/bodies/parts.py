"""The parts of a stack that could meet: discs, spacers, and what rides beside them, with their heights.

A follower is its roller and a strip behind it: along the travel without end (the bar and, from where it
begins, its guide), or along the arm to the pivot. Where its lever is described, roller, lever (or two) and
the roller's screw with its washers are parts of their own at their own heights; else one part at all of
them. A guide and a pivot's rod stand still and are parts of
their own, because they may meet even the disc that their follower runs on. Frame: plan view seen from
the top, x along the machine's reference line, angles counterclockwise, mm; z from the bottom of the
stack. Angles are of the stack's own turn, degrees.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import hypot, radians, sqrt
from typing import Literal

import numpy as np

from shaftscore.base.angles import TURN, distinct, wrap
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.built.heights import HeightBand
from shaftscore.judge.bodies.rim import SEEN_DEG, BodyRim
from shaftscore.judge.bodies.shapes import FAR_MM, Circle, Shape, StraightStrip, distance
from shaftscore.kinematics.followers import Points, Reals, SwingingRollerModel, lift_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.pivots import LeverSeat, PivotAxle, pivot_axle, stack_seats
from shaftscore.model import Lane, Project, Stack, SwingingRoller, TranslatingFlat
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack.followers import FollowerBands, follower_heights, post_radius_mm
from shaftscore.stack.plan import StackPlan, stack_plan

AXIS = Circle(np.zeros(1, np.complex128), 0.0)
"""The axis of the stack."""

SAMPLES_DEG = 2.0
"""Steps at which a moving part is first looked at."""


@dataclass(frozen=True, eq=False)
class Still:
    """Shapes that do not move."""

    shapes: tuple[Shape, ...]
    factor = 0.0

    @property
    def envelope(self) -> tuple[Shape, ...]:
        """Shapes that hold the part at every angle."""
        return self.shapes

    def at(self, _theta_deg: Reals) -> tuple[Shape, ...]:
        """Return the shapes at angles, (n,) degrees."""
        return self.shapes

    def lift_mm(self, theta_deg: Reals) -> Reals:
        """Return the lift at angles: (n,) mm."""
        return np.zeros(len(theta_deg))

    @property
    def turning_deg(self) -> Reals:
        """Angles between which the lift only rises or falls, (k,) degrees."""
        return np.zeros(0)

    def turned(self, by_deg: float) -> Still:
        """Return the same at a station `by_deg` further on."""
        factor = complex(np.exp(1j * radians(by_deg)))
        return Still(tuple(_turned(shape, factor) for shape in self.shapes))


Piece = Literal["whole", "roller", "lever", "screw"]
"""A part of a follower: all of it, or the one named."""


@dataclass(frozen=True, eq=False)
class MovingFollower:
    """A follower: its profile (for the model and its station) and the motion that it really makes.

    piece: which part of it, whole if it is all of it. screw_mm: radius of the head of its screw, mm.
    lever_mm: from the pivot to the output of a lever that is made as a part, mm; 0 where none is.
    """

    profile: Profile
    motion: LaneMotion
    station_deg: float
    piece: Piece = "whole"
    screw_mm: float = 0.0
    lever_mm: float = 0.0

    @cached_property
    def _station(self) -> complex:
        return complex(np.exp(1j * radians(self.station_deg)))

    @property
    def half_mm(self) -> float:
        """Half the width of the body, mm."""
        follower = self.profile.follower
        if follower.body_width_mm is not None:
            return follower.body_width_mm / 2
        if isinstance(follower, TranslatingFlat):
            return follower.face_width_mm / 2
        return follower.roller_radius_mm

    @property
    def factor(self) -> float:
        """How far any point of the body moves at most, by mm of lift."""
        model = self.profile.model
        return self.reach_mm / model.arm_mm if isinstance(model, SwingingRollerModel) else 1.0

    @property
    def reach_mm(self) -> float:
        """How far an arm's body reaches from its pivot, mm."""
        model = self.profile.model
        assert isinstance(model, SwingingRollerModel)
        end = model.roller_radius_mm if self.piece != "lever" else max(model.roller_radius_mm, self.half_mm)
        near = max(model.arm_mm + max(end, self.screw_mm), hypot(model.arm_mm, self.half_mm))
        return max(near, self.lever_mm + self.half_mm) if self.piece == "lever" else near

    def lift_mm(self, theta_deg: Reals) -> Reals:
        """Return the lift at angles: (n,) mm."""
        return np.asarray(lift_of(self.profile.follower, self.motion.at(theta_deg))[0])

    @cached_property
    def turning_deg(self) -> Reals:
        """Angles between which the lift only rises or falls, (k,) degrees."""
        ends = [
            segment.start_deg
            + segment.length_deg * (np.zeros(1) if segment.curve is None else segment.curve.runs)
            for segment in self.motion.segments
        ]
        return np.concatenate(ends)

    def at(self, theta_deg: Reals) -> tuple[Shape, ...]:
        """Return roller (or face) and strip at angles, (n,) degrees."""
        centre = self.profile.model.centre(self.lift_mm(theta_deg))[0] * self._station
        if self.piece == "screw":
            return (Circle(centre, self.screw_mm),)
        follower, model = self.profile.follower, self.profile.model
        if isinstance(model, SwingingRollerModel):
            arm = model.pivot * self._station - centre
            length = max(model.arm_mm, self.lever_mm if self.piece == "lever" else 0.0)
            centre = centre - arm * (length / model.arm_mm - 1)
            strip = StraightStrip(centre, arm / model.arm_mm, length, self.half_mm)
        else:
            strip = StraightStrip(centre, np.full(len(centre), self._station), FAR_MM, self.half_mm)
        if self.piece == "lever":  # about the roller's axle, or from the flat face on
            flat = isinstance(follower, TranslatingFlat)
            return (strip,) if flat else (strip, Circle(centre, self.half_mm))
        if isinstance(follower, TranslatingFlat):
            face = StraightStrip(centre, strip.along, 0.0, follower.face_width_mm / 2)
            return (face,) if self.piece == "roller" else (strip, face)
        roller = Circle(centre, model.roller_radius_mm)
        return (roller,) if self.piece == "roller" else (roller, strip)

    @cached_property
    def envelope(self) -> tuple[Shape, ...]:
        """Shapes that hold the follower at every angle."""
        model = self.profile.model
        if isinstance(model, SwingingRollerModel):
            return (Circle(np.array([model.pivot * self._station]), self.reach_mm),)
        lowest = np.min(self.lift_mm(self.turning_deg), keepdims=True)
        roller = model.roller_radius_mm
        reach = max(roller, self.half_mm if self.piece == "lever" else 0.0, self.screw_mm)
        start = (model.centre(lowest)[0] - reach) * self._station
        wide = max(self.half_mm, reach, getattr(self.profile.follower, "face_width_mm", 0.0) / 2)
        return (StraightStrip(start, np.array([self._station]), FAR_MM, wide),)

    def turned(self, by_deg: float) -> MovingFollower:
        """Return the same at a station `by_deg` further on."""
        return replace(self, station_deg=self.station_deg + by_deg)


@dataclass(frozen=True, eq=False)
class Turning:
    """A disc, made of its profile when first looked at; origin: what it was turned from, by `by_deg`."""

    profile: Profile
    by_deg: float = 0.0
    origin: Turning | None = None

    @cached_property
    def radius_mm(self) -> float:
        """Largest radius, mm."""
        return (
            float(np.max(np.abs(self._grooved))) if self.profile.limits.groove else self.profile.max_radius_mm
        )

    @cached_property
    def _grooved(self) -> Points:
        """The outside of a groove's rim."""
        distance_mm = self.profile.distance_mm("outer") + self.profile.limits.rim_mm
        theta = np.linspace(0.0, 360.0, 1440, endpoint=False)
        return self.profile.at(theta).offset(distance_mm)[:: -self.profile.direction]

    @cached_property
    def rim(self) -> BodyRim:
        """The rim where the program wants it: a profile turned for what was measured is turned back."""
        if self.origin is not None:
            return self.origin.rim.turned(self.by_deg)
        if self.profile.limits.groove:
            points = self._grooved
        else:
            outline = self.profile.outline(CHORD_MM)
            points = outline[:, 0] + 1j * outline[:, 1]
        placement = self.profile.placement
        return BodyRim(points, placement.direction).turned(placement.direction * placement.offset_deg)

    def turned(self, by_deg: float) -> Turning:
        """Return the disc laid out for a station `by_deg` further on."""
        return Turning(self.profile, self.by_deg + by_deg, self.origin or self)


Body = Still | MovingFollower | Turning
"""What a part is made of."""


@dataclass(frozen=True, eq=False)
class BodyPart:
    """One part of a stack.

    name: as people read it. kind: disc, spacer, follower, guide or rod. lane: id (a spacer: that of the
    disc above it). host: id of the lane whose disc the part belongs to or runs on, "" for a spacer.
    bottom_mm, top_mm: heights. axle: what its lever turns on, if it has one.
    """

    name: str
    kind: str
    lane: str
    host: str
    bottom_mm: float
    top_mm: float
    body: Body
    axle: PivotAxle | None = None

    @cached_property
    def near_mm(self) -> float:
        """A distance from the axis within which the part never comes, mm (a disc: 0)."""
        if isinstance(self.body, Turning):
            return 0.0
        theta = self.samples_deg
        near = np.min([distance(shape, AXIS) + 0 * theta for shape in self.body.at(theta)], axis=0)
        way = np.abs(np.diff(self.body.lift_mm(theta))) * self.body.factor
        return float(np.min((near[:-1] + near[1:] - way) / 2))

    @cached_property
    def samples_deg(self) -> Reals:
        """Angles over one turn, between which the lift only rises or falls, (n,) degrees."""
        even = np.linspace(0.0, TURN, round(TURN / SAMPLES_DEG) + 1)
        turning = np.zeros(0) if isinstance(self.body, Turning) else self.body.turning_deg
        return distinct(np.concatenate([even, wrap(turning)]))

    @cached_property
    def sight(self) -> tuple[float, float]:
        """Middle and half width of the directions that count for a rim's ripple, degrees."""
        assert not isinstance(self.body, Turning)
        shapes = self.body.at(self.samples_deg)
        first = shapes[0].centre if isinstance(shapes[0], Circle) else shapes[0].start
        middle = float(np.degrees(np.angle(first[0])))
        beside = max(_beside(shape, middle) for shape in shapes)
        return middle, beside + SEEN_DEG

    def turned(self, by_deg: float) -> BodyPart:
        """Return the part at a station `by_deg` further on."""
        axle = None if self.axle is None else self.axle.turned(by_deg)
        return replace(self, body=self.body.turned(by_deg), axle=axle)


def parts_of(solution: Solution, stack: Stack) -> tuple[BodyPart, ...]:
    """Return the parts of a stack, of the lanes that are solved and have a disc to run on."""
    plan, seats = stack_plan(solution.project, stack), stack_seats(solution, stack)
    parts = list(_spacers(solution.project, stack, plan))
    for lane in solution.lanes.values():
        if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
            parts += _parts_of_lane(solution.project, lane, stack, (plan, seats))
    return tuple(parts)


def _spacers(project: Project, stack: Stack, plan: StackPlan) -> Iterator[BodyPart]:
    for layer, above in pairwise(plan.layers):
        if layer.lane_id is None and above.lane_id is not None:
            body = Still((Circle(np.zeros(1, np.complex128), stack.spacer_radius_mm),))
            name = f"the spacer under {project.lane(above.lane_id).label}'s disc"
            yield BodyPart(name, "spacer", above.lane_id, "", layer.bottom_mm, layer.top_mm, body)


def _parts_of_lane(
    project: Project,
    solved: LaneSolution,
    stack: Stack,
    heights_of: tuple[StackPlan, Mapping[str, LeverSeat]],
) -> Iterator[BodyPart]:
    axle, (plan, seats) = pivot_axle(solved), heights_of
    lane, profile, motion = solved.lane, solved.profile, solved.motion
    assert profile is not None
    assert motion is not None
    host = lane.disc_of or lane.id
    layer = plan.disc(host)
    if lane.has_disc:
        disc = Turning(profile)
        yield BodyPart(f"{lane.label}'s disc", "disc", lane.id, host, layer.bottom_mm, layer.top_mm, disc)
    heights = follower_heights(project, stack, lane, layer)
    low, high = heights.bottom_mm, heights.top_mm
    body = MovingFollower(profile, motion, profile.station_deg)
    if heights.bands is None:
        yield BodyPart(f"{lane.label}'s follower", "follower", lane.id, host, low, high, body)
    else:
        far = lane.parts.output_mm if lane.parts is not None else 0.0
        for kind, name, band, piece in _pieces(replace(body, lever_mm=far), heights.bands):
            title = f"{lane.label}'s {name}"
            yield BodyPart(title, kind, lane.id, host, band.bottom_mm, band.top_mm, piece, axle)
    for kind, name, fixed in _fixed(lane, body):
        bottom, top = (low, high) if kind == "guide" else (min(0.0, low), max(plan.height_mm, high))
        yield BodyPart(f"{lane.label}'s {name}", kind, lane.id, host, bottom, top, fixed, axle)
    seat = seats.get(lane.id)
    for name, fixed, band in () if seat is None else _stands(lane, body, heights.bands, seat.floor_mm):
        title = f"{lane.label}'s {name}"
        yield BodyPart(title, "rod", lane.id, host, band.bottom_mm, band.top_mm, fixed, axle)


def _pieces(
    body: MovingFollower, bands: FollowerBands
) -> Iterator[tuple[str, str, HeightBand, MovingFollower]]:
    """Yield kind, name, heights and body of the parts of a follower whose lever is described."""
    flat = isinstance(body.profile.follower, TranslatingFlat)
    yield "roller", "face" if flat else "roller", bands.roller, replace(body, piece="roller")
    lower = len(bands.levers) > 1
    for number, band in enumerate(bands.levers):
        name = "bar" if flat else "lever"
        name = f"{'upper' if number else 'lower'} {name}" if lower else name
        kind = "follower" if flat else "second lever" if number else "lever"  # a bar lies behind its face
        yield kind, name, band, replace(body, piece="lever")
    if bands.screw is not None:
        screw = replace(body, piece="screw", screw_mm=bands.screw_radius_mm)
        has_bearing = getattr(body.profile.follower, "bearing", None) is not None
        yield "screw", "screw" if has_bearing else "axle", bands.screw, screw


def _stands(
    lane: Lane, body: MovingFollower, bands: FollowerBands | None, floor_mm: float
) -> Iterator[tuple[str, Still, HeightBand]]:
    """Yield name, shape and heights of the post that carries a lever which is made as a part.

    floor_mm: height of what it stands on.
    """
    model = body.profile.model
    if lane.parts is None or bands is None or not isinstance(model, SwingingRollerModel):
        return
    station = complex(np.exp(1j * radians(body.station_deg)))
    post = Circle(np.array([model.pivot * station]), post_radius_mm(lane.parts.pivot_rod_mm))
    top = bands.levers[0].bottom_mm - lane.follower.washer_mm
    yield "pivot post", Still((post,)), HeightBand(min(floor_mm, top), top)


def _fixed(lane: Lane, body: MovingFollower) -> Iterator[tuple[str, str, Still]]:
    """Yield kind, name and shape of what stands still beside a follower."""
    follower, model = body.profile.follower, body.profile.model
    station = complex(np.exp(1j * radians(body.station_deg)))
    if isinstance(follower, SwingingRoller) and isinstance(model, SwingingRollerModel):
        rod = Circle(np.array([model.pivot * station]), lane.pivot_rod_mm / 2)
        yield "rod", "pivot rod", Still((rod,))
    start_mm = getattr(follower, "guide_start_mm", None)
    if start_mm is not None:
        offset = body.profile.offset_mm
        start = complex(sqrt(max(0.0, start_mm**2 - offset**2)), -offset) * station
        bar = StraightStrip(np.array([start]), np.array([station]), FAR_MM, body.half_mm)
        yield "guide", "guide", Still((bar,))


def _turned(shape: Shape, factor: complex) -> Shape:
    if isinstance(shape, Circle):
        return Circle(shape.centre * factor, shape.radius_mm)
    return StraightStrip(shape.start * factor, shape.along * factor, shape.length_mm, shape.half_mm)


def _beside(shape: Shape, middle_deg: float) -> float:
    """Return how far a shape reaches to either side of a direction, seen from the axis, degrees."""
    towards = np.exp(-1j * radians(middle_deg))
    if isinstance(shape, StraightStrip):
        return max(float(np.max(np.abs(np.degrees(np.angle(p * towards))))) for p in shape.corners)
    half = np.arcsin(np.minimum(1.0, shape.radius_mm / np.abs(shape.centre)))
    return float(np.max(np.degrees(np.abs(np.angle(shape.centre * towards)) + half)))
