"""Over which round each part of a machine is judged, where not all of it repeats with each cycle.

A lane alone is judged over its own round. Rules are judged over the round of the lanes that they name, rules
of the same round together. Items, torque and the chance need all lanes: they are judged over the machine's
round while that is short enough, and are said to be not checked where it is not.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import chain, combinations, islice, product
from types import MappingProxyType

from shaftscore.base.wording import counted, listed
from shaftscore.judge.checks.base import CureBudget, Memo
from shaftscore.judge.checks.exclusive import OVERLAP
from shaftscore.judge.checks.interlock import INTERLOCK
from shaftscore.judge.checks.margin import Margin, rule_margins, smallest_of
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.judge.loads.camshaft import Camshaft
from shaftscore.judge.loads.long_round import long_camshaft
from shaftscore.model import Exclusive, Project, Rule, State, replaced
from shaftscore.model.rounds import CYCLE, MOST_REPEATS, round_of
from shaftscore.rules.kinds import lanes_of_rule
from shaftscore.solution import Solution
from shaftscore.solution.rounds import is_short, over_round

MOST_TORQUE_CYCLES = 10
"""Cycles of a round over which the torque is drawn on one grid, so that this stays under 1 degree."""

MOST_PAIRS = 500
"""Pairs of exclusive states on stacks that turn differently that are judged each over its own round."""

MOST_PLACES = 100
"""Places of a rule whose lanes turn very often in its round that are looked at; they are folded as one."""

RULE_PLACE, FLOW_PLACE, TORQUE_PLACE, CHANCE_PLACE, MARGIN_PLACE = range(200_000, 200_005)
"""What tells findings on rounds that are not judged from others; rules of several rounds count on."""


@dataclass(frozen=True)
class RuleRound:
    """Rules that are judged over one round; solution: None where the round is too long."""

    cycles: Fraction
    rules: tuple[Rule, ...]
    solution: Solution | None


@dataclass(frozen=True)
class MachineRounds:
    """The rounds of a machine; see the module's text.

    solution: lanes each over its own round. alone: the same without rules, where these have rounds of their
    own. cycles: of the machine's round. shared: all lanes over it; None where it is too long.
    """

    solution: Solution
    alone: Solution
    cycles: Fraction
    shared: Solution | None
    rules: tuple[RuleRound, ...] = ()

    @property
    def is_cycle(self) -> bool:
        """Whether all of the machine repeats with each cycle, and not much more often."""
        return self.shared is self.solution

    @property
    def is_long(self) -> bool:
        """Whether rules have so many places that copies of the machine take too long to be judged."""
        return any(group.solution is not None and not is_few(group.solution) for group in self.rules)

    @property
    def flow(self) -> Solution | None:
        """The lanes that the flow needs over a round; None where that is too long."""
        flow, solution = self.solution.project.flow, self.solution
        if self.shared is not None or flow is None:
            return self.shared
        lanes = [lane for lane in flow.lanes if lane in solution.lanes]
        cycles = round_of(solution.project, lanes)
        rules = [rule for rule in solution.project.rules if set(lanes_of_rule(rule)) <= set(lanes)]
        rates = [solution.project.rates[solution.lanes[lane].stack] for lane in lanes]
        few = max(rates, default=CYCLE) * cycles <= MOST_REPEATS
        return over_round(solution, cycles, lanes, rules) if few else None

    @property
    def flow_cycles(self) -> Fraction:
        """The cycles of the round of the flow."""
        flow = self.solution.project.flow
        if self.shared is not None or flow is None:
            return self.cycles
        return round_of(self.solution.project, [lane for lane in flow.lanes if lane in self.solution.lanes])


def machine_rounds(solution: Solution) -> MachineRounds:
    """Return the rounds of a solved machine."""
    project, lanes = solution.project, list(solution.lanes)
    if _is_even(solution):
        return MachineRounds(solution, solution, CYCLE, solution)
    cycles = round_of(project, lanes)
    rates = [project.rates[solved.stack] for solved in solution.lanes.values()]
    few = max(rates, default=CYCLE) * cycles <= MOST_REPEATS
    return MachineRounds(
        solution,
        over_round_without_rules(solution),
        cycles,
        over_round(solution, cycles, lanes) if few else None,
        tuple(_rule_rounds(solution)),
    )


def over_round_without_rules(solution: Solution) -> Solution:
    """Return a solution whose project has no rules, its lanes as they are."""
    return Solution(replaced(solution.project, rules=()), solution.lanes)


def _is_even(solution: Solution) -> bool:
    rates = [solution.project.rates[solved.stack] for solved in solution.lanes.values()]
    return all(rate.denominator == 1 and rate <= MOST_REPEATS for rate in rates)


def _rule_rounds(solution: Solution) -> Iterator[RuleRound]:
    project, groups = solution.project, dict[Fraction, list[Rule]]()
    for rule in chain.from_iterable(_parts(project, rule) for rule in project.rules):
        if set(lanes_of_rule(rule)) <= set(solution.lanes):
            groups.setdefault(round_of(project, lanes_of_rule(rule)), []).append(rule)
    for cycles, rules in groups.items():
        lanes = {lane for rule in rules for lane in lanes_of_rule(rule)}
        short = is_short(solution, lanes, cycles)
        yield RuleRound(cycles, tuple(rules), over_round(solution, cycles, lanes, rules) if short else None)


def _parts(project: Project, rule: Rule) -> Iterator[Rule]:
    """Yield rules that together are a rule, each of lanes that repeat together as soon as they can.

    Of exclusive states those whose stacks turn alike are one rule, any two others one each, while these are
    few.
    """
    alike: dict[Fraction, list[State]] = {}
    for state in rule.states if isinstance(rule, Exclusive) else ():
        stack = project.stack_of(project.lane(state.lane))
        alike.setdefault(project.rates[stack.id], []).append(state)
    if not isinstance(rule, Exclusive) or len(alike) < 2:
        yield rule
        return
    between = [pair for one, other in combinations(alike.values(), 2) for pair in product(one, other)]
    if len(between) > MOST_PAIRS:
        yield rule
        return
    for states in (*(same for same in alike.values() if len(same) > 1), *between):
        yield replaced(rule, states=tuple(states))


def placed(finding: Finding, cycles: Fraction) -> Finding:
    """Return a finding of a round of so many cycles, its values that are degrees as those of the master."""
    if cycles == CYCLE:
        return finding
    in_degrees = finding.rule in ("overlap", "pass-through") or finding.facts.get("kind") == "requires"
    if not in_degrees:
        return replace(finding, cycles=cycles)
    value, limit = (None if one is None else one * float(cycles) for one in (finding.value, finding.limit))
    return replace(finding, cycles=cycles, value=value, limit=limit)


def lane_placed(finding: Finding, solution: Solution) -> Finding:
    """Return a finding of one lane alone, or of lanes of one stack, with the cycles of their round."""
    lane = solution.lanes.get(finding.lanes[0]) if finding.lanes else None
    return finding if lane is None else placed(finding, lane.course.cycles)


def rule_findings(rounds: MachineRounds, memo: Memo) -> Iterator[Finding]:
    """Judge the rules between lanes, each over its round."""
    for number, group in enumerate(rounds.rules):
        if group.solution is None:
            yield _not_judged(group, number)
            continue
        for part in _in_parts(group.solution):
            yield from (placed(finding, group.cycles) for finding in _rule_findings(part, memo))


def _in_parts(solution: Solution) -> Iterator[Solution]:
    """Yield the rules of a round together, or one by one where lanes turn very often in it."""
    if is_few(solution):
        yield solution
        return
    for rule in solution.project.rules:
        yield Solution(replaced(solution.project, rules=(rule,)), solution.lanes)


def is_few(solution: Solution) -> bool:
    """Return whether no lane turns so often in a round that only some of its places can be worked on."""
    return all(lane.turns <= MOST_REPEATS for lane in solution.lanes.values())


def _rule_findings(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Judge rules over one round; of those with very many places the first, without cures, are findings.

    A cure is tried on all intervals of its lanes: with thousands of them it would take minutes.
    """
    few = is_few(solution)
    inside = (
        Memo(cures=memo.cures) if few else Memo(cures=CureBudget(slow=False, none=True), most=MOST_PLACES)
    )
    for check in (OVERLAP, INTERLOCK):
        yield from folded(islice(check.judge(solution, inside), None if few else MOST_PLACES))


