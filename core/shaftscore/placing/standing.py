"""How good a machine is for Arrange, and which of two is better.

Machines are compared by three things in this order: what is found wrong, the least normalised slack, and the
share of built machines in which all rules hold. Only what an arrangement can change counts: a weak spring,
or a rule between locked blocks, must not make all machines look alike.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

import numpy as np

from shaftscore.base.wording import listed
from shaftscore.judge.checks.parts import disc_radius_mm
from shaftscore.judge.findings import Finding, Severity
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.report import Report, examine_as_drawn
from shaftscore.judge.report.effects import built_effects
from shaftscore.judge.spread import BuiltEffects
from shaftscore.judge.spread.drawing import draw_machines
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.judging import JudgedRule, holding, judge, judged_places, judged_rule, smallest
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.slacks import RuleSlack, least_normalised, rule_slacks
from shaftscore.judge.spread.states import LaneRuns
from shaftscore.model import Project
from shaftscore.placing.drawn import errors_as_drawn
from shaftscore.solution import Solution

BETTER, LEAST_BETTER = 0.02, 0.002
"""A normalised slack is larger if it is by this share of it, and by this."""

JudgedRules = tuple[JudgedRule, ...]
"""Rules, judged in the same machines."""

LIKELIER = 0.0005
"""A chance is higher, or lower, if it is by this: a few of the machines drawn."""


def movable_lanes(project: Project) -> frozenset[str]:
    """Return the lanes that an arrangement can move: discs that move and are not all locked, and riders."""
    own = {
        lane.id
        for lane in project.lanes
        if lane.kind == "disc"
        and len({block.level for block in lane.blocks}) > 1
        and not all(block.locked for block in lane.blocks)
    }
    return frozenset(lane.id for lane in project.lanes if lane.id in own or lane.disc_of in own)


@dataclass(frozen=True, eq=False)
class Standing:
    """A machine as it was judged: its report as drawn, and all places of its rules with what they survive.

    runs: of its lanes, for drawing machines.
    """

    report: Report
    slacks: tuple[RuleSlack, ...]
    runs: dict[str, LaneRuns] = field(default_factory=dict, repr=False)

    @staticmethod
    def of(
        project: Project, before: Standing | None = None, between: Callable[[], object] | None = None
    ) -> Standing:
        """Solve and judge a project.

        before: a similar one, of which what did not change is taken. between: called between the steps of
        the work, which ends with what it raises.
        """
        report = examine_as_drawn(project, None if before is None else before.report, between)
        effects = built_effects(report.loads, report.shafts) if report.loads is not None else None
        assert effects is not None, "a whole machine has its loads computed"
        runs = {} if before is None else before.runs_of(report.solution)
        slacks = rule_slacks(
            report.solution, report.flow, loads=report.loads, effects=effects, between=between, runs=runs
        )
        return Standing(report, slacks, runs)

    def runs_of(self, solution: Solution) -> dict[str, LaneRuns]:
        """Return the runs of the lanes that are the very same in another solution."""
        own = self.report.solution.lanes
        return {key: runs for key, runs in self.runs.items() if solution.lanes.get(key) is own[key]}

    @property
    def project(self) -> Project:
        """The project."""
        return self.report.project

    @cached_property
    def movable(self) -> tuple[RuleSlack, ...]:
        """The places that an arrangement can change."""
        lanes = movable_lanes(self.project)
        return tuple(one for one in self.slacks if not lanes.isdisjoint(one.lanes))

    @cached_property
    def least(self) -> RuleSlack | None:
        """The place with the least normalised slack among those that can change."""
        return least_normalised(self.movable)

    @property
    def margin(self) -> float:
        """The least normalised slack, a factor of the error; infinite where nothing limits it."""
        return inf if self.least is None else self.least.normalised

    @cached_property
    def errors(self) -> tuple[Finding, ...]:
        """The errors of the machine as drawn."""
        return tuple(errors_as_drawn(self.report.findings))

    @cached_property
    def warnings(self) -> int:
        """Count the warnings of the machine as drawn."""
        return self.report.count(Severity.WARNING)

    @property
    def faults(self) -> tuple[int, int]:
        """Count errors and warnings of the machine as drawn."""
        return len(self.errors), self.warnings

    @property
    def is_weighed(self) -> bool:
        """Whether drawn machines were judged, so that its chances are known at once."""
        return "_judged" in self.__dict__

    def weigh(self, between: Callable[[], object] | None) -> None:
        """Judge drawn machines, unless that was done; between: called meanwhile, may end it by an error."""
        if not self.is_weighed:
            self._weigh_rules(between)
            self.__dict__["_judged"] = self._with_springs(between)

    def _weigh_rules(self, between: Callable[[], object] | None) -> None:
        """Judge all rules but springs in drawn machines, unless that was done."""
        if "_rules" not in self.__dict__:
            self.__dict__["_rules"] = self._judge(between)

    @cached_property
    def _rules(self) -> tuple[JudgedRules, Floats]:
        """Judge drawn machines: always the same errors, so that differences between projects are real.

        Returns the rules, and the least slack of the places that an arrangement can change, (n,) degrees.
        """
        return self._judge(None)

    def _judge(self, between: Callable[[], object] | None) -> tuple[JudgedRules, Floats]:
        drawn, lanes = self._drawn(replace(self._effects, fails={})), movable_lanes(self.project)
        least, rules = np.full(drawn.count, np.inf), list[JudgedRule]()
        for kind, what, parts in judged_places(drawn, self.report.flow, between=between):
            rules.append(judged_rule(kind, what, parts))
            for part in parts:
                if kind != "supply" and not lanes.isdisjoint(part.lanes):
                    np.minimum(least, part.slack_deg, out=least)
        return tuple(rules), least

    @cached_property
    def _judged(self) -> JudgedRules:
        """All rules, springs included, judged in drawn machines."""
        return self._with_springs(None)

    def _with_springs(self, between: Callable[[], object] | None) -> JudgedRules:
        springs = {("spring", lane_id) for lane_id in self._effects.fails}
        return (*self._rules[0], *judge(self._drawn(self._effects), self.report.flow, springs, between))

    def _drawn(self, effects: BuiltEffects) -> Machines:
        return draw_machines(self.report.solution, loads=self.report.loads, effects=effects, runs=self.runs)

    @cached_property
    def _effects(self) -> BuiltEffects:
        loads = self.report.loads
        assert loads is not None, "a whole machine has its loads computed"
        return built_effects(loads, self.report.shafts)

    @cached_property
    def chance(self) -> float | None:
        """The share of built machines that work, springs included; None where nothing is judged."""
        judged = self._judged
        if not judged:
            return None
        count = len(judged[0].slack_deg)
        return 0.0 if self.errors else holding(smallest(judged, count)) / (count - 1)

    @cached_property
    def chance_movable(self) -> float:
        """The share of built machines in which all rules hold that an arrangement can change; 1 for none."""
        least = self._rules[1]
        return holding(least) / (len(least) - 1)

    @property
    def smallest_deg(self) -> float | None:
        """The slack of the place with the least normalised slack, degrees; None where nothing limits it."""
        return None if self.least is None else self.least.slack_deg

    @property
    def peak_nm(self) -> float | None:
        """Peak torque of the camshaft, N·m; None without loads."""
        peak = self.report.loads.camshaft.peak if self.report.loads is not None else None
        return None if peak is None else peak.value

    @cached_property
    def largest_disc_mm(self) -> float | None:
        """Largest radius of any disc, mm; None where none has a shape."""
        profiles = [lane.profile for lane in self.report.solution.lanes.values()]
        return max((disc_radius_mm(one) for one in profiles if one is not None), default=None)

    @cached_property
    def shortest_dwell_deg(self) -> float | None:
        """Shortest dwell of all lanes, degrees of their stacks; None without blocks."""
        lengths = [block.length_deg for lane in self.project.lanes for block in lane.blocks]
        return min(lengths, default=None)

    def is_better_than(self, other: Standing, between: Callable[[], object] | None = None) -> bool:
        """Return whether this machine is better; see the module's text. Never where its chance is lower.

        between: called while chances are computed, which is only where they decide; it may raise to end that.
        """
        if self.faults != other.faults:
            return self.faults < other.faults
        if is_larger(other.margin, self.margin):
            return False
        is_larger_now = is_larger(self.margin, other.margin)
        first, second = (self, other) if is_larger_now else (other, self)
        first._weigh_rules(between)
        if first.chance_movable >= 1 - LIKELIER:
            return is_larger_now  # no chance is higher than this, enough to count
        second._weigh_rules(between)
        if self.chance_movable < other.chance_movable - LIKELIER:
            return False
        return is_larger_now or self.chance_movable > other.chance_movable + LIKELIER

    def place_text(self) -> str:
        """Name the place of the least normalised slack; empty where nothing limits the machine."""
        if self.least is None:
            return ""
        lanes = listed([lane_text(self.project, lane) for lane in self.least.lanes])
        return f"{PLACES[self.least.kind]}, {lanes}"


PLACES = {
    "exclusive": "mutually exclusive",
    "requires": "requires",
    "order": "sequence",
    "pass-through": "guarded level",
    "release": "open time",
    "headway": "channel",
    "diverter": "diverter",
    "stock": "magazine",
    "outlet-order": "order at the outlet",
    "supply": "supply",
    "spring": "spring",
}
"""What a kind of rule is called beside its lanes."""


def is_larger(one: float, other: float) -> bool:
    """Return whether one normalised slack (a factor of the error) is larger than another, enough to count."""
    if not np.isfinite(one) or not np.isfinite(other):
        return one > other
    return one > other + max(LEAST_BETTER, BETTER * abs(other))
