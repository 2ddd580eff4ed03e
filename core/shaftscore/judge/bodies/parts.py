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
from math import inf, radians, sqrt

import numpy as np

from shaftscore.base.angles import TURN, distinct, wrap
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.built.heights import HeightBand
from shaftscore.judge.bodies.follower import MovingFollower, Still
from shaftscore.judge.bodies.made import MovingLink, hub_bodies, made_pieces, pinion_bodies
from shaftscore.judge.bodies.rim import SEEN_DEG, BodyRim
from shaftscore.judge.bodies.shapes import FAR_MM, Circle, Shape, StraightStrip, distance, round_about
from shaftscore.kinematics.followers import Points, Reals, SwingingRollerModel
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.frame_plan import SPRING_ROD_MM
from shaftscore.layout.hub import hub_plan
from shaftscore.layout.pivots import LeverSeat, PivotAxle, pivot_axle, stack_seats
from shaftscore.model import Lane, Project, Stack, SwingingRoller, TranslatingFlat
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack.followers import FollowerBands, follower_heights
from shaftscore.stack.plan import StackPlan, stack_plan

TURNING = ("disc", "spacer", "hub", "wheel")
"""Kinds of parts that turn with the shaft."""

STANDING = ("rod", "post", "foot", "guide rod", "guide post", "guide foot", "spring rod")
"""Kinds of parts that stand on the frame beside a follower, whatever the height of its disc."""

AXIS = Circle(np.zeros(1, np.complex128), 0.0)
"""The axis of the stack."""

SAMPLES_DEG = 2.0
"""Steps at which a moving part is first looked at."""


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


Body = Still | MovingFollower | MovingLink | Turning
"""What a part is made of."""


@dataclass(frozen=True, eq=False)
class BodyPart:
    """One part of a stack.

    name: as people read it. kind: disc, spacer, follower, guide or rod. lane: id (a spacer: that of the
    disc above it). host: id of the lane whose disc the part belongs to or runs on, "" for a spacer.
    bottom_mm, top_mm: heights. axle: what its lever turns on, if it has one. number: of several of one kind.
    """

    name: str
    kind: str
    lane: str
    host: str
    bottom_mm: float
    top_mm: float
    body: Body
    axle: PivotAxle | None = None
    number: int = 0

    @cached_property
    def near_mm(self) -> float:
        """A distance from the axis within which the part never comes, mm (a disc: 0)."""
        if isinstance(self.body, Turning):
            return 0.0
        theta = self.samples_deg
        near = np.min([distance(shape, AXIS) + 0 * theta for shape in self.body.at(theta)], axis=0)
        way = np.abs(np.diff(self.body.lift_mm(theta))) * self.body.factor
        return float(np.min((near[:-1] + near[1:] - way) / 2))

    @property
    def round_about(self) -> tuple[complex, float]:
        """Middle and radius, mm, of a circle that holds the part at every angle; infinite of a disc."""
        if isinstance(self.body, Turning):
            return 0j, inf
        rounds = [round_about(shape) for shape in self.body.envelope]
        middle = sum(at for at, _ in rounds) / len(rounds)
        return middle, max(abs(at - middle) + radius for at, radius in rounds)

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
    parts = [*_spacers(solution.project, stack, plan), *_hub(solution.project, stack, plan)]
    parts += _pinions(solution.project, stack, plan)
    for lane in solution.lanes.values():
        if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
            parts += _parts_of_lane(solution, lane, stack, (plan, seats))
    return tuple(parts)


def _spacers(project: Project, stack: Stack, plan: StackPlan) -> Iterator[BodyPart]:
    for layer, above in pairwise(plan.layers):
        if layer.lane_id is None and above.lane_id is not None:
            body = Still((Circle(np.zeros(1, np.complex128), stack.spacer_radius_mm),))
            name = f"the spacer under {project.lane(above.lane_id).label}'s disc"
            yield BodyPart(name, "spacer", above.lane_id, "", layer.bottom_mm, layer.top_mm, body)


