"""Stuck lane: what a jam of one lane does to its parts, and what protects them.

A *jam*: the output of a lane cannot move while the drive turns on. The drive then pushes with all that it
has: at the roller, along its travel, F = T η / s', the torque that reaches the lane's stack over the lift by
radian (power balance T ω = F v, without friction, which only takes some of it). F has no bound where s'
nears 0, at the ends of a move, so it is capped at the strength of the weakest part. A spring-closed follower
jams on rises alone: on falls its disc leaves it, and nothing but its spring pulls. A groove pushes both
ways.

*Guarded places* are those of a move between 5 % and 95 % of its lift (common practice, no source): beyond
them no setting of a clutch protects, since the force of any torque grows without bound; what is left of the
lift there is what parts must give way by.

A *clutch*, or a limit of the motor's current, slips at a torque of the master shaft. It must carry the peak
with the drive's reserve, and slip before the weakest part yields: at most its torque / 1.5. Torque of other
lanes, and the momentum of motor and discs, are not counted. Angles are of the master shaft.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, isfinite

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.bringup.strengths import LaneStrengths, edge_forces_n, lane_strengths
from shaftscore.built.arrays import Flags, Reals
from shaftscore.judge.loads import LaneLoads, MachineLoads
from shaftscore.judge.loads.drive import starting_torque_nm
from shaftscore.kinematics.course import StackCourse
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.pivots import lever_seats, pivot_axle
from shaftscore.model import CrankSource, Drive, MotorSource, Project
from shaftscore.solution import LaneSolution, Solution

PART_RESERVE = 1.5
"""Strength of the weakest part over the torque at which a clutch may slip."""

END_SHARE = 0.05
"""Share of a move's lift at each of its ends that no clutch protects (common practice, no source)."""

EDGE = "Edge of the disc under the roller"
"""Name of the line contact among the parts."""


@dataclass(frozen=True)
class WeakestPart:
    """The part that yields first at the guarded places of a lane.

    name: of the part. theta_deg: where it takes the least torque. torque_nm: at the lane's own stack, at
    which it yields there. force_n: at the roller, along its travel, then.
    """

    name: str
    theta_deg: float
    torque_nm: float
    force_n: float


@dataclass(frozen=True, eq=False)
class StuckLane:
    """What a jam of one lane does.

    torque_nm: that the drive gives at the lane's own stack at a standstill, None without a drive. weight:
    torque of the master shaft by that of the stack on the average. theta_deg, slope_mm: places of the moves
    that push, (n,) degrees of the circle of the lane's round, and lift by radian there, (n,) mm, times the
    gearing. gearing: (n,) speed of the stack there by its mean speed, 1 unless it is stepped. guarded: (n,)
    which of them are guarded places. end_mm: the most lift that is left at the end of a move that is not
    guarded. strengths: of its parts.
    edge_n: (n,) force at which the disc's edge yields, None if not known. beside: labels of the lanes that
    turn on the same rod or ride on the same disc. carried_n: the greatest force along the travel that the
    lane takes in normal running, with the drive's reserve, None where its forces are not described.
    """

    solved: LaneSolution
    torque_nm: float | None
    weight: float
    theta_deg: Reals
    slope_mm: Reals
    guarded: Flags
    end_mm: float
    strengths: LaneStrengths
    edge_n: Reals | None
    beside: tuple[str, ...]
    gearing: Reals
    carried_n: float | None = None

    @property
    def label(self) -> str:
        """The lane's name for people."""
        return self.solved.lane.label

    def force_n(self, torque_nm: float) -> Reals:
        """Return the force that a torque of the stack in N·m makes at the roller, (n,) N; without a cap."""
        return np.asarray(1000 * torque_nm / self.slope_mm)

    @cached_property
    def least_force(self) -> tuple[float, float] | None:
        """The least force of a jam under the drive's full torque, N, and where: at the steepest place.

        None without a drive, or where nothing pushes.
        """
        if self.torque_nm is None or not len(self.slope_mm):
            return None
        at = int(np.argmax(self.slope_mm))
        return float(1000 * self.torque_nm / self.slope_mm[at]), float(self.theta_deg[at])

    @cached_property
    def yield_torques(self) -> Mapping[str, Reals]:
        """By part, the torque of the stack at which it yields, (n,) N·m."""
        slope = self.slope_mm / 1000
        found: dict[str, Reals] = {}
        if self.edge_n is not None:
            found[EDGE] = self.edge_n * slope
        for part in self.strengths.parts:
            own = part.force_n * slope if part.force_n is not None else self.gearing * (part.torque_nm or 0.0)
            found[part.name] = np.minimum(found[part.name], own) if part.name in found else own
        return found

    @cached_property
    def weakest(self) -> WeakestPart | None:
        """The part that yields first at the guarded places; None where no strength is known."""
        best: WeakestPart | None = None
        for name, torques in self.yield_torques.items():
            if not np.any(self.guarded):
                return None
            guarded = np.where(self.guarded, torques, inf)
            at = int(np.argmin(guarded))
            torque = float(guarded[at])
            if isfinite(torque) and (best is None or torque < best.torque_nm):
                force = float(1000 * torque / self.slope_mm[at])
                best = WeakestPart(name, float(self.theta_deg[at]), torque, force)
        return best

    @cached_property
    def capped_n(self) -> Reals:
        """The force under the drive's full torque, capped at what the weakest part there stands, (n,) N."""
        limits = [1000 * torques / self.slope_mm for torques in self.yield_torques.values()]
        pushed = self.force_n(self.torque_nm or 0.0)
        return np.asarray(np.minimum.reduce([pushed, *limits]))

    @cached_property
    def most_link_n(self) -> float:
        """The most force, N, at which a link in the follower must give way; inf if not known.

        At the roller, along its travel: such a link limits the force itself, so it protects at every place.
        """
        edge = [] if self.edge_n is None else [float(np.min(self.edge_n, initial=inf))]
        own = [part.force_n for part in self.strengths.parts if part.force_n is not None]
        return min([*edge, *own], default=inf) / PART_RESERVE

    @property
    def link_exists(self) -> bool | None:
        """Whether a link can carry the lane and still protect it; None where one limit is not known."""
        if self.carried_n is None or not isfinite(self.most_link_n):
            return None
        return self.carried_n <= self.most_link_n

    @property
    def is_broken(self) -> bool:
        """Whether the drive is strong enough to break something at a guarded place."""
        known = self.weakest is not None and self.torque_nm is not None
        return known and (self.torque_nm or 0.0) >= (self.weakest.torque_nm if self.weakest else inf)

    @property
    def most_slip_nm(self) -> float:
        """The most torque of the master shaft at which a clutch protects the lane, N·m; inf if not known."""
        return inf if self.weakest is None else self.weakest.torque_nm * self.weight / PART_RESERVE


