"""Rollers and flat faces on their discs: the gap at every angle, and the height over which they touch.

The disc's cross-sections come from its file, the follower's place from the lane's program. A *gap* is
measured along the normal of the edge, negative where the follower is inside of the disc. A roller in a groove
has half its clearance on either flank. Where a follower is in the air (on a drop it may fall slower than the
edge does), it may be off its disc, but not in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.layout import PlanPose
from shaftscore.make.assembly.contacts import LIMITS_MM
from shaftscore.make.assembly.meeting import Flags, MeetingPair, Reals, Stretch, stretches_of
from shaftscore.make.assembly.placed import PlacedBody
from shaftscore.make.proof.rim import RimError

Centres = npt.NDArray[np.complex128]
"""Middles of rollers in the frame of a disc, x + iy, (n,) mm."""

InAir = Callable[[Reals], Flags]
"""Whether a follower is off its disc, by angles of the master shaft, (n,)."""

WIDTH_MM = 0.02
"""A follower may touch its disc over this much less than it should."""


def never(master_deg: Reals) -> Flags:
    """Return that a follower is at no angle, (n,) degrees, off its disc: (n,)."""
    return np.zeros(len(master_deg), np.bool_)


@dataclass(frozen=True, eq=False)
class RollingTask:
    """A follower and the disc that it runs on.

    radius_mm: of the roller; None for a flat face, whose pose turns its travel to +x and whose middle is at
    the origin of its frame; half_face_mm: half its width. running_mm: heights of the disc's own frame between
    which its running edge is upright. clearance_mm: of its groove, None without one. width_mm: over which
    they should touch. turned_deg: by which the disc is off its place on the shaft, as its outline is
    corrected for. in_air: whether the follower is off its disc, by angles of the master shaft (n,).
    """

    follower: PlacedBody
    disc: PlacedBody
    radius_mm: float | None
    running_mm: tuple[float, float]
    width_mm: float
    half_face_mm: float = 0.0
    clearance_mm: float | None = None
    turned_deg: float = 0.0
    in_air: InAir = never

    def stretches(self) -> Iterator[Stretch]:
        """Yield the stretches of height, in the machine, at which the follower is beside the running edge.

        Also those with chamfers, in which it must not be either; a groove's alone have no flanks under its
        floor.
        """
        low, high = (self.disc.bottom_mm + height for height in self.running_mm)
        for stretch in stretches_of(self.disc, self.follower):
            middle = (stretch.bottom_mm + stretch.top_mm) / 2
            is_chamfer = stretch.leans and (self.clearance_mm is None or middle > low)
            if low < middle < high or is_chamfer:
                yield stretch


@dataclass(frozen=True)
class RollerProof:
    """What was found of one follower on its disc.

    gap_mm, gap_at_deg: the gap that is farthest from what it should be, less that, and the angle of the
    master shaft; inf where the follower is beside no edge. first_deg: the first angle at which it exceeds
    limit_mm. width_mm, needed_mm: over which they touch, and should.
    """

    follower: str
    disc: str
    lane: str
    gap_mm: float
    gap_at_deg: float
    first_deg: float | None
    limit_mm: float
    width_mm: float
    needed_mm: float

    @property
    def touches(self) -> bool:
        """Whether it is on its disc at every angle."""
        return self.first_deg is None

    @property
    def is_wide_enough(self) -> bool:
        """Whether they touch over the height that they should."""
        return self.width_mm >= self.needed_mm - WIDTH_MM


def prove_rolling(task: RollingTask, master_deg: Reals) -> RollerProof:
    """Measure the gaps of a follower at angles of the master shaft, (n,).

    Raises RimError where the disc cannot be cut, or has no running edge.
    """
    stretches = list(task.stretches())
    seen = MeetingPair(task.disc, task.follower, master_deg)
    back = np.exp(-1j * np.radians(task.turned_deg))
    pose = PlanPose(seen.pose.at * back, seen.pose.turn * back)
    in_air = task.in_air(seen.master_deg)
    gaps = [_stretch_gaps(task, one, pose, in_air) for one in stretches]
    return _proof(task, stretches, gaps, seen.master_deg)


def _stretch_gaps(task: RollingTask, stretch: Stretch, pose: PlanPose, in_air: Flags) -> Reals:
    """Measure the gaps of a stretch, (n,) mm: the worse of both its ends where walls in it lean."""
    looks = (height - task.disc.bottom_mm for height in stretch.looks_mm)
    gaps = np.array([_worse(_gaps(task, height, pose), in_air) for height in looks])
    return _farthest(gaps)


def _farthest(gaps: Reals) -> Reals:
    """Return of several gaps at each angle, (m, n) mm, that which is farthest from 0, (n,)."""
    return np.asarray(gaps[np.argmax(np.abs(gaps), axis=0), np.arange(gaps.shape[1])])


def _proof(
    task: RollingTask, stretches: Sequence[Stretch], gaps: Sequence[Reals], master_deg: Reals
) -> RollerProof:
    limit = LIMITS_MM["rolling"]
    counted = [
        np.minimum(gap, 0.0) if one.leans else gap for one, gap in zip(stretches, gaps, strict=True)
    ]  # a follower is off where walls lean away from it, but not in them
    worst = max(counted, key=lambda gap: float(np.max(np.abs(gap))), default=np.full(1, np.inf))
    at = int(np.argmax(np.abs(worst)))
    (over,) = np.nonzero(np.abs(worst) > limit)
    touching = [
        one.top_mm - one.bottom_mm
        for one, gap in zip(stretches, gaps, strict=True)
        if np.all(np.abs(gap) <= limit)
    ]
    return RollerProof(
        follower=task.follower.name,
        disc=task.disc.name,
        lane=task.follower.lane,
        gap_mm=float(worst[at]),
        gap_at_deg=float(master_deg[at]),
        first_deg=float(master_deg[over[0]]) if len(over) else None,
        limit_mm=limit,
        width_mm=float(sum(touching)),
        needed_mm=task.width_mm,
    )


def _worse(gap: Reals, in_air: Flags) -> Reals:
    """Return gaps, (n,), without those of a follower in the air, which may be as large as they like."""
    return np.where(in_air & (gap > 0), 0.0, gap)


def _gaps(task: RollingTask, height_mm: float, pose: PlanPose) -> Reals:
    """Measure the gaps on a cross-section of the disc less what they should be, (n,) mm."""
    area = task.disc.body.section(height_mm)
    if task.radius_mm is None:
        return _face_gaps(area, pose, task.half_face_mm)
    flanks = _flanks(area, task)
    gaps = [_gap(ring, pose.at, inside=number > 0) - task.radius_mm for number, ring in enumerate(flanks)]
    if task.clearance_mm is None:
        return gaps[0]
    return _farthest(np.array(gaps) - task.clearance_mm / 2)


def _flanks(area: Any, task: RollingTask) -> list[Any]:
    """Return the running edges as rings of shapely: the contour, or the flanks of a groove, inner first."""
    import shapely  # kept off the start-up path

    pieces = sorted(shapely.get_parts(area), key=lambda one: shapely.Polygon(one.exterior).area, reverse=True)
    if task.clearance_mm is None:
        return [pieces[0].exterior]
    if len(pieces) < 2 or not len(pieces[0].interiors):
        raise RimError(f"{task.disc.name}: no groove is found where its follower runs")
    return [pieces[1].exterior, max(pieces[0].interiors, key=lambda ring: shapely.Polygon(ring).area)]


def _gap(ring: Any, centres: Centres, *, inside: bool) -> Reals:
    """Measure how far points (n,) are from a ring, negative beyond it; inside: material is outside of it."""
    import shapely  # kept off the start-up path

    points = shapely.points(centres.real, centres.imag)
    within = shapely.contains_xy(shapely.Polygon(ring), centres.real, centres.imag)
    away = shapely.distance(ring, points)
    return np.asarray(np.where(within == inside, away, -away))


def _face_gaps(area: Any, pose: PlanPose, half_mm: float) -> Reals:
    """Measure how far a flat face is from the corner that reaches farthest along its travel, (n,) mm.

    Only corners within half its width count.
    """
    import shapely  # kept off the start-up path

    corners = shapely.get_coordinates(area) @ np.array([1, 1j])
    gaps = np.empty(len(pose.at))
    for number, (at, travel) in enumerate(zip(pose.at, pose.turn, strict=True)):
        own = (corners - at) * np.conj(travel)
        reach = own.real[np.abs(own.imag) <= half_mm]
        gaps[number] = -reach.max(initial=-np.inf)
    return gaps
