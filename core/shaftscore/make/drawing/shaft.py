"""The side view of a shaft in its bearings, as pure geometry: parts, forces, bending line, heights.

Every lane is cut along its own station line and folded to the right, so that all rollers are there. x is
the distance from the axis, mm, to the right positive; z is along the shaft, mm, up. Angles are of the stack.
Plates and the nut of the clamp are drawn for orientation: the file has no sizes of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import floor, log10
from typing import Literal

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.judge.heights import LaneHeights, heights_of
from shaftscore.judge.shaft import StackShaft
from shaftscore.judge.shaft.case import bearings_mm
from shaftscore.judge.shaft.discs import index_at
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, Stack, TranslatingFlat
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import Layer, StackPlan, stack_plan
from shaftscore.stack.followers import FACE_MM

PartKind = Literal["disc", "spacer", "rod", "bearing", "plate", "clamp", "hub"]

ROD_ENDS_MM = 10.0
"""The rod is drawn this far beyond its bearings."""

BEARING_HIGH_MM, PLATE_HIGH_MM = 6.0, 12.0
"""Heights of bearings and plates as drawn."""

RING_MM, PLAIN_GAP_MM = 5.0, 1.0
"""Width of a bearing's ring as drawn, and the gap about a rod in a plate whose place is not known."""

CLAMP_HIGH_MM = 8.0
"""Height of the nut of a clamp as drawn."""

ROUND = (1.0, 2.0, 5.0)
"""First digits of an exaggeration."""


@dataclass(frozen=True)
class ShaftPart:
    """A part in side view: its kind, the lane of a disc, and its box, mm.

    inner_mm: radius of the hole of a plate or a bearing. reach_mm: largest radius of a disc, where its box
    has the least one. seat: radius of a bearing's seat in a plate, heights of its floor and its open face.
    """

    kind: PartKind
    lane_id: str | None
    left_mm: float
    right_mm: float
    bottom_mm: float
    top_mm: float
    inner_mm: float = 0.0
    reach_mm: float = 0.0
    seat: tuple[float, float, float] | None = None

    @property
    def middle_mm(self) -> float:
        """Return z of its middle."""
        return (self.bottom_mm + self.top_mm) / 2


@dataclass(frozen=True)
class DrawnRoller:
    """A roller or a face in side view: its box, and by how much it may be higher or lower, mm.

    z_mm: of its disc's middle. overlap_mm, least_mm: width of contact as drawn, and what the tolerances
    leave of it. is_narrow: whether that is less than is required. All as the check computes it.
    """

    lane_id: str
    left_mm: float
    right_mm: float
    bottom_mm: float
    top_mm: float
    spread_mm: float
    z_mm: float
    overlap_mm: float
    least_mm: float
    is_narrow: bool


@dataclass(frozen=True)
class SideView:
    """A stack in side view at one angle, bottom to top; described: whether it has a rod."""

    stack: Stack
    plan: StackPlan
    parts: tuple[ShaftPart, ...]
    rollers: tuple[DrawnRoller, ...]
    described: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return left, right, bottom and top of all that is drawn, mm."""
        drawn: tuple[ShaftPart | DrawnRoller, ...] = (*self.parts, *self.rollers)
        return (
            min(one.left_mm for one in drawn),
            max(one.right_mm for one in drawn),
            min(one.bottom_mm for one in drawn),
            max(one.top_mm for one in drawn),
        )

    def of_kind(self, kind: PartKind) -> tuple[ShaftPart, ...]:
        """Return the parts of a kind, bottom to top."""
        return tuple(part for part in self.parts if part.kind == kind)


@dataclass(frozen=True, eq=False)
class RimTable:
    """Radius of a disc's rim by direction in its own frame: (m,) degrees in order and (m,) mm.

    The angles cover a turn from 0 and a little more to both sides, so that every direction is within them.
    """

    angles_deg: Reals
    radii_mm: Reals

    def toward(self, angle_deg: float) -> float:
        """Return the radius in a direction of the disc, mm."""
        return float(np.interp(wrap(angle_deg), self.angles_deg, self.radii_mm))


def rim_table(profile: Profile) -> RimTable:
    """Return the radii of a profile by direction."""
    points = profile.at_nodes.profile
    angles = wrap(np.degrees(np.angle(points)))
    order = np.argsort(angles)
    angles, radii = angles[order], np.abs(points)[order]
    around = np.concatenate([angles[-1:] - TURN, angles, angles[:1] + TURN])
    return RimTable(around, np.concatenate([radii[-1:], radii, radii[:1]]))


RimOf = Callable[[LaneSolution], RimTable | None]
"""Returns the rim of a lane's disc, None without a profile; a view keeps those that it made."""