def folded(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield the first of findings about the same states and blocks, with how many there are (`repeated`)."""
    groups: dict[Hashable, list[Finding]] = {}
    for finding in findings:
        groups.setdefault((finding.rule, finding.lanes, finding.subjects), []).append(finding)
    for same in groups.values():
        first = min(same, key=lambda finding: finding.order)
        facts = MappingProxyType({**first.facts, "repeated": len(same)})
        yield first if len(same) == 1 else replace(first, facts=facts)


def _not_judged(group: RuleRound, number: int) -> Finding:
    lanes = tuple(dict.fromkeys(lane for rule in group.rules for lane in lanes_of_rule(rule)))
    many = counted(len(group.rules), "rule")
    why = (
        f"{many} between them {'is' if len(group.rules) == 1 else 'are'} not checked: {_late(group.cycles)}."
    )
    return found("not-checked", lanes[:6], why=why, place=RULE_PLACE + 10 * (number + 1))


def _late(cycles: Fraction) -> str:
    return f"their stacks repeat together only after {counted(int(cycles), 'cycle')}, with too many moves"


def smallest_margin(rounds: MachineRounds) -> Margin | None:
    """Return the smallest slack of the rules between lanes, degrees of the master."""
    found_margins = []
    for group in rounds.rules:
        few = group.solution is not None and is_few(group.solution)
        margin = smallest_of(rule_margins(group.solution)) if group.solution is not None and few else None
        if margin is not None:
            found_margins.append(replace(margin, smallest_deg=margin.smallest_deg * float(group.cycles)))
    return smallest_of(found_margins)


def shared_loads(rounds: MachineRounds, loads: MachineLoads) -> tuple[MachineLoads, MachineLoads | None]:
    """Return the loads with the torque of all lanes over the machine's round, and the loads over that round.

    The torque is that at the master; none where the round has too many distinct cycles. Where the round is
    too long there are no second loads.
    """
    seen = None if rounds.shared is None else machine_loads(rounds.shared)
    if seen is None or rounds.cycles > MOST_TORQUE_CYCLES:
        shaft: Camshaft = long_camshaft(loads, rounds.cycles) or Camshaft({}, {})
    else:
        weight = {lane_id: share / float(rounds.cycles) for lane_id, share in seen.camshaft.weight.items()}
        shaft = Camshaft(seen.camshaft.lanes, weight)
    return MachineLoads(loads.project, loads.lanes, shaft), seen


def unjudged(rounds: MachineRounds, loads: MachineLoads) -> Iterator[Finding]:
    """Find what is not judged because the machine's round is too long."""
    project, cycles = rounds.solution.project, counted(int(rounds.cycles), "cycle")
    slow = [one.label for one in project.stacks if project.rates[one.id].denominator > 1]
    late = f"the machine repeats only after {cycles} ({listed(slow[:6])})"
    if project.flow is not None and rounds.flow is None:
        yield found("not-checked", (), why=f"The flow is not simulated: {late}.", place=FLOW_PLACE)
    if loads.lanes and not loads.camshaft.lanes:
        what = "The torque of all lanes together, and what it does to gears, is not checked"
        yield found("not-checked", (), why=f"{what}: {late}.", place=TORQUE_PLACE)
    many = [group for group in rounds.rules if group.solution is not None and not is_few(group.solution)]
    if many:
        rules = counted(sum(len(group.rules) for group in many), "rule")
        what = f"The margin of {rules} is left out, and of what breaks them the first places are shown"
        why = f"{what}: their lanes turn over {MOST_REPEATS} times until they repeat together."
        yield found("not-checked", (), severity=Severity.NOTE, why=why, place=MARGIN_PLACE)
    if rounds.shared is None and (project.rules or project.flow is not None):
        what = "The chance of working is not worked out"
        yield found("not-checked", (), why=f"{what}: {late}.", place=CHANCE_PLACE)
