"""Followers as parts: their key points over the cycle, where each part is, and what they do.

A lane with `parts` is moved by one of three. *Slide*: a bar with a roller that moves along the line of travel
in a guide; its output is the lift. (The records of a flat face give it no guide.) *Lever*: an arm about a
pivot; roller and output are on one line from the pivot. *Straight-line lever*: such a lever whose end carries
a coupler, held at its far end by a guide link with a pivot of its own; the output is a point of the coupler
(`shaftscore.built.guidance`).

Frames of the parts: a slide has its roller's axle at the origin and its output on +x; a lever has its pivot
at the origin and its roller on +x; a link its first joint at the origin and the other on +x; a bracket of a
lever has the pivot at the origin and its foot along +x; that of a slide has the guide's inner end at the
origin and the guide along +x. Frame of the machine: see `shaftscore.layout`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import sqrt

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.once import once
from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import millimetres, plain, up_to
from shaftscore.built.guidance import GuidedLever
from shaftscore.built.heights import HeightBand
from shaftscore.built.linkage import straight_fit
from shaftscore.kinematics.followers import SwingingRollerModel, lift_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.frame_heights import bracket_floor_mm
from shaftscore.layout.frame_plan import SPRING_ROD_MM
from shaftscore.layout.hub import hub_plan
from shaftscore.layout.pivots import LeverSeat
from shaftscore.layout.placed import Course, Placement, PlanPose, Points, Reals, standing
from shaftscore.layout.train import train_parts
from shaftscore.model import Lane, Project, TranslatingFlat
from shaftscore.model.guided import lane_guidance
from shaftscore.model.lanes import CoilSpring
from shaftscore.model.parts import FollowerParts
from shaftscore.model.parts_fit import PIVOT_MM
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import FLOOR_MM, TURNING_MM, FollowerBands, follower_bands

SLIDING_MM = 0.2
"""Clearance of a bar on each side of its guide, mm (common practice, no source)."""

HOOK_MM = 2.0
"""Diameter of the hole that a spring hooks into, mm."""

SQUARE_MM = 0.001
"""Lift from which the direction is found in which a hook begins to move, mm."""

SPRING_MM = 40.0
"""Length at which a spring is drawn that is not described, mm."""

WALL_MM = 2.4
"""Material about a hole, mm (common practice: six lines of a 0.4 mm nozzle)."""

SAMPLES = 121
"""Places of the travel at which a path is looked at."""


class FollowerLayoutError(ValueError):
    """A follower whose parts cannot be laid out or made; the text says why.

    path, value_mm: a length of the lane ("parts.arm_mm") and a value of it that may do; an empty path where
    no length is known, a value of None where it is to be left out.
    """

    def __init__(self, text: str, path: str = "", value_mm: float | None = None) -> None:
        """Make the error."""
        super().__init__(text)
        self.path, self.value_mm = path, value_mm


@dataclass(frozen=True, eq=False)
class FollowerPoints:
    """Key points of a follower over n angles, machine frame, (n,) mm.

    roller: its axle (a flat face: its middle). output: where the output is taken. hook: where the spring
    hooks in, None without one. joint, far: ends of the coupler on the lever and on the guide link; None for
    other kinds.
    """

    roller: Points
    output: Points
    hook: Points | None
    joint: Points | None = None
    far: Points | None = None


@dataclass(frozen=True)
class FollowerFigures:
    """What a follower does.

    ratio: of the output's travel to the roller's. travel_mm, lift_mm: of both. swing_deg: of the lever, 0 for
    a slide. off_line_mm: how far the output leaves a straight line, peak to peak. parts: how many are made,
    pivots: how many there are.
    """

    ratio: float
    travel_mm: float
    lift_mm: float
    swing_deg: float
    off_line_mm: float
    parts: int
    pivots: int


@dataclass(frozen=True, eq=False)
class FollowerLayout:
    """A lane's follower as parts.

    lane: with its disc. parts: its record. bands: heights of its parts from the bottom of its stack. axis:
    of its stack, mm. floor_mm: height of the face that brackets stand on. is_sleeve: the bracket of a lever
    is a sleeve on the rod that it shares with levers below. rod_in_frame: the rod of its pivot goes through
    both plates of the frame, which hold it. shared_top_mm: upper face of the highest lever on its rod, its
    own if absent. spring_slant_rad: by which its spring is slanted towards the lever's end, None where
    no rod has room for it (`spring_room`).
    """

    lane: Lane
    profile: Profile
    motion: LaneMotion
    turns: int
    parts: FollowerParts
    bands: FollowerBands
    axis: complex = 0j
    floor_mm: float = -FLOOR_MM
    is_sleeve: bool = False
    rod_in_frame: bool = False
    shared_top_mm: float | None = None
    spring_slant_rad: float | None = 0.0

    @cached_property
    def guide(self) -> GuidedLever | None:
        """The guidance of a straight-line lever."""
        return lane_guidance(self.lane)

    @property
    def station(self) -> complex:
        """Direction of the station line, of length 1."""
        return complex(np.exp(1j * np.radians(self.profile.station_deg)))

    @property
    def side(self) -> int:
        """+1 where a lever turns counterclockwise as the output grows, else -1; +1 for a slide."""
        model = self.profile.model
        return model.side if isinstance(model, SwingingRollerModel) else 1

    @cached_property
    def pivot(self) -> complex | None:
        """The lever's pivot, machine frame, mm; None for a slide."""
        model = self.profile.model
        if not isinstance(model, SwingingRollerModel):
            return None
        return self.axis + model.pivot * self.station

    @cached_property
    def guide_pivot(self) -> complex | None:
        """The guide link's pivot, machine frame, mm; None for other kinds."""
        if self.guide is None:
            return None
        return complex(self._placed(np.array([self.guide.guide_pivot]))[0])

    @property
    def guide_length_mm(self) -> float:
        """Length of a slide's guide, mm; raises FollowerLayoutError where the follower's record has none."""
        if isinstance(self.profile.follower, TranslatingFlat):
            told = (
                f"{self.lane.label}: a flat face has no guide in its record, so that no slide is made for it"
            )
            raise FollowerLayoutError(f"{told}; use a roller, or describe the follower without parts")
        length = getattr(self.profile.follower, "guide_length_mm", None)
        if length is None:
            told = f"{self.lane.label}: guide_length_mm is required for a slide"
            raise FollowerLayoutError(told, "follower.guide_length_mm", 30.0)
        return float(length)

    @cached_property
    def guide_start(self) -> complex | None:
        """The inner end of a slide's guide on its line of travel, machine frame, mm; None for levers.

        Raises FollowerLayoutError where the follower's record does not say where it begins.
        """
        follower = self.profile.follower
        if self.pivot is not None:
            return None
        start = getattr(follower, "guide_start_mm", None)
        offset = self.profile.offset_mm
        if start is None or start <= abs(offset):
            raise FollowerLayoutError(f"{self.lane.label}: guide_start_mm is required for a slide")
        return self.axis + complex(sqrt(start**2 - offset**2), -offset) * self.station

    def lift_mm(self, master_deg: Reals) -> Reals:
        """Return the lift at angles of the master shaft: (n,) degrees -> (n,) mm."""
        own = wrap(np.asarray(master_deg, np.float64) * self.turns)
        return np.asarray(lift_of(self.profile.follower, self.motion.at(own))[0])

    def points(self, master_deg: Reals) -> FollowerPoints:
        """Return the key points at angles of the master shaft: (n,) degrees -> (n,) mm."""
        return self.points_at(self.lift_mm(master_deg))

    def points_at(self, lift_mm: Reals) -> FollowerPoints:
        """Return the key points at lifts: (n,) mm -> (n,) mm."""
        roller = self.axis + self.profile.model.centre(lift_mm)[0] * self.station
        hook_mm = self.parts.spring_hook_mm
        if self.pivot is None:
            hook = None if hook_mm is None else roller + hook_mm * self.station
            return FollowerPoints(roller, roller + self.parts.arm_mm * self.station, hook)
        along = (roller - self.pivot) / np.abs(roller - self.pivot)
        hook = None if hook_mm is None else self.pivot + hook_mm * along
        if self.guide is None:
            return FollowerPoints(roller, self.pivot + self.parts.output_mm * along, hook)
        joint, output, far = self._placed(self.guide.joints(lift_mm / self.parts.arm_mm))
        return FollowerPoints(roller, output, hook, joint, far)

    def _placed(self, points: Points) -> Points:
        """Return points of the guidance's own frame in the machine frame, any shape, mm."""
        assert self.guide is not None
        assert self.pivot is not None
        base = self.axis + self.profile.model.centre(np.zeros(1))[0][0] * self.station - self.pivot
        middle = base / abs(base) * np.exp(-1j * self.side * self.guide.start_rad)
        return np.asarray(self.pivot + middle * (points if self.side > 0 else np.conj(points)))

    @cached_property
    def line(self) -> tuple[complex, complex]:
        """Where the output is at output 0, and the direction in which it goes, of length 1."""
        path = self.points_at(np.linspace(0.0, self.greatest_lift_mm, SAMPLES)).output
        return complex(path[0]), straight_fit(path).along

    @cached_property
    def greatest_lift_mm(self) -> float:
        """Lift at the highest output of the program, mm."""
        values = np.zeros((4, 1))
        values[0] = max(self.motion.highest_mm, 1e-3)
        return float(lift_of(self.profile.follower, values)[0][0])

    @cached_property
    def figures(self) -> FollowerFigures:
        """What the follower does over its travel."""
        lift, travel = self.greatest_lift_mm, max(self.motion.highest_mm, 1e-3)
        path = self.points_at(np.linspace(0.0, lift, SAMPLES)).output
        off = 0.0 if self.pivot is None else straight_fit(path).deviation_mm
        swing = 0.0 if self.pivot is None else float(np.degrees(lift / self.parts.arm_mm))
        parts, pivots = COUNTS[self.parts.kind]
        return FollowerFigures(travel / lift, travel, lift, swing, off, parts, pivots)

    def own_axis(self, code: str, points: FollowerPoints) -> tuple[complex, complex]:
        """Return the origin of a moving part and a point on its +x axis, at the first of the points, mm."""
        if code.endswith("-1") and points.joint is not None and points.far is not None:
            return complex(points.joint[0]), complex(points.far[0])
        if code.endswith("-2") and self.guide_pivot is not None and points.far is not None:
            return self.guide_pivot, complex(points.far[0])
        if self.pivot is not None:
            return self.pivot, complex(points.roller[0])
        return complex(points.roller[0]), complex(points.output[0])

    @cached_property
    def spring_ends(self) -> tuple[complex, complex] | None:
        """The middle of the spring's hook and the axis of its rod, at output 0, mm; None without a hook.

        The length of a spring is measured inside its loops: from the edge of the hook's hole that it pulls at
        to the far side of the rod.
        """
        hooks = self.points_at(np.array([0.0, SQUARE_MM])).hook
        if hooks is None:
            return None
        out, spring = complex(hooks[1] - hooks[0]), self.spring
        long = SPRING_MM if spring is None else spring.installed_mm
        pull = -out / abs(out) * (long + HOOK_MM / 2 - SPRING_ROD_MM / 2)
        turn = complex(np.exp(1j * self.side * (self.spring_slant_rad or 0.0)))
        return complex(hooks[0]), complex(hooks[0]) + pull * turn

    @property
    def spring(self) -> CoilSpring | None:
        """The extension spring that its hook is for; None where none is described."""
        load = self.lane.load
        spring = None if load is None or self.parts.spring_hook_mm is None else load.spring
        return spring if spring is not None and spring.kind == "extension" else None

    @property
    def spring_rod(self) -> complex | None:
        """The axis of the rod that the spring of a lever hooks on, mm; None where it needs none."""
        if self.pivot is None or self.spring is None or self.spring_slant_rad is None:
            return None
        return None if self.spring_ends is None else self.spring_ends[1]

    @property
    def output_play_mm(self) -> float:
        """How far the output can be shifted to each side by the clearances of rods and screws, mm.

        The roller stays on its disc: a lever turns about it by what its pivot's bore leaves. A link adds what
        its own joints leave. A slide has what its guide leaves.
        """
        if self.pivot is None:
            return SLIDING_MM
        end = TURNING_MM * max(1.0, abs(self.parts.output_mm / self.parts.arm_mm - 1))
        if self.guide is None:
            return end
        share = self.guide.point_mm / self.guide.coupler_mm
        return (1 - share) * (end + TURNING_MM) + share * 2 * TURNING_MM

    @property
    def rod_top_mm(self) -> float:
        """Height of the upper face of the highest lever on the pivot's rod, mm."""
        return self.bands.levers[-1].top_mm if self.shared_top_mm is None else self.shared_top_mm

    @property
    def link_band(self) -> HeightBand:
        """Heights of the coupler: above the lever, a washer between."""
        lever = self.bands.levers[-1]
        bottom = lever.top_mm + self.lane.follower.washer_mm
        return HeightBand(bottom, bottom + self.parts.thickness_mm)

    def placements(self) -> Iterator[Placement]:
        """Yield the made parts where they are over the cycle."""
        yield from self._moving()
        yield from self._brackets()

    def _moving(self) -> Iterator[Placement]:
        letter = "S" if self.pivot is None else "L"
        code = part_code(self.lane, letter)
        for number, band in enumerate(self.bands.levers, start=1):
            name = code if len(self.bands.levers) == 1 else f"{code} {number}"
            yield Placement(code, name, f"follower {self.lane.id}", band.bottom_mm, self._main_course())
        if self.guide is not None:
            code = part_code(self.lane, "G", 1)
            yield Placement(code, code, f"coupler {self.lane.id}", self.link_band.bottom_mm, self._coupler())
            code, low = part_code(self.lane, "G", 2), self.bands.levers[-1].bottom_mm
            yield Placement(code, code, f"guide link {self.lane.id}", low, self._guide_link())

    def _main_course(self) -> Course:
        """Return the course of slide or lever."""

        def course(master_deg: Reals) -> PlanPose:
            """Return the pose at angles of the master shaft, degrees."""
            roller = self.points(master_deg).roller
            if self.pivot is None:
                return PlanPose(roller, np.full(len(roller), self.station))
            along = roller - self.pivot
            return PlanPose(np.full(len(roller), self.pivot), along / np.abs(along))

        return course

    def _coupler(self) -> Course:
        def course(master_deg: Reals) -> PlanPose:
            """Return the pose of the coupler at angles of the master shaft, degrees."""
            points = self.points(master_deg)
            assert points.joint is not None
            assert points.far is not None
            along = points.far - points.joint
            return PlanPose(points.joint, along / np.abs(along))

        return course

    def _guide_link(self) -> Course:
        def course(master_deg: Reals) -> PlanPose:
            """Return the pose of the guide link at angles of the master shaft, degrees."""
            points = self.points(master_deg)
            assert points.far is not None
            assert self.guide_pivot is not None
            along = points.far - self.guide_pivot
            return PlanPose(np.full(len(along), self.guide_pivot), along / np.abs(along))

        return course

    def _brackets(self) -> Iterator[Placement]:
        code = part_code(self.lane, "K")
        places = [self.guide_start] if self.pivot is None else [self.pivot]
        if self.guide_pivot is not None:
            places.append(self.guide_pivot)
        for number, at in enumerate(places, start=1):
            assert at is not None
            name = code if len(places) == 1 else f"{code} {number}"
            turned = float(np.degrees(np.angle(self.bracket_turn(at))))
            yield Placement(code, name, "frame", self.floor_mm, standing(at, turned))

    def bracket_turn(self, at: complex) -> complex:
        """Return the direction, of length 1, of the foot of a bracket at a pivot: away from the shaft.

        at: the pivot, machine frame, mm.
        """
        if self.pivot is None:
            return self.station
        away = at - self.axis
        return 1j * away / abs(away)