@dataclass(frozen=True, eq=False)
class SlipTorque:
    """The torque of the master shaft at which a clutch or current limit must slip, N·m.

    least_nm: that it must carry, None where forces are not described. most_nm: at which it must slip, inf
    where no strength is known; by: the lane that asks for it. stall_nm: what reaches the shaft at a
    standstill of the source, None without a drive.
    """

    least_nm: float | None
    most_nm: float
    by: StuckLane | None
    stall_nm: float | None

    @property
    def exists(self) -> bool | None:
        """Whether there is a setting; None where one of its limits is not known."""
        if self.least_nm is None or not isfinite(self.most_nm):
            return None
        return self.least_nm <= self.most_nm

    @property
    def is_needed(self) -> bool:
        """Whether the drive can give more than the weakest part may take."""
        return self.stall_nm is not None and self.stall_nm > self.most_nm

    @property
    def setting_nm(self) -> float | None:
        """A setting midway, N·m; None where there is none."""
        return (self.least_nm + self.most_nm) / 2 if self.exists and self.least_nm is not None else None

    @property
    def stall_shares(self) -> tuple[float, float] | None:
        """The setting as shares of the torque at a standstill, least and most; None where it is not needed.

        A motor's current grows with its torque, so that these are shares of its current at a standstill.
        """
        if not self.exists or not self.is_needed or self.least_nm is None or not self.stall_nm:
            return None
        return self.least_nm / self.stall_nm, self.most_nm / self.stall_nm


@dataclass(frozen=True, eq=False)
class StuckLanes:
    """All lanes that can jam, in file order, and what protects them."""

    project: Project
    lanes: tuple[StuckLane, ...]
    slip: SlipTorque


def stuck_lanes(solution: Solution, loads: MachineLoads) -> StuckLanes:
    """Return what a jam of every lane with a disc profile does."""
    project, seats = solution.project, lever_seats(solution)
    drive = project.drive
    stall = None if drive is None else starting_torque_nm(drive)
    beside = _beside(solution)
    carried = {lane_id: _carried_n(own, drive) for lane_id, own in loads.lanes.items()}
    lanes = tuple(
        replace(
            _stuck(project, one, stall, lane_strengths(solution, one, seats), beside.get(one.lane.id, ())),
            carried_n=carried.get(one.lane.id),
        )
        for one in solution.lanes.values()
        if one.profile is not None
    )
    return StuckLanes(project, lanes, _slip(lanes, loads, drive, stall))


def _carried_n(loads: LaneLoads, drive: Drive | None) -> float | None:
    """Return the greatest force along the travel on moves that push, N, with the reserve of the drive."""
    forces = loads.nominal.driving_n[loads.profile.nodes.rise != 0]
    if not len(forces) or not np.all(np.isfinite(forces)):
        return None
    return float(np.max(np.abs(forces))) * (1.5 if drive is None else drive.torque_reserve)


