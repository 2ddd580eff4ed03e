"""What the verdict covers: of each area, whether the project describes what its checks read.

An area that is not described is not judged, and says so. An area is at most as good as what it reads: torque
and shaft read the forces, and items, forces and parts read the motions. What the person calls not needed is
no gap; whatever reads it still lacks it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType
from typing import get_args

from shaftscore.model import Flow, Lane, Project, Stack
from shaftscore.model.project import Area

AREAS: tuple[Area, ...] = get_args(Area)
"""The areas of the verdict, in the order in which people read them."""


class CoverageState(StrEnum):
    """How much of an area is described."""

    CHECKED = "checked"
    PARTLY = "partly"
    NOT_DESCRIBED = "not-described"
    NOT_NEEDED = "not-needed"

    @property
    def is_gap(self) -> bool:
        """Whether something is missing that would have to be described."""
        return self in (CoverageState.PARTLY, CoverageState.NOT_DESCRIBED)


_CHECKED, _PARTLY = CoverageState.CHECKED, CoverageState.PARTLY
_NOT_DESCRIBED, _NOT_NEEDED = CoverageState.NOT_DESCRIBED, CoverageState.NOT_NEEDED
_WORST_FIRST = (_NOT_DESCRIBED, _PARTLY, _CHECKED, _NOT_NEEDED)


@dataclass(frozen=True)
class AreaCoverage:
    """How much of an area is described.

    missing: paths that would complete it, as in the errors of a project file, those of what it reads
    included. described, count: how many of its lanes or stacks are described, of how many. by_person: the
    person says that it is not needed.
    """

    area: Area
    state: CoverageState
    missing: tuple[str, ...] = ()
    described: int = 0
    count: int = 0
    by_person: bool = False


@dataclass(frozen=True)
class Coverage:
    """How much of each area is described, in the order of `AREAS`."""

    areas: Mapping[Area, AreaCoverage]

    @property
    def is_complete(self) -> bool:
        """Whether every area is checked or not needed."""
        return not any(one.state.is_gap for one in self.areas.values())

    @property
    def is_empty(self) -> bool:
        """Whether no area is checked, not even in part."""
        return not self.in_state(_CHECKED, _PARTLY)

    @property
    def not_described(self) -> Mapping[Area, tuple[str, ...]]:
        """The paths that would complete each area that is not described, or partly."""
        return {area: one.missing for area, one in self.areas.items() if one.state.is_gap}

    def in_state(self, *states: CoverageState) -> tuple[Area, ...]:
        """Return the areas in one of some states, in order."""
        return tuple(area for area, one in self.areas.items() if one.state in states)


def coverage_of(project: Project, refused: Collection[str] = ()) -> Coverage:
    """Return what is described of a project.

    refused: ids of stacks whose shaft cannot be computed from what is described.
    """
    own = {
        "timing": _timing(project),
        "items": _items(project),
        "forces": _forces(project),
        "torque": _torque(project),
        "fits": _fits(project),
        "heights": _heights(project),
        "shaft": _shaft(project),
        "parts": _parts(project),
    }
    for area, reads in READS.items():
        own[area] = _limited(own[area], own[reads])
    own["shaft"] = _computed(project, own["shaft"], refused)
    return Coverage(MappingProxyType({area: _with_the_persons_word(project, own[area]) for area in AREAS}))


def coverage_json(coverage: Coverage) -> dict[str, str]:
    """Return the state of each area, for JSON."""
    return {area: str(one.state) for area, one in coverage.areas.items()}


def not_described_json(coverage: Coverage) -> dict[str, list[str]]:
    """Return the paths that would complete each area that is not described in full, for JSON."""
    return {area: list(paths) for area, paths in coverage.not_described.items()}


READS: Mapping[Area, Area] = MappingProxyType({"torque": "forces", "shaft": "forces"})
"""The area that an area reads as a whole; motions are counted lane by lane."""


def _area(area: Area, missing: Sequence[str], described: int, count: int) -> AreaCoverage:
    """Return an area of which some things are described, of a count."""
    state = _CHECKED if not missing else _PARTLY if described else _NOT_DESCRIBED
    return AreaCoverage(area, state, tuple(dict.fromkeys(missing)), described, count)


def _limited(own: AreaCoverage, read: AreaCoverage) -> AreaCoverage:
    """Return an area, at most as good as what it reads."""
    if own.state is _NOT_NEEDED or read.state is _NOT_NEEDED:
        return own
    state = min(own.state, read.state, key=_WORST_FIRST.index)
    missing = tuple(dict.fromkeys((*own.missing, *read.missing)))
    return AreaCoverage(own.area, state, missing, own.described, own.count)


def _computed(project: Project, own: AreaCoverage, refused: Collection[str]) -> AreaCoverage:
    """Return the area of the shafts, checked in part where one that is described cannot be computed.

    No field is missing then: a guide locks, say, and its finding says what to change.
    """
    lost = sum(stack.id in refused for stack in _with_parts(project))
    if own.state is not _CHECKED or not lost:
        return own
    return replace(own, state=_PARTLY, described=own.count - lost)


def _with_the_persons_word(project: Project, own: AreaCoverage) -> AreaCoverage:
    """Return an area, not needed where the person says so."""
    if own.area not in project.not_needed:
        return own
    return AreaCoverage(own.area, _NOT_NEEDED, (), own.described, own.count, by_person=True)


# Areas by themselves


def _timing(project: Project) -> AreaCoverage:
    """Look for blocks on every lane."""
    if not project.lanes:
        return _area("timing", ["lanes"], 0, 0)
    without = _without_program(project, project.lanes)
    return _area("timing", _paths(without), len(project.lanes) - len(without), len(project.lanes))


def _items(project: Project) -> AreaCoverage:
    """Look for a flow, and blocks on the lanes that move its gates and diverters."""
    flow = project.flow
    if flow is None:
        return _area("items", ["flow"], 0, 0)
    if flow == Flow():
        return AreaCoverage("items", _NOT_NEEDED)
    lanes = [lane for lane in project.lanes if lane.id in flow.lanes]
    without = _without_program(project, lanes)
    return _area("items", _paths(without), max(len(lanes) - len(without), int(not lanes)), len(lanes))


def _forces(project: Project) -> AreaCoverage:
    """Look for a load with friction, and blocks, on every lane with a follower."""
    lanes = _with_followers(project)
    if not project.lanes:
        return _area("forces", ["lanes"], 0, 0)
    if not lanes:
        return AreaCoverage("forces", _NOT_NEEDED)
    without, places = _without_program(project, lanes), project.lane_index
    missing = {
        lane.id: [] if _has_friction(lane) else [f"lanes[{places[lane.id]}].load.{_friction_key(lane)}"]
        for lane in lanes
    }
    for lane_id, path in without.items():
        missing[lane_id].append(path)
    lacking = [paths for paths in missing.values() if paths]
    return _area(
        "forces", [path for paths in lacking for path in paths], len(lanes) - len(lacking), len(lanes)
    )


def _torque(project: Project) -> AreaCoverage:
    """Look for a drive of which every stage's efficiency is known."""
    if project.drive is None:
        return _area("torque", ["drive"], 0, 1)
    return _area("torque", list(_guessed_stages(project)), 1, 1)


