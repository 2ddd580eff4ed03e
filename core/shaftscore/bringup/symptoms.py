"""The symptom sheet: what every likely build fault would look like, by the first step at which it shows.

Each fault is run through the solved machine and compared with the drawing where the shaft is stopped
(`angles.check_angles`); where its lanes decide what items do, or it is a fault of items, the flow is run
again for the first turns. Faults that show first at the same check in the same lane stand together.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.base.progress import Progress, Silent
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.angles import check_angles, step_at
from shaftscore.bringup.candidates import (
    disc_families,
    follower_families,
    item_faults,
    pair_families,
    wide_faults,
)
from shaftscore.bringup.comparing import HAND_DEG, nearest_level, predicted_sighting, seen_between
from shaftscore.bringup.condition import Conditions, LaneCondition, built
from shaftscore.bringup.items import TURNS, ItemsOut, differing, faulty_flow, items_out
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.records import BuildFault, FaultKind, PredictedSighting
from shaftscore.model import Flow
from shaftscore.solution import Solution

SHORT, LATE_DEG = 0.4, 10.0
"""Share of the travel, and lateness in degrees, by which faults without a size of their own are shown."""

MOST_FAULTS = 20_000
"""Faults that are looked at; a machine of more has the rest left out, and says so."""

MOST_SLOTS_RUN = 1_000_000
"""Openings that all runs of the flow together may look at; after that no outlets are said."""

EVERY_DEG = np.arange(0.0, TURN, 1.0)
"""Where faults that do not show at the checks are looked for, master angles, degrees."""

MOST_SEEN = 400
"""Differences that are kept of a fault, from the first on; all are counted."""


@dataclass(frozen=True)
class SeenDifference:
    """A lane that would be elsewhere at a check: master angle in degrees, number of the step from 1."""

    angle_deg: float
    step: int
    lane: str
    drawn: PredictedSighting
    seen: PredictedSighting


@dataclass(frozen=True)
class OutletDifference:
    """Where another count of items would arrive: in each of the first turns as drawn, and seen."""

    end: str
    drawn: tuple[int, ...]
    seen: tuple[int, ...]


@dataclass(frozen=True)
class FaultSymptom:
    """A fault and what would be seen of it.

    seen: where lanes differ at the checks, in running order, at most MOST_SEEN. count: of all of them.
    between: of a fault that does not show at the checks, where a lane differs first, in whole degrees.
    outlets: where other counts arrive; None where the flow was not run for it. empty: gates that open on an
    empty magazine though they do not as drawn, with the turn.
    """

    fault: BuildFault
    seen: tuple[SeenDifference, ...]
    count: int
    between: SeenDifference | None = None
    outlets: tuple[OutletDifference, ...] | None = None
    empty: Mapping[str, int] | None = None

    @property
    def is_visible(self) -> bool:
        """Whether anything would be seen."""
        return bool(self.seen or self.outlets or self.empty)

    @property
    def first(self) -> tuple[float, str]:
        """Where it shows first: master angle in degrees and lane id; (360, "") at the outlets alone."""
        return (self.seen[0].angle_deg, self.seen[0].lane) if self.seen else (360.0, "")


@dataclass(frozen=True)
class SymptomGroup:
    """Faults that show first in the same lane at the same check; lane is empty for those of items alone."""

    angle_deg: float
    step: int
    lane: str
    symptoms: tuple[FaultSymptom, ...]


@dataclass(frozen=True)
class SymptomSheet:
    """All groups in running order.

    checks: where the shaft is stopped, master angles, degrees. invisible: faults that would not show at these
    checks. left_out: how many faults were not looked at. flow_left_out: how many the flow was not run for,
    because it would take too long.
    """

    checks: tuple[float, ...]
    groups: tuple[SymptomGroup, ...]
    invisible: tuple[FaultSymptom, ...] = ()
    left_out: int = 0
    flow_left_out: int = 0

    @property
    def symptoms(self) -> Iterator[FaultSymptom]:
        """All symptoms that show, in running order."""
        for group in self.groups:
            yield from group.symptoms


def symptom_sheet(
    solution: Solution,
    progress: Progress | None = None,
    outputs: BuiltOutputs | None = None,
    angles: Sequence[float] = (),
    only: Collection[FaultKind] = (),
) -> SymptomSheet:
    """Return the symptom sheet of a solved project.

    outputs: of this very solution, kept. angles: where the shaft is stopped, degrees (`check_angles` if
    empty). only: these kinds of faults, and no flow. Raises shaftscore.base.errors.Cancelled if progress
    does.
    """
    places = np.array(angles or check_angles(solution))
    outputs = outputs or BuiltOutputs(solution)
    flow = None if only else solution.project.flow
    maker = _SymptomMaker(outputs, progress or Silent(), _Looks(outputs, places), flow)
    return maker.sheet(frozenset(only))


def sheet_faults(outputs: BuiltOutputs) -> Iterator[BuildFault]:
    """Yield the faults of a symptom sheet; those of a free size with one size each."""
    project = outputs.project
    yield from wide_faults(outputs)
    if not any(fault.kind == "hub-tooth" for fault in wide_faults(outputs)):
        yield said.all_late(LATE_DEG)
    for family in pair_families(outputs):
        yield from family.faults
    for lane in outputs.lanes:
        for family in disc_families(outputs, lane):
            if family.faults[0].kind == "turned-disc":
                yield said.turned_disc(project, lane, LATE_DEG)
            else:
                yield from family.faults
        for family in follower_families(outputs, lane):
            yield _sized(outputs, lane, family.faults[0])
    peak = said.slips(LATE_DEG, 180.0)
    yield peak
    yield from item_faults(project)


def _sized(outputs: BuiltOutputs, lane: str, fault: BuildFault) -> BuildFault:
    if fault.kind == "travel":
        return said.travel(outputs.project, lane, SHORT)
    return said.late_falls(outputs.project, lane, LATE_DEG) if fault.kind == "late-falls" else fault


class _Looks:
    """Lanes looked at at some angles."""

    def __init__(self, outputs: BuiltOutputs, angles: np.ndarray) -> None:
        self.angles = angles
        self._outputs, self._drawn = outputs, outputs.drawn()
        self._kept: dict[str, tuple[np.ndarray, np.ndarray]] = {}

    def differ(self, lane: str, condition: LaneCondition) -> list[int]:
        """Return the places at which a lane is seen elsewhere than drawn."""
        low, high = self._outputs.within(condition, self.angles, HAND_DEG)
        least, most = self._expected(lane)
        return [int(place) for place in np.flatnonzero((low > most) | (high < least))]

    def _expected(self, lane: str) -> tuple[np.ndarray, np.ndarray]:
        """Return between which outputs a drawn lane is seen at its level at each place, mm."""
        if lane not in self._kept:
            project = self._outputs.project
            levels = project.levels_of(project.lane(lane))
            between = {level: seen_between(self._outputs, lane, level) for level in levels}
            drawn = self._outputs.at(self._drawn[lane], self.angles).tolist()
            ends = [between.get(nearest_level(self._outputs, lane, one), (-np.inf, np.inf)) for one in drawn]
            columns = np.array(ends).reshape(-1, 2).T
            self._kept[lane] = (columns[0], columns[1])
        return self._kept[lane]

    def difference(self, place: int, lane: str, condition: LaneCondition) -> SeenDifference:
        """Return what is seen of a lane at a place, and what is drawn."""
        there = self.angles[place : place + 1]
        angle = float(there[0])
        drawn, seen = (
            predicted_sighting(self._outputs, lane, float(self._outputs.at(one, there)[0]))
            for one in (self._drawn[lane], condition)
        )
        return SeenDifference(angle, step_at(self._outputs.project, angle), lane, drawn, seen)


class _SymptomMaker:
    """Runs each fault."""

    def __init__(self, outputs: BuiltOutputs, progress: Progress, looks: _Looks, flow: Flow | None) -> None:
        self._outputs, self._progress, self._looks, self._flow = outputs, progress, looks, flow
        self._every = _Looks(outputs, EVERY_DEG)
        self._project = outputs.project
        self._drawn = outputs.drawn()
        self._slots = 0
        self._not_run = 0

    def sheet(self, only: Collection[FaultKind]) -> SymptomSheet:
        """Return the sheet of some kinds of faults, of all if none is named."""
        faults = [one for one in sheet_faults(self._outputs) if not only or one.kind in only]
        kept = faults[:MOST_FAULTS]
        found = []
        for place, fault in enumerate(kept):
            if place % 16 == 0:
                self._progress.report(place / len(kept), "What faults would look like")
            found.append(self._symptom(fault))
        groups = self._grouped([one for one in found if one.is_visible])
        invisible = tuple(one for one in found if not one.is_visible)
        checks = tuple(float(angle) for angle in self._looks.angles)
        return SymptomSheet(checks, groups, invisible, len(faults) - len(kept), self._not_run)

    def _grouped(self, symptoms: Sequence[FaultSymptom]) -> tuple[SymptomGroup, ...]:
        groups: dict[tuple[float, str], list[FaultSymptom]] = {}
        for one in symptoms:
            groups.setdefault(one.first, []).append(one)
        order = {lane: place for place, lane in enumerate(self._outputs.lanes)}
        keys = sorted(groups, key=lambda key: (key[0], order.get(key[1], len(order))))
        return tuple(
            SymptomGroup(
                angle, step_at(self._project, angle) if lane else 0, lane, tuple(groups[angle, lane])
            )
            for angle, lane in keys
        )

    def _symptom(self, fault: BuildFault) -> FaultSymptom:
        conditions = built(self._project, self._drawn, fault)
        changed = [lane for lane in self._outputs.lanes if conditions[lane] != self._drawn[lane]]
        seen = sorted(
            (place, lane) for lane in changed for place in self._looks.differ(lane, conditions[lane])
        )
        outlets, empty = self._at_outlets(fault, {lane: conditions[lane] for lane in changed})
        shown = tuple(
            self._looks.difference(place, lane, conditions[lane]) for place, lane in seen[:MOST_SEEN]
        )
        between = None if seen else self._between(changed, conditions)
        return FaultSymptom(fault, shown, len(seen), between, outlets, empty)

    def _between(self, changed: Sequence[str], conditions: Conditions) -> SeenDifference | None:
        """Return the first whole degree at which one of some lanes is elsewhere than drawn."""
        firsts = ((self._every.differ(lane, conditions[lane])[:1], lane) for lane in changed)
        found = min(((place[0], lane) for place, lane in firsts if place), default=None)
        return None if found is None else self._every.difference(*found, conditions[found[1]])

    # ---- items

    @cached_property
    def _items(self) -> ItemsOut:
        assert self._flow is not None, "asked for with a flow alone"
        return items_out(self._outputs, self._flow, self._drawn)

    def _at_outlets(
        self, fault: BuildFault, changed: Mapping[str, LaneCondition]
    ) -> tuple[tuple[OutletDifference, ...] | None, Mapping[str, int] | None]:
        """Return where other counts arrive, and gates that open on an empty magazine; None without a run."""
        flow = self._flow
        of_items = fault.kind in ("empty", "slow-items")
        if flow is None or not (of_items or not flow.lanes.isdisjoint(changed)):
            return None, None
        self._slots += TURNS * (1 + sum(gate.items for gate in flow.gates))
        if self._slots > MOST_SLOTS_RUN:
            self._not_run += 1
            return None, None
        out = items_out(self._outputs, faulty_flow(flow, fault), {**self._drawn, **changed})
        rows = tuple(OutletDifference(*row) for row in differing(self._items, out))
        return rows, {gate: turn for gate, turn in out.empty.items() if gate not in self._items.empty}