COUNTS = {"slide": (2, 0), "lever": (2, 1), "straight-line": (5, 4)}
"""By kind: how many parts are made, and how many pivots there are."""


def part_code(lane: Lane, letter: str, number: int = 0) -> str:
    """Return the code of a part of a lane's follower: "B1-L", or "B1-G-2" where there are several."""
    return f"{lane.code}-{letter}" + (f"-{number}" if number else "")


def machine_follower(
    solution: Solution, solved: LaneSolution, seats: Mapping[str, LeverSeat], axis: complex = 0j
) -> FollowerLayout | None:
    """Return how a lane's follower is laid out among all others: its post may be on a lever below.

    seats: of all levers of the machine. axis: of its stack, mm. Raises FollowerLayoutError where the parts
    cannot be.
    """
    seat = seats.get(solved.lane.id)
    key = ("follower", solved, seat, axis)
    return once(solution, key, lambda: _among_others(solution, solved, seat, axis))


def _among_others(
    solution: Solution, solved: LaneSolution, seat: LeverSeat | None, axis: complex
) -> FollowerLayout | None:
    made = follower_layout(solution.project, solved, axis, None if seat is None else seat.floor_mm)
    if made is None or seat is None:
        return made
    in_frame = solution.project.frame is not None and (seat.is_shared or _passes_hub(solution.project, made))
    made = replace(made, is_sleeve=seat.is_sleeve, rod_in_frame=in_frame, shared_top_mm=seat.top_mm)
    from shaftscore.layout.spring_clear import with_spring_room  # which reads layouts itself

    return with_spring_room(solution, made)


