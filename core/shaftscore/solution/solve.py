"""Solving a project: each lane on its own, reusing the results of lanes that did not change.

Two passes, because lanes of one base group share a radius, the largest that any of them asks for: first
every lane's motion, states and wish, then the profiles. A lane whose wish changes without changing the
group's radius leaves the others as they are.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import astuple, dataclass, field
from functools import cached_property, partial
from types import MappingProxyType

from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.kinematics.profiles import Base, largest, may_drop, shares_base
from shaftscore.model import Lane, LevelState, Project, RangeState
from shaftscore.solution.incremental import Incremental, Kept, Reads, runs_of, same_reads
from shaftscore.solution.lane import (
    LaneAhead,
    LaneSolution,
    at_any_speed,
    at_speed_of,
    begun_lane,
    finished_lane,
    is_timeless,
    lane_reads,
)
from shaftscore.solution.together import ahead_of


@dataclass(frozen=True)
class Solution:
    """A project and all its lanes, solved; `reused` counts the lanes taken from the one before.

    kept: what the next solution may take over.
    """

    project: Project
    lanes: Mapping[str, LaneSolution]
    reused: int = 0
    kept: Kept = field(default_factory=dict, repr=False)

    def intervals(self, state: LevelState | RangeState) -> tuple[StateInterval, ...]:
        """Return the intervals of a state, master angles; raises KeyError for an unknown lane."""
        return self.lanes[state.lane].intervals(state)

    def on_stack(self, stack_id: str) -> tuple[LaneSolution, ...]:
        """Return the solved lanes that a stack carries, riders included, in file order."""
        return self._by_stack.get(stack_id, ())

    @cached_property
    def _by_stack(self) -> dict[str, tuple[LaneSolution, ...]]:
        found: dict[str, list[LaneSolution]] = {}
        for lane in self.lanes.values():
            found.setdefault(lane.stack, []).append(lane)
        return {stack_id: tuple(lanes) for stack_id, lanes in found.items()}


def solve(
    project: Project, previous: Solution | None = None, lanes: Collection[str] | None = None
) -> Solution:
    """Solve a project; `previous` gives results to reuse, `lanes` leaves all others out.

    A lane's result is reused when every record that it reads IS the one read before.
    """
    before = previous.lanes if previous else {}
    kept = Incremental(previous.kept if previous else {})
    solved, is_shared = dict[str, LaneSolution](), False
    for number, run in runs_of(_needed(project, lanes)):
        some, shares = _run(project, number, tuple(run), kept)
        solved |= some
        is_shared = is_shared or shares
    bases = _shared_bases(solved) if is_shared else {}
    if is_shared or lanes is not None:
        solved = {
            lane_id: _with_base(project, lane, bases, kept) if shares_base(lane.lane) else lane
            for lane_id, lane in solved.items()
            if lanes is None or lane_id in lanes
        }
    reused = sum(lane is before.get(lane_id) for lane_id, lane in solved.items())
    return Solution(project, MappingProxyType(solved), reused, kept.now)


def changed_lanes(project: Project, previous: Solution) -> frozenset[str]:
    """Return the ids of the lanes that `solve` would solve again: those that read something else now."""
    alike = _same_surroundings(project, previous.project)
    changed: set[str] = set()
    for lane in project.lanes:
        old = previous.lanes.get(lane.id)
        if old is not None and alike and old.lane is lane and _stands_alone(lane):
            continue
        if old is None or not same_reads(old.reads, lane_reads(project, lane)):
            changed.add(lane.id)
    return frozenset(changed)


def work_left(project: Project, previous: Solution) -> int:
    """Return how much `solve` would solve again: blocks, or points, of lanes that read something else now."""
    changed = [project.lane(lane_id) for lane_id in changed_lanes(project, previous)]
    return sum(1 + max(len(lane.blocks), len(lane.points or ())) for lane in changed)


def _needed(project: Project, lanes: Collection[str] | None) -> tuple[Lane, ...]:
    """Return the chosen lanes and all that share a base radius with one of them."""
    if lanes is None:
        return project.lanes
    groups = {lane.disc.base_group for lane in project.lanes if lane.id in lanes and shares_base(lane)}
    return tuple(
        lane
        for lane in project.lanes
        if lane.id in lanes or (shares_base(lane) and lane.disc.base_group in groups)
    )


def _run(
    project: Project, number: int, run: tuple[Lane, ...], kept: Incremental
) -> tuple[dict[str, LaneSolution], bool]:
    """Solve a run of lanes by their ids, and return whether any of them shares its base radius."""
    alone = kept.keep(("alone", number), run, lambda _: all(map(_stands_alone, run)))
    reads = (*run, *_shared_records(project), *(() if alone else (project.lanes,)))

    def solved(inside: Incremental) -> tuple[dict[str, LaneSolution], bool]:
        new = [lane for lane in run if _is_new(project, lane, inside)]
        ahead = ahead_of(project, new) if len(new) > 1 else {}
        found = {lane.id: _kept(project, lane, inside, ahead.get(lane.id)) for lane in run}
        return found, any(map(shares_base, run))

    return kept.keep_together(("lanes", number), reads, solved)


def _is_new(project: Project, lane: Lane, kept: Incremental) -> bool:
    """Return whether `_kept` would solve a lane, since it reads something else than before."""
    key = ("lane", lane.id)
    if key not in kept.before or kept.holds(key, _around(project, lane)):
        return key not in kept.before
    by_reads = kept.inside(key)
    if by_reads.holds("reads", lane_reads(project, lane)):
        return False
    any_speed, reads = by_reads.inside("reads"), at_any_speed(lane_reads(project, lane))
    return not (is_timeless(project, lane) and any_speed.holds("any speed", reads))


def _kept(project: Project, lane: Lane, kept: Incremental, ahead: LaneAhead | None) -> LaneSolution:
    """Solve a lane, or take it over: first by all that it may read, then by what it does read.

    A lane that shares its base radius has no profile yet. ahead: what was worked out for it already.
    """
    return kept.keep(("lane", lane.id), _around(project, lane), partial(_by_reads, project, lane, ahead))


def _by_reads(project: Project, lane: Lane, ahead: LaneAhead | None, kept: Incremental) -> LaneSolution:
    reads = lane_reads(project, lane)

    def solved(_inside: Incremental) -> LaneSolution:
        begun = begun_lane(project, lane, reads, ahead)
        return begun if shares_base(lane) else finished_lane(project, begun, None, ahead)

    def timeless(inside: Incremental) -> LaneSolution:
        alike = inside.keep("any speed", at_any_speed(reads), solved)
        return at_speed_of(project, alike, reads)

    return kept.keep("reads", reads, timeless if is_timeless(project, lane) else solved)


def _with_base(
    project: Project, begun: LaneSolution, bases: Mapping[str, Base], kept: Incremental
) -> LaneSolution:
    """Add the profile on the base radius that the lane's group decided."""
    if begun.motion is None:
        return begun
    shared = bases.get(_group(begun))
    base = () if shared is None else astuple(shared)
    finish = partial(finished_lane, project, begun, shared)

    def finished(inside: Incremental) -> LaneSolution:
        # Where the motion is the very same, so is all of the lane but the speed.
        alike = inside.keep("any speed", (begun.motion, *base), lambda _: finish())
        return at_speed_of(project, alike, begun.reads)

    return kept.keep(("shared", begun.lane.id), (begun, *base), finished)


