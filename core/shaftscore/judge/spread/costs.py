"""What errors cost: the chance if those of one disc, or of one kind, were switched off.

The same machines are judged with and without them: those of the first block. What is gained among these is
added to the chance, which more machines may tell more closely.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.progress import Progress
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.causes import CAUSES, Cause
from shaftscore.judge.spread.draws import Floats, disc_of, moving
from shaftscore.judge.spread.judging import JudgedRule, holding, judge, smallest
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.tally import MachineTally
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.rules.project import OF_FLOW, Kind, lanes_of_key

MOST_LANES = 6
"""Lanes, those in most failures first, whose errors are switched off one by one."""

OF_SPRING: frozenset[Cause] = frozenset(("friction", "spring"))
"""Causes that only the spring of a lane depends on."""

OF_ITEMS: frozenset[Cause] = frozenset(("travel", "rate"))
"""Causes that only rules about items depend on."""


@dataclass(frozen=True)
class LaneCost:
    """A lane, and the chance if its disc had no error."""

    lane: str
    chance_without: float


@dataclass(frozen=True)
class CauseCost:
    """One kind of error, and the chance without it in the same machines."""

    cause: Cause
    chance_without: float


@dataclass(frozen=True)
class Costs:
    """What errors cost in some machines: `drawn`, the first block of those that a tally counts."""

    drawn: Machines
    tally: MachineTally
    flow: FlowResult | None
    progress: Progress

    def of_causes(self) -> tuple[CauseCost, ...]:
        """Switch each kind of error off; the one that helps most first.

        Rules that hold in every machine are not judged again, nor those that the cause does not touch.
        """
        found = []
        for cause in CAUSES:
            if is_present(self.drawn, cause):
                self.progress.report(0.65, "Which kind of error contributes most")
                touched = [one for one in self._open if touches(cause, one.kind)]
                kept = [one for one in self._open if not touches(cause, one.kind)]
                found.append(CauseCost(cause, self._without(self.drawn.muted(cause), touched, kept)))
        return tuple(sorted(found, key=lambda cost: -cost.chance_without))

    def of_lanes(self) -> tuple[LaneCost, ...]:
        """Switch off the errors of the lanes that fail most, one by one; the one that costs most first."""
        lanes = self._failing()
        found = []
        for number, lane in enumerate(lanes):
            self.progress.report(0.4 + 0.3 * number / len(lanes), "Which lane contributes most")
            moved = {one.id for one in self.drawn.project.lanes if lane in _moving(self.drawn, one.id)}
            touched, kept = list[JudgedRule](), list[JudgedRule]()
            for one in self.tally.rules.values():
                still = moved.isdisjoint(lanes_of_key(self.drawn.project, one.key))
                (kept if still else touched).append(one)
            found.append(LaneCost(lane, self._without(self.drawn.without(lane), touched, kept)))
        return tuple(sorted(found, key=lambda cost: -cost.chance_without))

    @property
    def _open(self) -> list[JudgedRule]:
        """The rules that do not hold in every machine of the block."""
        return [one for one in self.tally.rules.values() if holding(one.slack_deg) < self.drawn.count - 1]

    def _failing(self) -> list[str]:
        failed: Counter[str] = Counter()
        for one in self.tally.rules.values():
            for place in one.places:
                discs = (disc_of(self.drawn.project, lane) for lane in place.lanes)
                failed.update(dict.fromkeys(discs, place.broken))
        return [lane for lane, count in failed.most_common(MOST_LANES) if count]

    def _without(self, muted: Machines, touched: Sequence[JudgedRule], kept: Sequence[JudgedRule]) -> float:
        """Return the chance in muted machines; only rules that are touched are judged again."""
        count = self.drawn.count
        judged = judge(muted, self.flow, {one.key for one in touched})
        slack: Floats = np.minimum(smallest(judged, count), smallest(kept, count))
        gained = (holding(slack) - holding(self.tally.slacks[0])) / (count - 1)
        return min(1.0, max(0.0, self.tally.held / self.tally.drawn + gained))


def touches(cause: Cause, kind: Kind) -> bool:
    """Return whether a rule of a kind can depend on a cause."""
    if cause in OF_SPRING or kind == "spring":
        return cause in OF_SPRING and kind == "spring"
    return cause not in OF_ITEMS or kind in OF_FLOW


def is_present(drawn: Machines, cause: Cause) -> bool:
    """Return whether a kind of error has any size in a project."""
    project, effects = drawn.project, drawn.errors.effects
    sizes, fits = project.tolerances, drawn.errors.fits.values()
    sized = {
        "play": any(fit.has_play or fit.spread_mm > 0 for fit in fits),
        "seat": any(fit.seat_mm + fit.spread_mm > 0 for fit in fits),
        "disc-angle": sizes.disc_angle_deg,
        "profile": sizes.profile_mm,
        "station": sizes.station_mm,
        "zero": sizes.zero_mm,
        "backlash": any(stack_backlash_deg(project, stack) for stack in project.stacks),
        "link-play": any(lane.follower.link_play_mm for lane in project.lanes),
        "shaft": effects.lift_mm or effects.angle_deg,
        "friction": effects.fails,
        "spring": effects.fails,
        "speed": sizes.speed_percent,
        "travel": project.flow and sizes.travel_percent,
        "rate": project.flow and sizes.rate_percent,
    }
    return bool(sized[cause])


def _moving(drawn: Machines, lane_id: str) -> tuple[str, ...]:
    """Return the discs whose errors move a lane."""
    fit = drawn.errors.fit_of(lane_id)
    own = moving(drawn.project, lane_id)
    return own if fit is None else (*own, *fit.lined(fit.disc_of(lane_id)))