def _fits(project: Project) -> AreaCoverage:
    """Look for joints stated on every stack; until then their state is assumed."""
    return _stated(project, "fits", "joints", _with_parts(project))


def _heights(project: Project) -> AreaCoverage:
    """Look how followers are set, on every stack with several; and the thickness of every lever."""
    lanes = _with_followers(project)
    beside = [stack for stack in _with_parts(project) if _count_on(project, stack, lanes) > 1]
    own = _stated(project, "heights", "followers_set", beside)
    levers = [lane for lane in lanes if lane.arm_thickness_mm is None]
    missing = [f"lanes[{project.lane_index[lane.id]}].follower.arm_thickness_mm" for lane in levers]
    return _area("heights", [*own.missing, *missing], int(bool(project.lanes)), own.count)


def _shaft(project: Project) -> AreaCoverage:
    """Look for a rod on every stack, and the flat of a D rod, whose section is read from a D bore."""
    own = _with_parts(project)
    if not project.lanes:
        return _area("shaft", ["lanes"], 0, 0)
    if not own:
        return AreaCoverage("shaft", _NOT_NEEDED)
    missing = [f"stacks[{place}].rod" for place in _places(project, own, "rod")]
    missing += [f"stacks[{place}].rod.shape" for place in _without_flat(project, own)]
    return _area("shaft", missing, len(own) - len(missing), len(own))


