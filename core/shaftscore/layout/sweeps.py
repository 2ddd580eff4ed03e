"""What followers and discs sweep in plan view over a whole cycle, whatever their heights.

A pillar passes all heights, so it must stay out of all of it. A sweep is made of *bands*: all points within
a radius of a segment (a circle is a segment of no length). A bar that moves straight goes on to what it
moves, so its band has no end unless one is set. A lever sweeps from its pivot to its roller or its output,
whichever is farther out; bands of its poses are wider by half a step, so that nothing between them is missed.

Frame: axis of the stack at the origin, x along station 0°, as seen from the top, mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from shaftscore.base.once import once
from shaftscore.built.arrays import Flags
from shaftscore.kinematics.followers import Points, Reals, SwingingRollerModel, lift_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.followers import (
    FollowerLayout,
    follower_layout,
    half_width_mm,
)
from shaftscore.layout.frame_plan import SPRING_ROD_MM
from shaftscore.layout.reach import disc_reach_mm, lanes_on
from shaftscore.model import Stack, SwingingRoller, TranslatingFlat
from shaftscore.solution import LaneSolution, Solution

FAR_MM = 2000.0
"""Length to which the band of a bar is looked at."""

STEP_DEG = 1.0
"""Angle between the poses of a lever."""

ROWS = 64
"""Bands that are held against all of another sweep at a time, so that no table of all pairs is made."""


@dataclass(frozen=True, eq=False)
class SweptBands:
    """Bands: segments from start to end, (n,) mm, and how far from them a band reaches, (n,) mm."""

    start: Points
    end: Points
    radius_mm: Reals

    @classmethod
    def of(cls, bands: Iterable[tuple[complex, complex, float]]) -> SweptBands:
        """Make bands of (start, end, radius), mm."""
        start, end, radius = zip(*bands, strict=True)
        return cls(np.array(start, np.complex128), np.array(end, np.complex128), np.array(radius))

    @classmethod
    def joined(cls, sweeps: Iterable[SweptBands]) -> SweptBands:
        """Return all bands of several sweeps together."""
        all_ = tuple(sweeps)
        return cls(
            np.concatenate([one.start for one in all_]),
            np.concatenate([one.end for one in all_]),
            np.concatenate([one.radius_mm for one in all_]),
        )

    def shifted(self, by: complex) -> SweptBands:
        """Return the bands moved by `by` mm."""
        return SweptBands(self.start + by, self.end + by, self.radius_mm)

    def is_near(self, other: SweptBands) -> bool:
        """Return whether the boxes about the bands of two sweeps meet: if not, none of the bands do."""
        low, high = self._box_mm
        other_low, other_high = other._box_mm
        return bool(np.all(low <= other_high) and np.all(other_low <= high))

    @cached_property
    def _box_mm(self) -> tuple[Reals, Reals]:
        """Least and greatest x and y of all bands, mm, (2,) each."""
        ends = np.stack([self.start, self.end])
        places = np.stack([ends.real, ends.imag])
        return (places - self.radius_mm).min(axis=(1, 2)), (places + self.radius_mm).max(axis=(1, 2))

    def from_point(self, at: complex) -> float:
        """Return the distance of a point from the nearest band, mm, negative inside."""
        return float(np.min(_to_segments(np.array(at), self.start, self.end) - self.radius_mm))

    def from_bands(self, other: SweptBands) -> float:
        """Return the distance of the nearest band of another sweep, mm; 0 or less where they overlap.

        Two segments are at most as far apart as their middles, and nearer by at most half their lengths: only
        pairs that can be the nearest by that are looked at.
        """
        best = np.inf
        for first in range(0, len(self.start), ROWS):
            some = self._rows(slice(first, first + ROWS))
            between = np.abs(some._middle[:, None] - other._middle)
            between -= some.radius_mm[:, None] + other.radius_mm
            best = min(best, float(np.min(between)))
            one, two = np.nonzero(between - some._half_mm[:, None] - other._half_mm < best)
            best = float(np.min(some._rows(one)._one_by_one(other._rows(two)), initial=best))
        return best

    @property
    def _middle(self) -> Points:
        return (self.start + self.end) / 2

    @property
    def _half_mm(self) -> Reals:
        return np.asarray(np.abs(self.end - self.start) / 2)

    def _rows(self, rows: slice | npt.NDArray[np.intp]) -> SweptBands:
        """Return some of the bands."""
        return SweptBands(self.start[rows], self.end[rows], self.radius_mm[rows])

    def _one_by_one(self, other: SweptBands) -> Reals:
        """Return the distance of each band from that of the same number in another sweep, (n,) mm."""
        apart = np.minimum.reduce(
            [
                _to_segments(self.start, other.start, other.end),
                _to_segments(self.end, other.start, other.end),
                _to_segments(other.start, self.start, self.end),
                _to_segments(other.end, self.start, self.end),
            ]
        )
        return np.asarray(np.where(_cross(self, other), 0.0, apart) - self.radius_mm - other.radius_mm)


def _to_segments(points: Points, start: Points, end: Points) -> Reals:
    """Return the distances of points from segments, mm; the shapes broadcast."""
    along = end - start
    own = points - start
    length = np.maximum(np.abs(along) ** 2, 1e-30)
    share = np.clip((own * np.conj(along)).real / length, 0.0, 1.0)
    return np.asarray(np.abs(own - share * along))


def _cross(one: SweptBands, other: SweptBands) -> Flags:
    """Return which segments of two sweeps cross those of the same number: (n,)."""

    def side(start: Points, end: Points, point: Points) -> Reals:
        return np.asarray((np.conj(end - start) * (point - start)).imag)

    a, b, c, d = one.start, one.end, other.start, other.end
    apart = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return np.asarray(apart)


def swept(solution: Solution, stack: Stack, bar_mm: float = FAR_MM) -> SweptBands:
    """Return what the discs and followers of a stack sweep.

    bar_mm: how far bars that move straight are looked at, from their rollers.
    """
    return once(solution, ("swept", stack, bar_mm), lambda: _swept(solution, stack, bar_mm))


def _swept(solution: Solution, stack: Stack, bar_mm: float) -> SweptBands:
    discs = SweptBands.of([(0j, 0j, disc_reach_mm(solution, stack))])
    followers = (_follower(solution, lane, bar_mm) for lane in lanes_on(solution, stack))
    return SweptBands.joined([discs, *followers])


def _follower(solution: Solution, lane: LaneSolution, bar_mm: float) -> SweptBands:
    """Return what a follower sweeps: its parts where they are described, else its usual shape."""
    layout = follower_layout(solution.project, lane)
    if layout is None:
        return follower_sweep(lane, bar_mm)
    from shaftscore.layout.spring_clear import with_spring_room  # which reads sweeps itself

    return parts_sweep(with_spring_room(solution, layout))


def parts_sweep(layout: FollowerLayout) -> SweptBands:
    """Return what the parts of a follower sweep, the axis of its stack at 0."""
    count = max(2, int(np.degrees(layout.greatest_lift_mm / layout.parts.arm_mm) / STEP_DEG) + 2)
    points = layout.points_at(np.linspace(0.0, layout.greatest_lift_mm, count))
    half = half_width_mm(layout.lane)
    if layout.pivot is None:
        half = max(half, layout.profile.model.roller_radius_mm)
        whole = SweptBands.of([(complex(points.roller[0]), complex(points.output[-1]), half)])
        return whole.shifted(-layout.axis)
    pivot = np.full(count, layout.pivot)
    pieces = [(pivot, points.roller), (pivot, points.output if points.joint is None else points.joint)]
    if points.joint is not None and points.far is not None and layout.guide_pivot is not None:
        pieces += [(points.joint, points.far), (points.far, np.full(count, layout.guide_pivot))]
    bands = [_poses(start, end, half) for start, end in pieces]
    bands.append(_poses(points.roller, points.roller, layout.profile.model.roller_radius_mm))
    spring = layout.spring_rod
    if spring is not None:
        bands.append(SweptBands.of([(spring, spring, SPRING_ROD_MM / 2)]))
    return SweptBands.joined(bands).shifted(-layout.axis)


def _poses(start: Points, end: Points, half_mm: float) -> SweptBands:
    """Return successive poses of a bar, each wider by half of what its ends move to the next."""
    steps = np.maximum(np.abs(np.diff(start)), np.abs(np.diff(end)))
    between = np.maximum(np.append(steps, 0.0), np.append(0.0, steps)) / 2
    return SweptBands(start, end, half_mm + between)


def follower_sweep(lane: LaneSolution, bar_mm: float = FAR_MM) -> SweptBands:
    """Return what a follower sweeps; its lane has a profile and a motion. bar_mm: as in `swept`."""
    assert lane.profile is not None
    assert lane.motion is not None
    lifts = _lifts(lane.profile, lane.motion)
    if isinstance(lane.profile.model, SwingingRollerModel):
        return _of_lever(lane.profile, lane.profile.model, lifts)
    return _of_bar(lane.profile, lifts, bar_mm)


def _lifts(profile: Profile, motion: LaneMotion) -> tuple[float, float]:
    """Return the least and the greatest lift of the roller, mm."""
    values = np.zeros((4, 2))
    values[0] = motion.lowest_mm, motion.highest_mm
    low, high = lift_of(profile.follower, values)[0]
    return float(low), float(high)


def _of_bar(profile: Profile, lifts: tuple[float, float], bar_mm: float) -> SweptBands:
    """Return the band of a bar: from its roller at the least lift outward."""
    follower, model = profile.follower, profile.model
    half = max(model.roller_radius_mm, (follower.body_width_mm or 0.0) / 2)
    if isinstance(follower, TranslatingFlat):
        half = max(half, follower.face_width_mm / 2)
    station = complex(np.exp(1j * np.radians(profile.station_deg)))
    near = complex(model.centre(np.array([lifts[0]]))[0][0])
    far = near + (lifts[1] - lifts[0]) + bar_mm
    return SweptBands.of([(near * station, far * station, half)])


def _of_lever(profile: Profile, model: SwingingRollerModel, lifts: tuple[float, float]) -> SweptBands:
    """Return what a lever sweeps: its poses between both ends of its travel, close together."""
    follower = profile.follower
    assert isinstance(follower, SwingingRoller)
    station = complex(np.exp(1j * np.radians(profile.station_deg)))
    swing = (lifts[1] - lifts[0]) / model.arm_mm
    count = max(2, int(np.degrees(swing) / STEP_DEG) + 2)
    centres = model.centre(np.linspace(*lifts, count))[0]
    far = max(model.arm_mm, follower.output_arm_mm or 0.0)
    ends = model.pivot + (centres - model.pivot) / model.arm_mm * far
    half = max((follower.body_width_mm or 0.0) / 2, follower.pivot_rod_mm / 2)
    between = far * swing / (count - 1) / 2
    pivot = np.full(count, model.pivot * station)
    bars = SweptBands(pivot, ends * station, np.full(count, half + between))
    roller = np.full(count, model.roller_radius_mm + between)
    return SweptBands.joined([bars, SweptBands(centres * station, centres * station, roller)])
