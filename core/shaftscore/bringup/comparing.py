"""A sheet of sightings held against what conditions predict.

A level is contradicted where the output is clearly nearer to another, within HAND_DEG of where the shaft was
stopped; it is explained where the output is clearly nearer to it. About the middle between two levels neither
is said, so that a vague prediction earns nothing. A measured output agrees within MEASURED_MM. A
*difference* is a sighting that the drawn machine contradicts.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from shaftscore.bringup.arrivals import CountedItems
from shaftscore.bringup.condition import Conditions, LaneCondition
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.records import PredictedSighting
from shaftscore.bringup.sightings import Sighting, SightingSheet
from shaftscore.kinematics.followers import Reals

HAND_DEG = 1.0
"""How exactly a hand stops the shaft at a mark of the dial, degrees (common practice, no source)."""

MEASURED_MM = 0.5
"""How exactly an output is measured at the bench with a rule, mm (common practice, no source)."""

BETWEEN = 0.05
"""Share of the step between two levels, to each side of its middle, in which either may be ticked."""

Flags = npt.NDArray[np.bool_]


class Tally(NamedTuple):
    """How many differences are explained, and how many sightings contradicted."""

    explained: int
    against: int

    @property
    def score(self) -> float:
        """Explained less half of against (a share of all sightings)."""
        return self.explained - self.against / 2

    def plus(self, other: Tally) -> Tally:
        """Return both together."""
        return Tally(self.explained + other.explained, self.against + other.against)

    def minus(self, other: Tally) -> Tally:
        """Return what is left without another."""
        return Tally(self.explained - other.explained, self.against - other.against)


@dataclass(frozen=True, eq=False)
class LaneSightings:
    """What was seen of one lane: run angles, and between which outputs it may have been, each (n,).

    check: numbers of the checks. inner_low_mm, inner_high_mm: between which it clearly was. differ: whether
    the drawn machine contradicts it.
    """

    lane: str
    check: npt.NDArray[np.int64]
    run_deg: Reals
    low_mm: Reals
    high_mm: Reals
    inner_low_mm: Reals
    inner_high_mm: Reals
    differ: Flags = field(default_factory=lambda: np.zeros(0, bool))

    def every(self, step: int) -> LaneSightings:
        """Return every one of so many steps of the sightings, the first among them."""
        if step == 1:
            return self
        return LaneSightings(
            self.lane,
            self.check[::step],
            self.run_deg[::step],
            self.low_mm[::step],
            self.high_mm[::step],
            self.inner_low_mm[::step],
            self.inner_high_mm[::step],
            self.differ[::step],
        )

    def held_against(self, low_mm: Reals, high_mm: Reals) -> tuple[Flags, Flags]:
        """Return which differences outputs between two others explain, and which sightings they contradict.

        low_mm, high_mm: (..., n) of the outputs within a hand's reach; (..., n) each. Nothing known (nan)
        does neither.
        """
        against = self.contradicts(low_mm, high_mm)
        middle = (low_mm + high_mm) / 2
        clear = (middle >= self.inner_low_mm) & (middle <= self.inner_high_mm)
        return np.asarray(clear & self.differ), against

    def contradicts(self, low_mm: Reals, high_mm: Reals) -> Flags:
        """Return which sightings outputs between two others contradict, mm: (..., n) -> (..., n)."""
        return np.asarray((low_mm > self.high_mm) | (high_mm < self.low_mm))


@dataclass(frozen=True, eq=False)
class ComparedSheet:
    """A sheet and the outputs that it is compared with.

    kept, told: tallies and predictions that were asked for, by lane and condition.
    """

    outputs: BuiltOutputs
    sheet: SightingSheet
    kept: dict[tuple[str, LaneCondition], Tally] = field(default_factory=dict)
    told: dict[tuple[str, LaneCondition], tuple[PredictedSighting, ...]] = field(default_factory=dict)

    @cached_property
    def lanes(self) -> dict[str, LaneSightings]:
        """What was seen, lane by lane; lanes without motion are left out."""
        own = self.outputs.drawn()
        found = (self._gathered(lane) for lane in self.outputs.lanes)
        return {one.lane: self._with_differences(one, own[one.lane]) for one in found if len(one.check)}

    def _gathered(self, lane: str) -> LaneSightings:
        rows = [
            (
                number,
                check.run_deg,
                *seen_between(self.outputs, lane, check.seen[lane]),
                *seen_between(self.outputs, lane, check.seen[lane], -BETWEEN),
            )
            for number, check in enumerate(self.sheet.checks)
            if lane in check.seen
        ]
        columns = np.array(rows, dtype=np.float64).reshape(-1, 6).T
        return LaneSightings(lane, columns[0].astype(np.int64), *columns[1:])

    def _with_differences(self, seen: LaneSightings, own: LaneCondition) -> LaneSightings:
        return replace(seen, differ=seen.contradicts(*self.outputs.within(own, seen.run_deg, HAND_DEG)))

    @cached_property
    def counted(self) -> CountedItems:
        """The items that were counted."""
        return CountedItems(self.outputs, self.sheet.arrived)

    @cached_property
    def lane_sightings(self) -> int:
        """How many sightings of lanes can be compared."""
        return sum(len(one.check) for one in self.lanes.values())

    @cached_property
    def lane_differences(self) -> int:
        """How many of them the drawn machine contradicts."""
        return sum(int(one.differ.sum()) for one in self.lanes.values())

    @cached_property
    def sightings(self) -> int:
        """How many sightings of lanes, and counts of items, can be compared."""
        return self.lane_sightings + len(self.counted.rows)

    @cached_property
    def differences(self) -> int:
        """How many of them the drawn machine contradicts."""
        return self.lane_differences + self.counted.differences

    def held_against(self, lane: str, condition: LaneCondition) -> tuple[Flags, Flags]:
        """Return which differences a condition of a lane explains, which sightings it contradicts: (n,)."""
        seen = self.lanes[lane]
        return seen.held_against(*self.outputs.within(condition, seen.run_deg, HAND_DEG))

    def tally(self, lane: str, condition: LaneCondition) -> Tally:
        """Return how well a condition of one output explains what was seen of it."""
        key = (lane, condition)
        if key not in self.kept:
            explained, against = self.held_against(lane, condition)
            self.kept[key] = Tally(int(explained.sum()), int(against.sum()))
        return self.kept[key]

    def predicted(self, lane: str, condition: LaneCondition) -> tuple[PredictedSighting, ...]:
        """Return what a condition predicts of a lane at every check."""
        key = (lane, condition)
        if key not in self.told:
            self.told[key] = self._predicted(lane, condition)
        return self.told[key]

    def _predicted(self, lane: str, condition: LaneCondition) -> tuple[PredictedSighting, ...]:
        runs = np.array([check.run_deg for check in self.sheet.checks])
        values = self.outputs.at(condition, runs).tolist()
        agrees: list[bool | None] = [None] * len(values)
        if lane in self.lanes:
            for number, one in zip(
                self.lanes[lane].check, self.held_against(lane, condition)[1], strict=True
            ):
                agrees[number] = not one
        return tuple(
            predicted_sighting(self.outputs, lane, value, right)
            for value, right in zip(values, agrees, strict=True)
        )

    def total(self, conditions: Conditions) -> Tally:
        """Return how well conditions explain all that was seen."""
        tallies = [self.tally(lane, conditions[lane]) for lane in self.lanes]
        return Tally(sum(one.explained for one in tallies), sum(one.against for one in tallies))


def seen_between(
    outputs: BuiltOutputs, lane: str, seen: Sighting, beyond: float = BETWEEN
) -> tuple[float, float]:
    """Return the outputs between which a lane may have been when something was seen of it, mm.

    beyond: share of the step to the next level by which it may be beyond the middle. Raises KeyError for an
    unknown level.
    """
    if not isinstance(seen, str):
        return seen - MEASURED_MM, seen + MEASURED_MM
    project = outputs.project
    levels = project.levels_of(project.lane(lane))
    here, heights = levels[seen], sorted(set(levels.values()))
    below = max((one for one in heights if one < here), default=None)
    above = min((one for one in heights if one > here), default=None)
    share = 0.5 + beyond
    low = -np.inf if below is None else here - share * (here - below)
    high = np.inf if above is None else here + share * (above - here)
    return low, high


def differs_from_drawn(outputs: BuiltOutputs, angle_deg: float, lane: str, seen: Sighting) -> bool:
    """Return whether the drawn machine contradicts what was seen of a lane at a master angle, degrees.

    Nothing differs of a lane that is not in `outputs`. Raises KeyError for an unknown level.
    """
    if lane not in outputs.lanes:
        return False
    low_mm, high_mm = seen_between(outputs, lane, seen)
    own = LaneCondition(lane, outputs.project.lane(lane).disc_of or lane)
    low, high = outputs.within(own, np.array([angle_deg]), HAND_DEG)
    return bool((low > high_mm).any() or (high < low_mm).any())


def nearest_level(outputs: BuiltOutputs, lane: str, output_mm: float) -> str:
    """Return the level of a lane that is nearest to an output, mm; empty without levels."""
    project = outputs.project
    levels = project.levels_of(project.lane(lane))
    return min(levels, key=lambda level: abs(levels[level] - output_mm), default="")


def predicted_sighting(
    outputs: BuiltOutputs, lane: str, output_mm: float, agrees: bool | None = None
) -> PredictedSighting:
    """Return a predicted output of a lane, mm (nan: not known), as a sighting."""
    if np.isnan(output_mm):
        return PredictedSighting("", None, agrees)
    return PredictedSighting(nearest_level(outputs, lane, output_mm), output_mm, agrees)