def plain_rims(lane: LaneSolution) -> RimTable | None:
    """Return the rim of a lane's disc, computed each time."""
    return None if lane.profile is None else rim_table(lane.profile)


def side_view(solution: Solution, stack: Stack, own_deg: float, rim_of: RimOf = plain_rims) -> SideView:
    """Return a stack in side view at an angle of it, degrees."""
    project = solution.project
    plan = stack_plan(project, stack)
    rollers = tuple(_rollers(solution, stack, own_deg, rim_of))
    discs = [_disc(solution, layer, own_deg, rim_of) for layer in plan.discs]
    spacers = [_ring("spacer", stack.spacer_radius_mm, layer) for layer in plan.layers if not layer.lane_id]
    layers = sorted((*discs, *spacers), key=lambda part: part.bottom_mm)
    reach = max((part.right_mm for part in layers), default=stack.spacer_radius_mm) + 4.0
    parts = (*_frame(stack, plan, reach), *layers)
    return SideView(stack, plan, parts, rollers, stack.rod is not None)


def _ring(kind: PartKind, radius_mm: float, layer: Layer) -> ShaftPart:
    return ShaftPart(kind, layer.lane_id, -radius_mm, radius_mm, layer.bottom_mm, layer.top_mm)


def _disc(solution: Solution, layer: Layer, own_deg: float, rim_of: RimOf) -> ShaftPart:
    lane = solution.lanes[str(layer.lane_id)]
    rim = rim_of(lane)
    if rim is None or lane.profile is None:
        return _ring("disc", solution.project.stack_of(lane.lane).spacer_radius_mm, layer)
    direction = _station_in_disc(lane, lane.profile, own_deg)
    left, right = rim.toward(direction + TURN / 2), rim.toward(direction)
    return ShaftPart("disc", layer.lane_id, -left, right, layer.bottom_mm, layer.top_mm)


def _station_in_disc(lane: LaneSolution, profile: Profile, own_deg: float) -> float:
    """Return the direction of a lane's station in the frame of its disc, degrees."""
    place = profile.placement
    return wrap(lane.lane.station_deg - place.direction * (own_deg + place.offset_deg))


def _frame(stack: Stack, plan: StackPlan, reach_mm: float) -> Iterator[ShaftPart]:
    """Yield rod, bearings, plates and clamp; without a rod only the bore's, and plates where they may be."""
    rod = stack.rod
    half, ends = _rod_ends(stack, plan)
    for z in ends:
        yield _plate(z, half, reach_mm, half + (RING_MM if rod is not None else PLAIN_GAP_MM))
    yield from bearing_parts(stack, plan)
    if rod is not None and rod.clamp_n is not None and rod.above_mm > BEARING_HIGH_MM / 2:
        high = min(CLAMP_HIGH_MM, rod.above_mm - BEARING_HIGH_MM / 2)
        yield ShaftPart("clamp", None, -1.8 * half, 1.8 * half, plan.height_mm, plan.height_mm + high)


def bearing_parts(stack: Stack, plan: StackPlan) -> Iterator[ShaftPart]:
    """Yield the rod, and its bearings where its record says where they are."""
    half, ends = _rod_ends(stack, plan)
    yield ShaftPart("rod", None, -half, half, ends[0] - ROD_ENDS_MM, ends[1] + ROD_ENDS_MM)
    for z in ends if stack.rod is not None else ():
        low, high = z - BEARING_HIGH_MM / 2, z + BEARING_HIGH_MM / 2
        yield ShaftPart("bearing", None, -half - RING_MM, half + RING_MM, low, high, half)


def _rod_ends(stack: Stack, plan: StackPlan) -> tuple[float, list[float]]:
    """Return half the rod's width and z of the bearings' middles, mm; without a rod, the bore's."""
    rod = stack.rod
    half = (rod.across_mm if rod is not None else stack.bore.across_mm) / 2
    return half, bearings_mm(plan, rod).tolist() if rod is not None else [-18.0, plan.height_mm + 18.0]