def _passes_hub(project: Project, layout: FollowerLayout) -> bool:
    """Return whether the rod of a lever passes the hub and the pinions over its stack on its way up."""
    stack = project.stack_of(layout.lane)
    if stack.driven_end == "bottom":  # its post passes them
        return True
    try:
        plan = None if stack.hub is None else hub_plan(project, stack)
        pinions = train_parts(project) if stack is project.stacks[0] else ()
        round_ = [] if plan is None else [(0j, plan.reach_mm)]
        round_ += [(part.plan.stage.driver_at, part.reach_mm) for part in pinions]
    except ValueError:  # a finding says why
        return True
    at = (layout.pivot or 0j) - layout.axis
    least = layout.parts.pivot_rod_mm / 2 + stack.body_clearance_mm
    return all(abs(at - middle) >= radius + least for middle, radius in round_)


def follower_layout(
    project: Project, solved: LaneSolution, axis: complex = 0j, floor_mm: float | None = None
) -> FollowerLayout | None:
    """Return how a lane's follower is laid out as parts; None where the lane has none or no profile.

    axis: of its stack, mm. floor_mm: height of the face that brackets stand on, that of the frame's bottom
    plate if None. Raises FollowerLayoutError where they cannot be.
    """
    lane, profile, motion = solved.lane, solved.profile, solved.motion
    if lane.parts is None or profile is None or motion is None:
        return None
    stack = project.stack_of(lane)
    layer = stack_plan(project, stack).disc(lane.disc_of or lane.id)
    bands = follower_bands(project, lane, layer)
    if bands is None:
        told = f"{lane.label}: arm_thickness_mm of the follower is required for its parts"
        raise FollowerLayoutError(told, "follower.arm_thickness_mm", lane.parts.thickness_mm)
    floor = bracket_floor_mm(project, stack) if floor_mm is None else floor_mm
    made = FollowerLayout(lane, profile, motion, solved.turns, lane.parts, bands, axis, floor)
    _check(made)
    return made


