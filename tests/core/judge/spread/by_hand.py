"""The same machines judged one by one, with the exact motions and sets of angles.

Slow and independent: no tables, no arrays over machines, no slack of `shaftscore.rules`.
"""

from __future__ import annotations

from math import inf

from shaftscore.base.angles import TURN, Arcs, ahead, turn_to, wrap
from shaftscore.judge.spread.draws import Errors
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.states import StateInterval, to_master
from shaftscore.model import Exclusive, LevelState, Order, Project, RangeState, Requires
from shaftscore.solution import Solution

State = LevelState | RangeState


def distance(one: Arcs, other: Arcs) -> float:
    """Return the longest stretch that two share, negative, or the shortest between them, degrees."""
    shared = max((length for _, length in (one & other).spans), default=0.0)
    between = min((length for _, length in (~(one | other)).spans), default=0.0)
    return -shared if shared > 0 else between


class OneMachine:
    """One drawn machine (row `row`)."""

    def __init__(self, solution: Solution, errors: Errors, row: int) -> None:
        self.solution, self.errors, self.row = solution, errors, row
        self.project: Project = solution.project
        self.deg_per_s = 6.0 * self.project.shaft.speed_rpm * float(errors.speed[row])

    def spans(self, state: State) -> list[Arcs]:
        """Invert the motion exactly for a profile that is too high, and turn it by the disc's error."""
        lane = self.solution.lanes[state.lane]
        motion = lane.motion
        assert isinstance(motion, LaneMotion)
        high = float(self.errors.height_mm(state.lane)[self.row]) * lane.lane.follower.output_ratio
        low_mm, high_mm = self._limits(state, motion)
        own = motion.stretches([low_mm - high], [high_mm - high])[0]
        master = to_master([StateInterval(one.span, False, ()) for one in own], lane.turns)
        shift = float(self.errors.shift_deg(state.lane)[self.row])
        return [one.span.shift(shift) for one in master]

    def _limits(self, state: State, motion: LaneMotion) -> tuple[float, float]:
        lane = self.solution.lanes[state.lane].lane
        if isinstance(state, LevelState):
            return lane.levels[state.level] - lane.band, lane.levels[state.level] + lane.band
        low = -1e3 if state.from_mm <= motion.lowest_mm else state.from_mm
        return low, 1e3 if state.to_mm >= motion.highest_mm else state.to_mm

    def slack(self, rule: Exclusive | Requires | Order) -> float:
        if isinstance(rule, Exclusive):
            return self._exclusive(rule)
        return self._requires(rule) if isinstance(rule, Requires) else self._order(rule)

    def _exclusive(self, rule: Exclusive) -> float:
        gap = rule.gap_s * self.deg_per_s if rule.gap_s is not None else rule.gap_deg or 0.0
        spans = [self.spans(state) for state in rule.states]
        pairs = [
            (a, b) for i, one in enumerate(spans) for other in spans[i + 1 :] for a in one for b in other
        ]
        return min((distance(a, b) - gap for a, b in pairs), default=inf)

    def _requires(self, rule: Requires) -> float:
        lead = rule.lead_s * self.deg_per_s if rule.lead_s is not None else rule.lead_deg or 0.0
        lag = rule.lag_s * self.deg_per_s if rule.lag_s is not None else rule.lag_deg or 0.0
        need = self.spans(rule.need)
        return min((self._held(when.grow(lead, lag), need) for when in self.spans(rule.when)), default=inf)

    @staticmethod
    def _held(asked: Arcs, need: list[Arcs]) -> float:
        gone = asked & ~Arcs.of(span for one in need for span in one.spans)
        longest = max((length for _, length in gone.spans), default=0.0)
        if longest > 1e-9:
            return -longest
        around = next(one for one in need if one.covers(asked))
        before = ahead(around.start, asked.start)
        return min(before, around.length - asked.length - before)

    def _order(self, rule: Order) -> float:
        nominal = OneMachine(self.solution, self.errors, 0)
        first, then = (nominal.spans(state) for state in (rule.first, rule.then))
        mine, other = (self.spans(state) for state in (rule.first, rule.then))
        left = inf
        for number, one in enumerate(first):
            waits = [wrap(span.start - one.start) for span in then]
            which = waits.index(min(waits))
            moved = turn_to(then[which].start, other[which].start) - turn_to(one.start, mine[number].start)
            wait = waits[which] + moved
            most = TURN * 10 if rule.max_s is None else rule.max_s * self.deg_per_s
            left = min(left, wait - rule.min_s * self.deg_per_s, most - wait)
        return left
