"""The report of a project: its solution, flow, all findings and the smallest margin.

`examine` makes it, reusing from the report before whatever did not change. A report belongs to one
project object and holds it. What takes longer than a frame of the editor (the flow, the chance) can be left
out; the last result then stands in, with the project that it belongs to.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

from shaftscore.edits import BlockRef
from shaftscore.judge.bodies import Nearest, nearest_of, parts_of
from shaftscore.judge.checks import CHECKS, KeptFindings, Memo, run_checks
from shaftscore.judge.checks.cures import Attempt, tried
from shaftscore.judge.checks.margin import Margin, RuleMargin, rule_margins, smallest_of
from shaftscore.judge.findings import Cure, Finding, Severity
from shaftscore.judge.fits import StackFit, stack_fits
from shaftscore.judge.fits.findings import FIT_RULES, fit_findings, needs_loads
from shaftscore.judge.flow import FlowResult, WorkBudget, run_of_copy, simulate
from shaftscore.judge.heights import HEIGHT_RULES, StackHeights, height_findings, machine_heights
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.judge.loads.findings import DRIVE_RULES, LOAD_RULES, drive_findings, lane_findings
from shaftscore.judge.report import chance as chances
from shaftscore.judge.report.causes import CausePlace, FoldedFindings, TriedCopy, fold, kept_folds
from shaftscore.judge.report.coverage import Coverage, coverage_of
from shaftscore.judge.report.effects import built_effects
from shaftscore.judge.shaft import MachineShafts, machine_shafts, shafts_still_hold
from shaftscore.judge.shaft.findings import SHAFT_RULES, shaft_findings
from shaftscore.judge.spread import NO_EFFECTS, BuiltEffects, Spread
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Flow, LevelState, Project, RangeState
from shaftscore.solution import Solution, solve, work_left
from shaftscore.solution.lane import Reads, same_reads


@dataclass(frozen=True)
class Report:
    """What is known of one project.

    findings: causes first, errors first among them. causes: of each finding the place of its cause in
    `findings`, None for a cause; empty where none has one. checked: names of the rules that were judged.
    flow: the result of the simulation, and flow_project the project that it belongs to (an older one while
    a block is held). loads: forces and torque, of this very project. heights: of discs and rollers, a stack
    each. fits: of the stacks by id. shafts: how the shafts bend, with the project that they belong to, or
    None in a hurry and for some lanes alone. margin: the smallest slack of all rules between lanes, or None
    where no rule limits anything. chance: the chance that a real machine works, with the project that it
    belongs to, or None in a hurry. lanes: ids of the lanes that were looked at, or None for the whole
    machine. effects: what the chance was drawn with. margins, kept, flow_reads: what the next report may
    take over.
    """

    project: Project
    solution: Solution
    findings: tuple[Finding, ...]
    checked: tuple[str, ...]
    flow: FlowResult | None = None
    flow_project: Project | None = None
    loads: MachineLoads | None = None
    shafts: MachineShafts | None = None
    heights: tuple[StackHeights, ...] = ()
    margin: Margin | None = None
    chance: chances.Chance | None = None
    lanes: frozenset[str] | None = None
    margins: tuple[RuleMargin, ...] = field(default=(), repr=False)
    kept: Mapping[Hashable, KeptFindings] = field(default_factory=dict, repr=False)
    flow_reads: Reads = field(default=(), repr=False)
    fits: Mapping[str, StackFit] = field(default_factory=dict)
    effects: BuiltEffects = NO_EFFECTS
    causes: tuple[CausePlace, ...] = ()

    @cached_property
    def coverage(self) -> Coverage:
        """What of the machine is described, area by area; a shaft that cannot be computed is a gap."""
        return coverage_of(self.project, () if self.shafts is None else self.shafts.refused)

    @property
    def folded(self) -> FoldedFindings:
        """The findings with their causes."""
        return FoldedFindings(self.findings, self.causes or (None,) * len(self.findings))

    def count(self, severity: Severity) -> int:
        """Count the findings of a severity."""
        return sum(finding.severity == severity for finding in self.findings)

    @property
    def is_clean(self) -> bool:
        """Whether nothing above a note was found, and areas are checked: all but those not needed."""
        return self.found_nothing and self.coverage.is_complete and not self.coverage.is_empty

    @property
    def found_nothing(self) -> bool:
        """Whether nothing above a note was found in what is described."""
        return all(finding.severity is Severity.NOTE for finding in self.findings)

    @property
    def is_current(self) -> bool:
        """Whether the flow in it belongs to its own project."""
        return self.project.flow is None or self.flow_project is self.project

    @property
    def spread(self) -> Spread | None:
        """What drawing machines gave; None where nothing limits them, or nothing was drawn yet."""
        return None if self.chance is None else self.chance.spread

    def nearest(self, stack_id: str) -> Nearest | None:
        """Return the two parts of a stack that come nearest to one another over a turn, with their clearance.

        None where no two parts are at heights that let them meet. Computed at each call (some tenths of a
        second with many rods and guides); keep it while the report's project is the same. Raises KeyError
        for an unknown stack.
        """
        stack = next((one for one in self.project.stacks if one.id == stack_id), None)
        if stack is None:
            raise KeyError(stack_id)
        return nearest_of(parts_of(self.solution, stack), stack)


def examine(
    project: Project,
    previous: Report | None = None,
    late: bool = True,
    lanes: Collection[str] | None = None,
    cures: bool = True,
) -> Report:
    """Solve and judge a project.

    previous: the report before; what did not change is taken from it. late: False leaves out what takes
    longer than a frame (cures of a disc's shape; flow, drive and chance stay as in `previous`).
    lanes: only these lanes, and only the rules that lie within them. cures: False leaves out those that
    are tried before they are offered, and findings are folded as they were. Raises KeyError for an unknown
    lane.
    """
    report = _examined(project, previous, late, lanes, cures)
    if late and cures:
        folded = fold(report.findings, project, partial(_tried, report, WorkBudget(COPY_STEPS)))
    else:
        folded = kept_folds(report.findings, previous.folded if previous is not None else None)
    return replace(report, findings=folded.findings, causes=folded.causes)


COPY_STEPS = 400_000
"""Steps of the flow's runs, all together, that say which findings follow from others."""


def _tried(report: Report, budget: WorkBudget, cure: Cure) -> TriedCopy | None:
    """Try a cure in a copy of a report's project; None where it cannot be made."""
    edited = tried(report.project, Attempt(cure.edit or "", cure.arguments, cure.sentence))
    if edited is None:
        return None
    lanes = None if report.lanes is None else report.lanes & set(edited.lane_index)
    copy = _examined(edited, report, True, lanes, False, budget)
    return TriedCopy(copy.findings, frozenset(copy.checked), work_left(edited, report.solution))


def _examined(  # noqa: PLR0917 - the arguments of `examine`, and one more
    project: Project,
    previous: Report | None,
    late: bool,
    lanes: Collection[str] | None,
    cures: bool,
    copy: WorkBudget | None = None,
) -> Report:
    """Solve and judge a project, its findings not folded.

    copy: of an edited copy that is only looked at: the steps of its flow; without cures and chance.
    """
    chosen = None if lanes is None else frozenset(lanes)
    for lane_id in chosen or ():
        project.lane(lane_id)
    before = previous if previous is not None and previous.lanes == chosen else None
    solution = solve(project, before.solution if before else None, chosen)
    memo = Memo(before.kept if before else {}, slow_cures=late and cures)
    run = _flow(solution, before, late, chosen, copy)
    loads = machine_loads(solution, before.loads if before else None)
    shafts = _shafts(solution, loads, before, late=late, whole=chosen is None)
    heights = machine_heights(solution, before.heights if before else None)
    margins = rule_margins(solution, before.margins if before else ())
    fits = stack_fits(solution, before.fits if before else None)
    findings = [
        *run_checks(CHECKS, solution, memo),
        *_flow_findings(run, solution),
        *_load_findings(loads, memo),
        *height_findings(heights, solution, memo),
        *_drive_findings(loads, shafts, before, late=late, whole=chosen is None),
        *_fit_findings(solution, fits, loads, memo, before, late=late),
        *_shaft_findings(shafts, before, memo, project),
    ]
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    effects = built_effects(loads, shafts) if copy is None else NO_EFFECTS
    if copy is None:
        chance = _chance(solution, run, (loads, effects), before, errors=errors, late=late, cures=cures)
    else:
        chance = None
    findings += _chance_findings(chance, project)
    return Report(
        project=project,
        solution=solution,
        findings=tuple(sorted(findings, key=lambda finding: finding.order)),
        checked=_checked(run.result, loads, chance, shafts, whole=chosen is None),
        flow=run.result,
        flow_project=run.project,
        loads=loads,
        shafts=shafts,
        heights=heights,
        margin=smallest_of(margins),
        margins=margins,
        chance=chance,
        lanes=chosen,
        kept=memo.now,
        flow_reads=run.reads,
        fits=fits,
        effects=effects,
    )


@dataclass(frozen=True)
class _FlowRun:
    """A result of the flow, the project that it belongs to, and what it was computed from."""

    result: FlowResult | None = None
    project: Project | None = None
    reads: Reads = ()


def _flow(
    solution: Solution,
    before: Report | None,
    late: bool,
    lanes: frozenset[str] | None,
    copy: WorkBudget | None = None,
) -> _FlowRun:
    """Run the flow, or take the last result where it still holds, or where there is no time for it."""
    project = solution.project
    if project.flow is None:
        return _FlowRun()
    reads = _flow_reads(solution, project.flow)
    if before is not None and same_reads(reads, before.flow_reads):
        current = before.flow_project is before.project
        return _FlowRun(before.flow, project if current else before.flow_project, reads)
    if not late:
        return _FlowRun(before.flow, before.flow_project, before.flow_reads) if before else _FlowRun()

    def states(state: LevelState | RangeState) -> tuple[StateInterval, ...] | None:
        lane = solution.lanes.get(state.lane)
        return None if lane is None or lane.motion is None else lane.intervals(state)

    if copy is not None:
        return _FlowRun(run_of_copy(project, states, copy, lanes), project, reads)
    return _FlowRun(simulate(project, states, lanes=lanes), project, reads)


def _flow_reads(solution: Solution, flow: Flow) -> Reads:
    """Return what the flow's result depends on: its record, the speed, and the lanes that decide it."""
    lanes = [solution.lanes.get(lane_id) for lane_id in sorted(flow.lanes)]
    return (flow, solution.project.shaft.speed_rpm, *lanes)


def _flow_findings(run: _FlowRun, solution: Solution) -> list[Finding]:
    """Return the flow's findings; of an older project's only those whose lanes and blocks are still there."""
    if run.result is None:
        return []
    if run.project is solution.project:
        return list(run.result.findings)
    return [finding for finding in run.result.findings if _still_there(finding, solution.project)]


def _still_there(finding: Finding, project: Project) -> bool:
    known = project.lane_index
    refs = [subject for subject in finding.subjects if isinstance(subject, BlockRef)]
    return all(lane in known for lane in finding.lanes) and all(
        ref.lane_id in known and ref.index < len(project.lane(ref.lane_id).blocks) for ref in refs
    )


def _load_findings(loads: MachineLoads, memo: Memo) -> Iterator[Finding]:
    """Yield the findings of each lane's loads, kept while they are the same."""
    for lane_id, lane in loads.lanes.items():
        yield from memo.keep(("loads", lane_id), (lane,), partial(lane_findings, lane_id, lane))


def _shafts(
    solution: Solution, loads: MachineLoads, before: Report | None, *, late: bool, whole: bool
) -> MachineShafts | None:
    """Compute the shafts, or keep the last results meanwhile; of some lanes alone it says nothing."""
    last = before.shafts if before is not None else None
    if not whole:
        return None
    if late or (last is not None and shafts_still_hold(solution, loads, last)):
        return machine_shafts(solution, loads, last)
    return last


def _shaft_findings(
    shafts: MachineShafts | None, before: Report | None, memo: Memo, project: Project
) -> Iterable[Finding]:
    """Judge the shafts; of an older project's only what was found, while its lanes are still there."""
    if shafts is None:
        return ()
    if shafts.project is project:
        return shaft_findings(shafts, memo)
    last = before.findings if before is not None else ()
    return [one for one in last if one.rule in SHAFT_RULES and _still_there(one, project)]


def _drive_findings(
    loads: MachineLoads, shafts: MachineShafts | None, before: Report | None, *, late: bool, whole: bool
) -> Iterable[Finding]:
    """Judge the drive, or keep what was last found; of some lanes alone it says nothing."""
    if not whole or loads.drive is None:
        return ()
    if late:
        return drive_findings(loads, None if shafts is None else shafts.friction_nm())
    return [finding for finding in before.findings if finding.rule in DRIVE_RULES] if before else ()


def _fit_findings(
    solution: Solution,
    fits: Mapping[str, StackFit],
    loads: MachineLoads,
    memo: Memo,
    before: Report | None,
    *,
    late: bool,
) -> Iterator[Finding]:
    """Yield the findings of each stack's joints, kept while they are the same.

    Where a clamp is judged by torques, the last findings are kept when there is no time.
    """
    for place, (stack_id, fit) in enumerate(fits.items()):
        if not fit.discs:
            continue
        lanes = (loads.lanes.get(lane) for lane in fit.lanes) if needs_loads(fit) else ()
        key, reads = ("fits", stack_id), (fit, *lanes)
        if late or not needs_loads(fit) or memo.holds(key, reads):
            yield from memo.keep(key, reads, partial(fit_findings, solution, fit, loads, place))
        elif before is not None:
            yield from (one for one in before.findings if one.rule in FIT_RULES and one.place == place)


def _chance(
    solution: Solution,
    run: _FlowRun,
    built: tuple[MachineLoads, BuiltEffects],
    before: Report | None,
    *,
    errors: int,
    late: bool,
    cures: bool,
) -> chances.Chance | None:
    """Draw machines, where the flow that they are judged with is this project's."""
    last = before.chance if before is not None else None
    current = last is not None and before is not None and last.project is before.project
    return chances.chance(
        solution,
        run.result,
        last,
        errors=errors,
        late=late,
        current=current,
        loads=built[0],
        effects=built[1],
        cures=cures,
    )


def _chance_findings(chance: chances.Chance | None, project: Project) -> list[Finding]:
    """Return the finding of the chance; of an older project's only while its lanes are still there."""
    finding = None if chance is None else chance.finding
    return [finding] if finding is not None and _still_there(finding, project) else []


def _checked(
    flow: FlowResult | None,
    loads: MachineLoads,
    chance: chances.Chance | None,
    shafts: MachineShafts | None,
    *,
    whole: bool,
) -> tuple[str, ...]:
    """Name the rules that were judged: those of flow, loads, drive and chance where the project has them."""
    rules = [rule for check in CHECKS for rule in check.rules]
    rules += flow.checked if flow is not None else ()
    rules += HEIGHT_RULES
    rules += FIT_RULES if any(loads.project.lanes) else ()
    rules += LOAD_RULES if loads.lanes else ()
    rules += DRIVE_RULES if loads.drive is not None and whole else ()
    rules += SHAFT_RULES if shafts is not None and shafts.stacks else ()
    rules += chances.RULES if chance is not None and chance.spread is not None else ()
    return tuple(dict.fromkeys(rules))
