"""The causes that explain a sheet: single build faults and pairs.

What a fault explains adds up over lanes, so that a fault of one lane or two needs only their sightings.
Single faults are tried on lanes that differ from the drawn program. Pairs are found in four ways:

1. faults on different lanes: their tallies are added, all pairs at once;
2. faults on one lane, of its disc and of its follower: each pair is run;
3. two discs or levers exchanged, and another fault on these lanes: the most hopeful are run;
4. a fault of all lanes or of a stack, and a second one: for the most hopeful of the first kind, those that
could
   still win if two lanes were explained wholly, the second is looked for in the lanes left over.

The bounds below keep the work of the largest sheet (64 lanes, 100 checks) under two seconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.bringup import fault_words as said
from shaftscore.bringup.candidates import (
    SHIFTS_DEG,
    FaultFamily,
    disc_families,
    finer,
    follower_families,
    pair_families,
    wide_faults,
)
from shaftscore.bringup.comparing import ComparedSheet, Tally
from shaftscore.bringup.condition import Conditions, LaneCondition, built, changes
from shaftscore.bringup.records import BuildFault
from shaftscore.bringup.scanning import ShiftScan, middle_of_best, scan

MOST_LOCAL = 400
"""Single faults that are paired with one another."""

MOST_PAIRS = 40
"""Pairs that are kept of each way in which pairs are found."""

MOST_LANES = 6
"""Lanes, those with most left to explain first, in which a second fault is looked for."""

MOST_WIDE = 12
"""Faults of all lanes, or of a stack, to which a second one is looked for."""

MOST_SCANNED = 3
"""Of those, to which a shift of all lanes is looked for."""

MOST_EXCHANGED = 10
"""Exchanged discs or levers to which a second fault is looked for."""


@dataclass(frozen=True)
class FoundCause:
    """Faults, and how well they explain the sheet."""

    faults: tuple[BuildFault, ...]
    tally: Tally

    @property
    def score(self) -> float:
        """What it is ranked by (a share of all sightings)."""
        return self.tally.score


@dataclass(frozen=True)
class MachineState:
    """A machine with some faults: its conditions, its faults, what they explain together and lane by lane."""

    conditions: Conditions
    faults: tuple[BuildFault, ...]
    tally: Tally


class CauseFinder:
    """Looks for causes of one sheet."""

    def __init__(self, compared: ComparedSheet) -> None:
        self._compared = compared
        self._outputs = compared.outputs
        drawn = self._outputs.drawn()
        self._drawn = MachineState(drawn, (), compared.total(drawn))
        self._pair_families = tuple(pair_families(self._outputs))

    def singles(self) -> list[FoundCause]:
        """Return single causes that explain something, best first."""
        found = [FoundCause(state.faults, state.tally) for state in (*self._wide, *self._shifted[:1])]
        found += [FoundCause(slip.faults, slip.tally) for slip in self._slipped[:1]]
        found += [FoundCause(state.faults, state.tally) for state in self._local]
        return sorted((one for one in found if one.tally.explained), key=lambda one: -one.score)

    @cached_property
    def _best_single(self) -> float:
        return max((one.score for one in self.singles()), default=0.0)

    def pairs(self) -> list[FoundCause]:
        """Return pairs that explain more than each of their faults alone, best first."""
        found = [*self._on_different_lanes(), *self._on_one_lane(), *self._with_exchanged()]
        found += self._with_wide()
        return sorted(found, key=lambda one: -one.score)

    # ---- single faults

    @cached_property
    def _suspects(self) -> tuple[str, ...]:
        """The lanes that differ, most differences first."""
        return self._left(self._drawn.conditions)

    def _left(self, conditions: Conditions) -> tuple[str, ...]:
        """Return the lanes of which conditions contradict sightings, most first."""
        against = {
            lane: self._compared.tally(lane, conditions[lane]).against for lane in self._compared.lanes
        }
        return tuple(sorted((lane for lane in against if against[lane]), key=lambda lane: -against[lane]))

    def _with(self, state: MachineState, fault: BuildFault) -> MachineState:
        """Return a machine with one more fault."""
        changed = changes(self._outputs.project, state.conditions, fault)
        total = state.tally
        for lane, condition in changed.items():
            if lane in self._compared.lanes:
                before = self._compared.tally(lane, state.conditions[lane])
                total = total.minus(before).plus(self._compared.tally(lane, condition))
        return MachineState({**state.conditions, **changed}, (*state.faults, fault), total)

    def _best(self, state: MachineState, family: FaultFamily) -> MachineState:
        """Return a machine with that fault of a family that explains most; of equal ones the middle."""
        tried = [self._with(state, fault) for fault in family.faults]
        scores = np.array([one.tally.score for one in tried])
        best = np.flatnonzero(scores >= scores.max() - 1e-9)
        return tried[int(best[len(best) // 2])]

    def _refined(self, before: MachineState, state: MachineState) -> MachineState:
        """Return a machine whose last fault has, of sizes near its own, that which explains most."""
        near = finer(self._outputs.project, state.faults[-1])
        if not near:
            return state
        tried = [state, *(self._with(before, fault) for fault in near)]
        most = max(one.tally.score for one in tried)
        best = [one for one in tried if one.tally.score >= most - 1e-9]
        return state if state in best else best[len(best) // 2]

    @cached_property
    def _wide(self) -> list[MachineState]:
        """Machines with a fault of known size of all lanes or of a stack."""
        return [self._with(self._drawn, fault) for fault in wide_faults(self._outputs)]

    @cached_property
    def _local(self) -> list[MachineState]:
        """Machines with a fault of one lane or two that explains something, best first."""
        found = [self._best(self._drawn, family) for family in self._families(self._drawn, self._suspects)]
        found = [self._refined(self._drawn, one) for one in found if one.tally.explained]
        return sorted(found, key=lambda one: -one.tally.score)

    def _families(self, state: MachineState, lanes: Sequence[str]) -> Iterator[FaultFamily]:
        """Yield the families of some lanes of a machine, and of the discs that they are on in it."""
        discs = dict.fromkeys(state.conditions[lane].disc for lane in lanes)
        for disc in discs:
            yield from disc_families(self._outputs, disc)
        for lane in lanes:
            yield from follower_families(self._outputs, lane)
        yield from (
            family for family in self._pair_families if not set(family.lanes).isdisjoint((*discs, *lanes))
        )

    @cached_property
    def _scan(self) -> ShiftScan:
        return scan(self._compared, self._drawn.conditions, np.array((*SHIFTS_DEG, 0.0)))

    @cached_property
    def _shifted(self) -> list[MachineState]:
        """Machines with all lanes late: the best, then angles that could win with a second fault."""
        return self._shifts(self._drawn, self._scan)

    def _shifts(self, state: MachineState, scanned: ShiftScan) -> list[MachineState]:
        """Return a machine with its best shifts; the first is the best, the others are hopeful."""
        counts = [int(one.differ.sum()) for one in self._compared.lanes.values()]
        hopes = scanned.hopes(np.array(counts))
        shifts, scores = scanned.shifts_deg[:-1], scanned.scores()[:-1, 0]
        places = [middle_of_best(shifts, scores)]
        for place in np.argsort(-hopes[:-1], kind="stable"):
            alike = scanned.by_lane[:, place]
            if len(places) > MOST_WIDE:
                break
            if not any(np.array_equal(alike, scanned.by_lane[:, other]) for other in places):
                places.append(int(place))
        made = [self._with(state, said.all_late(float(shifts[place]))) for place in places]
        return [self._refined(state, made[0]), *made[1:]]

    @cached_property
    def _slipped(self) -> list[MachineState]:
        """Machines whose coupling slipped after the first check, best first."""
        scores = self._scan.scores()[:-1, 1:]
        if not scores.size:
            return []
        best = np.argsort(-scores.max(axis=0), kind="stable")[:2]
        return [self._slip(int(check) + 1, scores[:, check]) for check in best]

    def _slip(self, check: int, scores: np.ndarray) -> MachineState:
        """Return a machine whose coupling slipped before a check by the angle that explains most.

        It is placed in the middle between that check and the one before: the sheet does not say where.
        """
        shifts = self._scan.shifts_deg[:-1]
        place = middle_of_best(shifts, scores)
        at = float(self._scan.run_deg[check - 1 : check + 1].mean())
        return self._refined(self._drawn, self._with(self._drawn, said.slips(float(shifts[place]), at)))

    # ---- pairs

    def _kept(self, states: Iterable[MachineState]) -> list[FoundCause]:
        """Return the best of some machines with two faults, with the best sizes of both."""
        found = []
        for state in sorted(states, key=lambda one: -one.tally.score)[:MOST_PAIRS]:
            first = state.faults[0]
            best = self._refined(self._with(self._drawn, first), state)
            turned = self._with(self._with(self._drawn, best.faults[1]), first)
            if turned.conditions == best.conditions:  # the order of the two does not matter
                best = self._refined(self._with(self._drawn, best.faults[1]), turned)
            found.append(FoundCause(best.faults, best.tally))
        return found

    def _on_different_lanes(self) -> list[FoundCause]:
        """Return pairs of faults on different lanes: what they explain adds up."""
        states = [one for one in self._local if one.tally.score > self._drawn.tally.score][:MOST_LOCAL]
        if len(states) < 2:
            return []
        lanes = [self._changed(one) for one in states]
        numbers = {lane: place for place, lane in enumerate(dict.fromkeys(x for one in lanes for x in one))}
        touches = np.zeros((len(states), len(numbers)), bool)
        for place, own in enumerate(lanes):
            touches[place, [numbers[lane] for lane in own]] = True
        gains = np.array([one.tally.minus(self._drawn.tally).score for one in states])
        both = gains[:, None] + gains[None, :]
        both[(touches.astype(np.int32) @ touches.T.astype(np.int32)) > 0] = -np.inf
        both[np.tril_indices(len(states))] = -np.inf
        best = np.argsort(-both, axis=None, kind="stable")[:MOST_PAIRS]
        rows, columns = np.unravel_index(best, both.shape)
        kept = [(int(a), int(b)) for a, b in zip(rows, columns, strict=True) if np.isfinite(both[a, b])]
        return [self._added(states[a], states[b]) for a, b in kept]

    def _changed(self, state: MachineState) -> list[str]:
        drawn = self._drawn.conditions
        return [lane for lane, one in state.conditions.items() if one != drawn[lane]]

    def _added(self, one: MachineState, other: MachineState) -> FoundCause:
        gain = other.tally.minus(self._drawn.tally)
        return FoundCause((*one.faults, *other.faults), one.tally.plus(gain))

    def _on_one_lane(self) -> list[FoundCause]:
        """Return pairs of a fault of a lane's disc and one of its follower."""
        found = []
        for lane in self._suspects[:MOST_LANES]:
            disc = self._outputs.project.lane(lane).disc_of or lane
            for family in disc_families(self._outputs, disc):
                for fault in family.faults:
                    placed = self._with(self._drawn, fault)
                    seconds = follower_families(self._outputs, lane)
                    found += [self._best(placed, second) for second in seconds]
        return self._kept(found)

    def _with_exchanged(self) -> list[FoundCause]:
        """Return pairs of two exchanged discs or levers and a second fault on these lanes."""
        families = [one for one in self._pair_families if not set(one.lanes).isdisjoint(self._suspects)]
        firsts = sorted((self._best(self._drawn, one) for one in families), key=self._hope, reverse=True)
        found = []
        for first in firsts[:MOST_EXCHANGED]:
            lanes = self._changed(first)
            left = [lane for lane in self._left(first.conditions) if lane in lanes]
            found += [self._best(first, second) for second in self._families(first, left)]
        return self._kept(found)

    def _hope(self, state: MachineState) -> float:
        """Return the score that a machine could have if two lanes were explained by another fault."""
        missing = []
        for lane, seen in self._compared.lanes.items():
            own = self._compared.tally(lane, state.conditions[lane])
            missing.append(int(seen.differ.sum()) - own.score)
        return state.tally.score + sum(sorted(missing)[-2:])

    def _with_wide(self) -> list[FoundCause]:
        """Return pairs of a fault of all lanes, or of a stack, and a second one."""
        wide = sorted(self._wide, key=self._hope, reverse=True)
        firsts = [*wide, *self._shifted, *self._slipped]
        hopeful = [one for one in firsts if self._hope(one) > self._best_single]
        hopeful.sort(key=self._hope, reverse=True)
        found = []
        for first in hopeful[:MOST_WIDE]:
            left = self._left(first.conditions)[:MOST_LANES]
            found += [self._best(first, family) for family in self._families(first, left)]
        for place, first in enumerate(wide[:MOST_WIDE]):
            found += [self._with(first, other.faults[0]) for other in wide[place + 1 : MOST_WIDE]]
        for first in wide[:MOST_SCANNED]:
            scanned = scan(self._compared, first.conditions, np.array((*SHIFTS_DEG, 0.0)))
            found += self._shifts(first, scanned)[:1]
        return self._kept(found)


def conditions_with(
    project_conditions: Conditions, compared: ComparedSheet, faults: Sequence[BuildFault]
) -> Mapping[str, LaneCondition]:
    """Return the conditions of a machine with some faults, one applied after the other."""
    found: Conditions = project_conditions
    for fault in faults:
        found = built(compared.outputs.project, found, fault)
    return found