def _around(project: Project, lane: Lane) -> Reads:
    """Return what holds all that a lane may read: many records at once, so that little is compared."""
    others = () if _stands_alone(lane) else (project.lanes,)
    return (lane, *_shared_records(project), *others)


def _shared_records(project: Project) -> Reads:
    """Return what all lanes read beside their own records and other lanes."""
    return (project.stacks, project.shaft, project.limits, project.print)


def _same_surroundings(one: Project, other: Project) -> bool:
    """Return whether all that a lane alone reads of two projects, beside its own record, is the same."""
    return (
        one.stacks is other.stacks
        and one.shaft is other.shaft
        and one.limits is other.limits
        and one.print is other.print
    )


def _stands_alone(lane: Lane) -> bool:
    """Return whether a lane reads no other lane: neither a disc it rides on, nor its group for a drop."""
    return lane.disc_of is None and not (shares_base(lane) and may_drop(lane))


def _group(lane: LaneSolution) -> str:
    return lane.lane.disc.base_group or ""


def _shared_bases(begun: Mapping[str, LaneSolution]) -> dict[str, Base]:
    """Return what each base group decides, by its name."""
    wanted: dict[str, list[Base]] = {}
    for lane in begun.values():
        if lane.wanted is not None:
            wanted.setdefault(_group(lane), []).append(lane.wanted)
    return {group: base for group, bases in wanted.items() if (base := largest(bases)) is not None}