def _stuck(
    project: Project,
    solved: LaneSolution,
    stall_nm: float | None,
    strengths: LaneStrengths,
    beside: tuple[str, ...],
) -> StuckLane:
    profile = solved.profile
    assert profile is not None, "it was asked for lanes with a profile"
    stack = project.stack_of(solved.lane)
    course = solved.course
    weight = course.rate / stack.efficiency
    pushes, share, end = _pushing(profile, grooved=solved.lane.follower.closure == "groove")
    nodes = profile.nodes
    own, gearing = _held(course, nodes.theta_deg, pushes)
    at = profile.trace(nodes.theta_deg[pushes], nodes.lift[:, pushes])
    edge = edge_forces_n(project, solved, at)
    return StuckLane(
        solved=solved,
        torque_nm=None if stall_nm is None else stall_nm / weight,
        weight=weight,
        theta_deg=own,
        slope_mm=np.abs(nodes.lift[1][pushes]) * gearing,
        guarded=(share[pushes] >= END_SHARE)
        & (share[pushes] <= 1 - END_SHARE)
        & (gearing >= END_SHARE * np.max(gearing, initial=0.0)),
        gearing=gearing,
        end_mm=end,
        strengths=strengths,
        edge_n=edge,
        beside=beside,
    )


def _held(course: StackCourse, own_deg: Reals, pushes: Flags) -> tuple[Reals, Reals]:
    """Return where the stack is at own angles, (n,), on the circle of its round, degrees, and its gearing.

    Of those that push, (m,) each; places at which a stage holds the stack are taken out of `pushes`.
    """
    if not course.is_stepped:
        return np.asarray(wrap(own_deg[pushes]) / course.turns), np.ones(int(np.sum(pushes)))
    circle = wrap(course.first(np.asarray(wrap(own_deg), np.float64)))
    gearing = course.own(np.asarray(circle))[1] / course.turns
    pushes &= gearing > HELD
    return np.asarray(circle[pushes]), np.asarray(gearing[pushes])


HELD = 1e-3
"""A stepped stack that turns slower than this share of its mean speed is as good as held by its stage."""


def _pushing(profile: Profile, *, grooved: bool) -> tuple[Flags, Reals, float]:
    """Return which nodes a jam pushes at, (m,), their share of the move's lift, (m,), and lift left at ends.

    A move is a run of nodes that rise, or fall.
    """
    nodes = profile.nodes
    rise, lift = nodes.rise, nodes.lift[0]
    pushes = ((rise > 0) | (grooved & (rise < 0))) & (np.abs(nodes.lift[1]) > 1e-9)
    share, end = np.zeros(len(lift)), 0.0
    borders = np.flatnonzero(np.diff(rise) != 0) + 1
    for run in np.split(np.arange(len(lift)), borders):
        first, last = float(lift[run[0]]), float(lift[run[-1]])
        if rise[run[0]] == 0 or first == last or not np.any(pushes[run]):
            continue
        share[run] = (lift[run] - first) / (last - first)
        end = max(end, END_SHARE * abs(last - first))
    return pushes, share, end


def _slip(
    lanes: tuple[StuckLane, ...], loads: MachineLoads, drive: Drive | None, stall_nm: float | None
) -> SlipTorque:
    """Return the slip torque that protects all lanes."""
    peak = loads.camshaft.peak
    known = drive is not None and peak is not None and isfinite(peak.value)
    least = peak.value * drive.torque_reserve if known and peak is not None and drive is not None else None
    by = min(lanes, key=lambda lane: lane.most_slip_nm, default=None)
    most = inf if by is None else by.most_slip_nm
    return SlipTorque(least, most, by if isfinite(most) else None, stall_nm)


def _beside(solution: Solution) -> dict[str, tuple[str, ...]]:
    """Return the labels of the lanes that share a rod of levers or a disc with each lane, by lane."""
    axles = [(one, pivot_axle(one)) for one in solution.lanes.values()]
    groups: list[list[LaneSolution]] = []
    kept: dict[tuple[str, int, int, float], list[LaneSolution]] = {}
    for one, axle in axles:
        if axle is not None:
            key = (one.stack, round(axle.at.real * 100), round(axle.at.imag * 100), axle.rod_mm)
            kept.setdefault(key, []).append(one)
    groups += kept.values()
    discs: dict[str, list[LaneSolution]] = {}
    for one in solution.lanes.values():
        discs.setdefault(one.lane.disc_of or one.lane.id, []).append(one)
    groups += discs.values()
    found: dict[str, dict[str, None]] = {}
    for group in groups:
        for one in group:
            others = {other.lane.label: None for other in group if other is not one}
            found.setdefault(one.lane.id, {}).update(others)
    return {lane: tuple(labels) for lane, labels in found.items()}


def is_rated_alone(drive: Drive) -> bool:
    """Return whether a motor states no torque at a standstill, so that its rated torque stands in."""
    return isinstance(drive.source, MotorSource) and drive.source.stall_torque_nm is None


def is_cranked(drive: Drive) -> bool:
    """Return whether a hand turns the machine."""
    return isinstance(drive.source, CrankSource)