def _plate(z: float, half: float, reach_mm: float, hole_mm: float) -> ShaftPart:
    reach = max(reach_mm, half + 12.0)
    low, high = z - PLATE_HIGH_MM / 2, z + PLATE_HIGH_MM / 2
    return ShaftPart("plate", None, -reach, reach, low, high, hole_mm)


def _rollers(solution: Solution, stack: Stack, own_deg: float, rim_of: RimOf) -> Iterator[DrawnRoller]:
    """Yield the rollers of all lanes that run on the stack, those of riders too."""
    own = [lane for lane in solution.lanes.values() if lane.stack == stack.id]
    running = [lane for lane in own if lane.profile is not None]
    heights = heights_of(solution.project, stack, [lane.lane for lane in running])
    for lane in running:
        rim = rim_of(lane)
        if rim is not None and lane.profile is not None:
            start = rim.toward(_station_in_disc(lane, lane.profile, own_deg))
            yield _roller(lane.lane, lane.profile, heights[lane.lane.id], start)


def _roller(lane: Lane, profile: Profile, heights: LaneHeights, start_mm: float) -> DrawnRoller:
    """Return a lane's roller that touches its disc at start_mm from the axis."""
    flat = isinstance(lane.follower, TranslatingFlat)
    wide = FACE_MM if flat else max(2 * profile.model.roller_radius_mm, 1.0)
    return DrawnRoller(
        lane_id=lane.id,
        left_mm=start_mm,
        right_mm=start_mm + wide,
        bottom_mm=heights.roller.bottom_mm,
        top_mm=heights.roller.top_mm,
        spread_mm=heights.tolerance_mm,
        z_mm=heights.z_mm,
        overlap_mm=heights.overlap_mm,
        least_mm=heights.worst_overlap_mm,
        is_narrow=not heights.stays_on_edge,
    )


# Forces and bending at one angle


@dataclass(frozen=True, eq=False)
class ShaftAtAngle:
    """What is on a shaft at one angle of its stack.

    push_n: by lane id, negative where a groove pulls. reactions_n: sizes, from the bottom up; the gear's
    share is in them. line_z_mm, line_mm: (m,) places of the bending line and how far it is off the axis in
    the direction of its greatest deflection. most_mm, most_z_mm: that deflection, and where.
    """

    own_deg: float
    push_n: Mapping[str, float]
    reactions_n: tuple[float, ...]
    line_z_mm: Reals
    line_mm: Reals
    most_mm: float
    most_z_mm: float


def shaft_at(shaft: StackShaft, own_deg: float) -> ShaftAtAngle:
    """Return forces, reactions and bending line of a shaft at an angle of its stack, to 0.1 degrees."""
    index = index_at(own_deg)
    z, bent = shaft.line_mm(own_deg)
    sizes = np.hypot(bent[:, 0], bent[:, 1])
    top = int(np.argmax(sizes))
    way = bent[top] / sizes[top] if sizes[top] > 0 else np.zeros(2)
    return ShaftAtAngle(
        own_deg,
        {lane_id: float(one.push_n[index]) for lane_id, one in shaft.case.lanes.items()},
        tuple(shaft.reaction_sizes_n[:, index].tolist()),
        z,
        bent @ way,
        float(sizes[top]),
        float(z[top]),
    )


def worst_angle_deg(shaft: StackShaft) -> float:
    """Return the angle of the stack at which a disc is deflected most, degrees."""
    return max(shaft.deflection_mm.values(), key=lambda one: one.value).own_deg


def exaggeration(most_mm: float, room_mm: float) -> float:
    """Return the round factor (1, 2 or 5 times a power of ten, at least 1) that fits a deflection to a room.

    room_mm: how far the line may be drawn off its axis.
    """
    if most_mm <= 0 or room_mm <= most_mm:
        return 1.0
    wanted = room_mm / most_mm
    power = 10.0 ** floor(log10(wanted))
    return max(digit * power for digit in ROUND if digit * power <= wanted * (1 + 1e-9))


# Bearings dragged


BearingEnd = Literal["lower", "upper"]


def bearing_field(plan: StackPlan, end: BearingEnd, z_mm: float, step_mm: float) -> tuple[str, float]:
    """Return the field of a rod that puts a bearing's middle to z, mm, and its value in whole steps.

    A bearing cannot be within the stack: its distance from the stack's face is 0 or more.
    """
    away = -z_mm if end == "lower" else z_mm - plan.height_mm
    value = round(max(0.0, round(away / step_mm) * step_mm), 6)
    return ("below_mm" if end == "lower" else "above_mm"), value