def _hub(project: Project, stack: Stack, plan: StackPlan) -> Iterator[BodyPart]:
    """Yield the hub of a stack, if it has one that can be made."""
    if stack.hub is None or not plan.discs:
        return
    try:
        bodies = [*hub_bodies(project, hub_plan(project, stack))]
    except ValueError:  # a finding says why
        return
    lane = plan.discs[0 if stack.driven_end == "bottom" else -1].lane_id or ""
    for kind, name, band, body in bodies:
        yield BodyPart(name, kind, lane, "", band.bottom_mm, band.top_mm, body)


def _pinions(project: Project, stack: Stack, plan: StackPlan) -> Iterator[BodyPart]:
    """Yield the pinions of the drive beside the first stack, those that can be made."""
    if stack is not project.stacks[0] or not plan.discs or project.drive is None:
        return
    try:
        bodies = [*pinion_bodies(project)]
    except ValueError:  # a finding says why
        return
    lane = plan.discs[0 if stack.driven_end == "bottom" else -1].lane_id or ""
    for number, (name, band, body) in enumerate(bodies):
        yield BodyPart(name, "pinion", lane, "", band.bottom_mm, band.top_mm, body, number=number)


def _parts_of_lane(
    solution: Solution,
    solved: LaneSolution,
    stack: Stack,
    heights_of: tuple[StackPlan, Mapping[str, LeverSeat]],
) -> Iterator[BodyPart]:
    axle, (plan, seats), project = pivot_axle(solved), heights_of, solution.project
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
    layout = _layout(solution, solved, seats)
    for kind, name, fixed in _fixed(lane, body):
        bottom, top = (low, high) if kind == "guide" else _rod_mm(stack, layout, plan, (low, high))
        yield BodyPart(f"{lane.label}'s {name}", kind, lane.id, host, bottom, top, fixed, axle)
    if layout is not None and project.frame is not None:
        yield from _spring_rod(stack, layout, plan)
    for kind, name, band, made, own_axle in () if layout is None else made_pieces(layout, body):
        title = f"{lane.label}'s {name}"
        yield BodyPart(title, kind, lane.id, host, band.bottom_mm, band.top_mm, made, own_axle)


def _spring_rod(stack: Stack, layout: FollowerLayout, plan: StackPlan) -> Iterator[BodyPart]:
    """Yield the rod between the plates that the spring of a lever hooks on."""
    at, rod, lane = layout.spring_rod, stack.rod, layout.lane
    if at is None or rod is None:
        return
    axle, ends = PivotAxle(at, SPRING_ROD_MM), (-rod.below_mm, plan.height_mm + rod.above_mm)
    body, host = Still((Circle(np.array([at]), SPRING_ROD_MM / 2),)), lane.disc_of or lane.id
    yield BodyPart(f"{lane.label}'s spring rod", "spring rod", lane.id, host, *ends, body, axle)


def _rod_mm(
    stack: Stack, layout: FollowerLayout | None, plan: StackPlan, follower_mm: tuple[float, float]
) -> tuple[float, float]:
    """Return from where to where the rod of a pivot reaches: all the stack, and both plates that hold it."""
    below, above = (0.0, 0.0)
    if layout is not None and layout.rod_in_frame and stack.rod is not None:
        below, above = stack.rod.below_mm, stack.rod.above_mm
    return min(-below, follower_mm[0]), max(plan.height_mm + above, follower_mm[1])


def _layout(
    solution: Solution, solved: LaneSolution, seats: Mapping[str, LeverSeat]
) -> FollowerLayout | None:
    """Return how a follower is laid out as parts; None where it is not."""
    try:
        return machine_follower(solution, solved, seats)
    except FollowerLayoutError:  # a finding says why
        return None


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


def _beside(shape: Shape, middle_deg: float) -> float:
    """Return how far a shape reaches to either side of a direction, seen from the axis, degrees."""
    towards = np.exp(-1j * radians(middle_deg))
    if isinstance(shape, StraightStrip):
        return max(float(np.max(np.abs(np.degrees(np.angle(p * towards))))) for p in shape.corners)
    half = np.arcsin(np.minimum(1.0, shape.radius_mm / np.abs(shape.centre)))
    return float(np.max(np.degrees(np.abs(np.angle(shape.centre * towards)) + half)))