def half_width_mm(lane: Lane) -> float:
    """Return half the width of a lever or bar in plan view, mm: as interference takes it."""
    follower = lane.follower
    if follower.body_width_mm is not None:
        return follower.body_width_mm / 2
    if isinstance(follower, TranslatingFlat):
        return follower.face_width_mm / 2
    return follower.roller_radius_mm


def _check(layout: FollowerLayout) -> None:
    """Refuse parts that would not reach or would meet themselves, and a pivot that is elsewhere."""
    if layout.pivot is None:
        _check_slide(layout)
        return
    given = layout.parts.pivot
    if given is None:
        return
    there = (layout.pivot - layout.axis) / layout.station
    if abs(there - complex(given.x_mm, given.y_mm)) > PIVOT_MM:
        at = f"{plain(there.real, 2)} and {plain(there.imag, 2)} mm"
        told = f"{plain(given.x_mm)} and {plain(given.y_mm)} mm"
        what = f"{layout.lane.label}: the pivot is at {at} of the station line, not at {told}"
        raise FollowerLayoutError(what, "parts.pivot", None)


def _check_slide(layout: FollowerLayout) -> None:
    parts = layout.parts
    length, start, label = layout.guide_length_mm, layout.guide_start, layout.lane.label
    assert start is not None, "a slide has a guide"
    roller = layout.points_at(np.zeros(1)).roller[0]
    inner = float(((start - roller) * np.conj(layout.station)).real)
    least = inner + length + parts.output_hole_mm / 2 + WALL_MM + 1.0
    if parts.arm_mm < least:
        told = f"{millimetres(parts.arm_mm)} from its roller, inside the guide"
        what = f"{label}: the output is {told}; at least {millimetres(least)} required"
        raise FollowerLayoutError(what, "parts.arm_mm", up_to(least, CURE_MM))
    if layout.greatest_lift_mm + half_width_mm(layout.lane) > inner:
        more = layout.greatest_lift_mm + half_width_mm(layout.lane) - inner
        what = f"{label}: the roller would run into the guide, which begins {millimetres(inner)} from it"
        reached = abs(start - layout.axis) + more + CURE_MM
        raise FollowerLayoutError(what, "follower.guide_start_mm", up_to(reached, CURE_MM))