def _parts(project: Project) -> AreaCoverage:
    """Look for lanes without blocks, which have no disc yet; all other parts are always checked."""
    if not project.lanes:
        return _area("parts", ["lanes"], 0, 0)
    discs = [lane for lane in project.lanes if lane.has_disc]
    without = _without_program(project, discs)
    return _area("parts", _paths(without), max(1, len(discs) - len(without)), len(discs))


# What is there


def _without_program(project: Project, lanes: Iterable[Lane]) -> dict[str, str]:
    """Return the lanes, by id, whose program has no blocks and no points, with the path that completes it."""
    found: dict[str, str] = {}
    for lane in lanes:
        source = project.lane(lane.program_id)
        if not source.blocks and source.points is None:
            found[lane.id] = f"lanes[{project.lane_index[source.id]}].blocks"
    return found


def _paths(without: Mapping[str, str]) -> list[str]:
    return list(without.values())


def _with_followers(project: Project) -> list[Lane]:
    return [lane for lane in project.lanes if lane.kind != "index"]


def _has_friction(lane: Lane) -> bool:
    return lane.load is not None and lane.load.friction_most_n > 0


def _friction_key(lane: Lane) -> str:
    """Return the field that states a lane's friction: its cases, where it has any."""
    return "frictions" if lane.load is not None and lane.load.frictions else "friction_n"


def _with_parts(project: Project) -> list[Stack]:
    """Return the stacks that carry discs."""
    return [stack for stack in project.stacks if project.discs_of(stack)]


def _count_on(project: Project, stack: Stack, lanes: Iterable[Lane]) -> int:
    return sum(project.stack_of(lane) is stack for lane in lanes)


def _places(project: Project, stacks: Sequence[Stack], key: str) -> list[int]:
    """Return the places in the file of those stacks that do not state a field."""
    return [
        place for place, stack in enumerate(project.stacks) if stack in stacks and getattr(stack, key) is None
    ]


def _without_flat(project: Project, stacks: Sequence[Stack]) -> list[int]:
    """Return the places in the file of those stacks whose rod is a D and whose bore is none."""
    return [
        place
        for place, stack in enumerate(project.stacks)
        if stack in stacks and stack.rod is not None and stack.bore.flat_mm is None
        if stack.rod.shape_in(stack.bore) == "d"
    ]


def _stated(project: Project, area: Area, key: str, stacks: Sequence[Stack]) -> AreaCoverage:
    """Return an area judged by a field of stacks that has a stand-in: partly where it is not stated."""
    if not project.lanes:
        return _area(area, ["lanes"], 0, 0)
    missing = [f"stacks[{place}].{key}" for place in _places(project, stacks, key)]
    return _area(area, missing, 1, len(stacks))


def _guessed_stages(project: Project) -> Iterator[str]:
    """Yield the paths of worm stages whose efficiency is a guess."""
    for index, stage in enumerate(project.drive.stages if project.drive else ()):
        if stage.kind == "worm" and stage.efficiency is None and stage.lead_angle_deg is None:
            yield f"drive.stages[{index}].efficiency"
