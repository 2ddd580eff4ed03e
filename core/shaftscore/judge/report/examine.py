"""The report of a project: its solution, flow, all findings and the smallest margin.

`examine` makes it, reusing from the report before whatever did not change. A report belongs to one
project object and holds it. What takes longer than a frame of the editor (the flow, the chance) can be left
out; the last result then stands in, with the project that it belongs to.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, partial

from shaftscore.edits import BlockRef
from shaftscore.judge.bodies import Nearest, nearest_of, parts_of
from shaftscore.judge.checks import BETWEEN_LANES, CHECKS, LANE_RULES, Memo, run_checks
from shaftscore.judge.checks.base import CureBudget
from shaftscore.judge.checks.cures import Attempt, tried
from shaftscore.judge.checks.margin import Margin, rule_margins, smallest_of
from shaftscore.judge.findings import Cure, Finding, Severity
from shaftscore.judge.fits import StackFit, stack_fits
from shaftscore.judge.fits.findings import FIT_RULES, fit_findings, needs_loads
from shaftscore.judge.flow import FlowResult, WorkBudget, run_of_copy, simulate
from shaftscore.judge.flow.reserve import Survived
from shaftscore.judge.heights import HEIGHT_RULES, StackHeights, height_findings, machine_heights
from shaftscore.judge.loads import LaneLoads, MachineLoads, machine_loads
from shaftscore.judge.loads.findings import DRIVE_RULES, LOAD_RULES, drive_findings, lane_findings
from shaftscore.judge.loads.gears import gear_material
from shaftscore.judge.loads.posts import post_findings
from shaftscore.judge.report import chance as chances
from shaftscore.judge.report.causes import CausePlace, FoldedFindings, TriedCopy, fold, kept_folds
from shaftscore.judge.report.coverage import Coverage, coverage_of
from shaftscore.judge.report.effects import built_effects
from shaftscore.judge.report.rounds import (
    lane_placed,
    machine_rounds,
    placed,
    rule_findings,
    shared_loads,
    smallest_margin,
    unjudged,
)
from shaftscore.judge.shaft import MachineShafts, machine_shafts
from shaftscore.judge.shaft.findings import SHAFT_RULES, shaft_findings
from shaftscore.judge.spread import NO_EFFECTS, BuiltEffects, Spread
from shaftscore.judge.spread.slacks import PlaceErrors, rule_slacks
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Flow, LevelState, Project, RangeState
from shaftscore.model.rounds import CYCLE
from shaftscore.rules.kinds import lanes_of_rule
from shaftscore.rules.project import Kind
from shaftscore.solution import Solution, solve, work_left
from shaftscore.solution.incremental import (
    FULL,
    NOTHING,
    ExaminationStage,
    Incremental,
    Kept,
    Reads,
    runs_of,
)


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
    machine. effects: what the chance was drawn with. cycles: of the master in the round of flow and chance,
    which they call a turn. flow_solution: the lanes over that round, None where the flow is not run. kept:
    what the next report may take over.
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
    kept: Kept = field(default_factory=dict, repr=False)
    fits: Mapping[str, StackFit] = field(default_factory=dict)
    effects: BuiltEffects = NO_EFFECTS
    causes: tuple[CausePlace, ...] = ()
    cycles: Fraction = CYCLE
    flow_solution: Solution | None = None

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
    stage: ExaminationStage = FULL,
    lanes: Collection[str] | None = None,
    cures: bool = True,
    *,
    between: Callable[[], object] | None = None,
) -> Report:
    """Solve and judge a project.

    previous: the report before; what did not change is taken from it. stage: QUICK leaves out what takes
    longer than a frame (cures of a disc's shape; flow, drive, shafts and chance stay as in `previous`).
    lanes: only these lanes, and only the rules that lie within them. cures: False leaves out those that
    are tried before they are offered, and findings are folded as they were. between: called between the
    steps of the work, and of drawing machines; the work ends with what it raises. Raises KeyError for an
    unknown lane.
    """
    examination = _Examination(project, previous, stage, lanes, cures)
    report = examination.report(between or _go_on)
    if stage is FULL and cures and not examination.rounds.is_long:
        folded = fold(report.findings, project, partial(_tried, report, WorkBudget(COPY_STEPS)))
    else:
        folded = kept_folds(report.findings, previous.folded if previous is not None else None)
    return replace(report, findings=folded.findings, causes=folded.causes)


AS_DRAWN_STEPS = 2_000_000
"""Steps of the flow's run of a machine that is examined as drawn."""


def examine_as_drawn(
    project: Project, previous: Report | None = None, between: Callable[[], object] | None = None
) -> Report:
    """Solve and judge a project as drawn: without chance, cures, or what magazines would need.

    For searches that try many machines: a fraction of the work of `examine`, and the same errors.
    previous: a report of a similar project; what did not change is taken from it. between: called between
    the steps of the work, which ends with what it raises.
    """
    budget = WorkBudget(AS_DRAWN_STEPS)
    return _Examination(project, previous, FULL, None, False, budget).report(between or _go_on)


def _go_on() -> None:
    """Do nothing between the steps of an examination."""


PARTS_RULES = frozenset((*LANE_RULES, *LOAD_RULES))
"""Rules that `examine_parts` judges for the lanes that it is asked for."""


def examine_parts(project: Project, previous: Report | None, lanes: Collection[str]) -> Report:
    """Solve and judge parts of a project as drawn: rules between lanes, the flow, and some lanes.

    For searches that try many machines that differ little in all else: a small part of the work of
    `examine_as_drawn`, and some of its findings. previous: a report of a similar project. lanes: those whose
    motions, discs and forces are judged.
    """
    return _Examination(project, previous, FULL, None, False, WorkBudget(AS_DRAWN_STEPS)).parts(lanes)


COPY_STEPS = 400_000
"""Steps of the flow's runs, all together, that say which findings follow from others."""


def _tried(report: Report, budget: WorkBudget, cure: Cure) -> TriedCopy | None:
    """Try a cure in a copy of a report's project; None where it cannot be made."""
    edited = tried(report.project, Attempt(cure.edit or "", cure.arguments, cure.sentence))
    if edited is None:
        return None
    lanes = None if report.lanes is None else report.lanes & set(edited.lane_index)
    copy = _Examination(edited, report, FULL, lanes, False, budget).report()
    return TriedCopy(copy.findings, frozenset(copy.checked), work_left(edited, report.solution))


class _Examination:
    """One examination, and the store of what it may take over; findings are not folded.

    copy: of an edited copy that is only looked at: the steps of its flow; without cures and chance.
    """

    def __init__(  # noqa: PLR0917 - the arguments of `examine`, and one more
        self,
        project: Project,
        previous: Report | None,
        stage: ExaminationStage,
        lanes: Collection[str] | None,
        cures: bool,
        copy: WorkBudget | None = None,
    ) -> None:
        self.project = project
        self.lanes = None if lanes is None else frozenset(lanes)
        for lane_id in self.lanes or ():
            project.lane(lane_id)
        before = previous if previous is not None and previous.lanes == self.lanes else None
        self.cures, self.copy = cures, copy
        slow = stage is FULL and cures
        self.kept = Incremental(before.kept if before else NOTHING, stage, whole_only=slow)
        self.memo = Memo(self.kept, CureBudget(slow, none=copy is not None))
        self.solution = solve(project, before.solution if before else None, self.lanes)
        self.rounds = machine_rounds(self.solution)

    def report(self, between: Callable[[], object] = _go_on) -> Report:
        """Judge everything; between: called between the steps."""
        project, solution, kept, memo = self.project, self.solution, self.kept, self.memo
        between()
        run = self._flow()
        loads = machine_loads(solution, kept)
        loads, shared = (loads, loads) if self.rounds.is_cycle else shared_loads(self.rounds, loads)
        between()
        shafts = machine_shafts(solution, loads, kept) if self.lanes is None else None
        heights = machine_heights(solution, kept)
        fits = stack_fits(solution, kept)
        findings: list[Finding] = []
        judges: tuple[Callable[[], Iterable[Finding]], ...] = (
            lambda: self._in_rounds(run_checks(CHECKS, self.rounds.alone, memo)),
            lambda: self._flow_findings(run),
            lambda: self._in_rounds(_load_findings(loads, memo)),
            lambda: () if self.rounds.is_cycle else rule_findings(self.rounds, memo),
            lambda: () if self.rounds.is_cycle else unjudged(self.rounds, loads),
            lambda: height_findings(heights, solution, memo),
            lambda: self._drive_findings(loads, shafts),
            lambda: post_findings(self.solution, loads, memo),
            lambda: self._fit_findings(fits, loads),
            lambda: self._shaft_findings(shafts),
        )
        for judge in judges:
            between()
            findings += judge()
        errors = sum(finding.severity is Severity.ERROR for finding in findings)
        effects = built_effects(loads, shafts) if self.copy is None else NO_EFFECTS
        chance = self._chance(run, shared, effects, errors, between)
        findings += self._still_there(() if chance is None or chance.finding is None else (chance.finding,))
        return Report(
            project=project,
            solution=solution,
            findings=tuple(sorted(findings, key=lambda finding: finding.order)),
            checked=_checked(run.result, loads, chance, shafts, whole=self.lanes is None),
            flow=run.result,
            flow_project=project if run.project is self._flow_project else run.project,
            loads=loads,
            shafts=shafts,
            heights=heights,
            margin=self._margin(),
            chance=chance,
            cycles=self.rounds.flow_cycles,
            flow_solution=self._flow_solution,
            lanes=self.lanes,
            kept=kept.now,
            fits=fits,
            effects=effects,
        )

    def parts(self, lanes: Collection[str]) -> Report:
        """Judge the rules between lanes and the flow, and of some lanes motions, discs and forces."""
        run = self._flow()
        loads = machine_loads(self.solution, self.kept)
        findings = [
            *self._in_rounds(run_checks(BETWEEN_LANES, self.rounds.alone, self.memo, lanes)),
            *self._flow_findings(run),
            *self._in_rounds(_load_findings(loads, self.memo, lanes)),
        ]
        if not self.rounds.is_cycle:
            findings += rule_findings(self.rounds, self.memo)
        return Report(
            project=self.project,
            solution=self.solution,
            findings=tuple(sorted(findings, key=lambda finding: finding.order)),
            checked=(),
            flow=run.result,
            flow_project=self.project if run.project is self._flow_project else run.project,
            loads=loads,
            kept=self.kept.now,
            cycles=self.rounds.flow_cycles,
            flow_solution=self._flow_solution,
        )

    def _in_rounds(self, findings: Iterable[Finding]) -> Iterable[Finding]:
        """Return findings of lanes alone with the round that their places are in."""
        if self.rounds.is_cycle:
            return findings
        return [lane_placed(finding, self.solution) for finding in findings]

    def _margin(self) -> Margin | None:
        """Return the smallest slack of the rules between lanes."""
        if self.rounds.is_cycle:
            return smallest_of(rule_margins(self.solution, self.kept))
        return smallest_margin(self.rounds)

    @cached_property
    def _flow_solution(self) -> Solution | None:
        """The lanes over the round of the flow; None where that is too long."""
        return self.rounds.flow

    @property
    def _flow_project(self) -> Project | None:
        return None if self._flow_solution is None else self._flow_solution.project

    def _flow(self) -> _FlowRun:
        """Run the flow, or take the last result where it still holds, or where there is no time for it."""
        flow, solution = self.project.flow, self._flow_solution
        if flow is None or solution is None:
            return _FlowRun()
        last = self.kept.before.get("flow")
        is_cured = last is not None and last.value.is_cured
        reads = _flow_reads(solution, flow, is_cured=is_cured)
        run, is_present = self.kept.keep_late("flow", reads, lambda _: self._simulated())
        if run is None:
            return _FlowRun()
        if is_present and run.is_cured != is_cured:
            self.kept.reads_rather("flow", _flow_reads(solution, flow, is_cured=run.is_cured))
        return replace(run, project=solution.project) if is_present else run

    def _simulated(self) -> _FlowRun:
        solution = self._flow_solution
        assert solution is not None, "the flow is only run over a round that is known"
        project = solution.project

        def states(state: LevelState | RangeState) -> tuple[StateInterval, ...] | None:
            lane = solution.lanes.get(state.lane)
            return None if lane is None or lane.motion is None else lane.intervals(state)

        if self.copy is not None:
            return _FlowRun(run_of_copy(project, states, self.copy, self.lanes), project)
        survived = None if self.lanes is not None else _survived(solution)
        return _FlowRun(simulate(project, states, lanes=self.lanes, survived=survived), project)

    def _flow_findings(self, run: _FlowRun) -> Iterable[Finding]:
        """Return the flow's findings; of an older project's those whose lanes and blocks are still there."""
        if run.result is None:
            return ()
        found = [placed(finding, self.rounds.flow_cycles) for finding in run.result.findings]
        return found if run.project is self._flow_project else self._still_there(found)

    def _still_there(self, findings: Iterable[Finding]) -> list[Finding]:
        """Return findings whose lanes and blocks the project has."""
        return [finding for finding in findings if _is_there(finding, self.project)]

    def _late_findings(
        self, key: Hashable, reads: Reads, judge: Callable[[], Iterable[Finding]]
    ) -> Iterable[Finding]:
        """Judge what takes longer than a frame, or let what was last said of it stand in."""
        found, is_present = self.kept.keep_late(key, reads, lambda _: tuple(judge()))
        return (found or ()) if is_present else self._still_there(found or ())

    def _drive_findings(self, loads: MachineLoads, shafts: MachineShafts | None) -> Iterable[Finding]:
        """Judge the drive; of some lanes alone it says nothing."""
        steps = any(stack.steps_from is not None for stack in self.project.stacks)
        if self.lanes is not None or (loads.drive is None and not steps):
            return ()
        bent = () if shafts is None else tuple(shafts.found.values())
        project = self.project
        wheels = (*project.stacks, project.materials, project.frame, gear_material(project)[0])
        reads = (loads.drive, project.shaft, loads.camshaft, *wheels, *bent)

        def judge() -> Iterable[Finding]:
            is_cycle = self.rounds.is_cycle
            found = drive_findings(loads, None if shafts is None else shafts.friction_nm(is_cycle=is_cycle))
            return (placed(finding, self.rounds.cycles) for finding in found)

        return self._late_findings("drive", reads, judge)

    def _fit_findings(self, fits: Mapping[str, StackFit], loads: MachineLoads) -> Iterator[Finding]:
        """Yield the findings of each stack's joints; a clamp is judged by torques, which may take long."""
        for place, (stack_id, fit) in enumerate(fits.items()):
            if not fit.discs:
                continue
            key, judge = ("fits", stack_id), partial(fit_findings, self.solution, fit, loads, place)
            if needs_loads(fit):
                reads = (fit, place, *(loads.lanes.get(lane) for lane in fit.lanes))
                yield from self._late_findings(key, reads, judge)
            else:
                yield from self.memo.keep(key, (fit, place), judge)

    def _shaft_findings(self, shafts: MachineShafts | None) -> Iterable[Finding]:
        """Judge the shafts; of an older project's only what was found, while its lanes are still there."""
        if shafts is None:
            return ()
        stacks = self.project.stacks
        named = (stack_name for stack in stacks for stack_name in (stack.id, stack.label))
        reads = (self.project.tolerances.profile_mm, *named, *shafts.found.values())
        if shafts.project is not self.project:
            return self._still_there(self.kept.last("shaft findings") or ())
        found = self.memo.keep_parts("shaft findings", reads, partial(shaft_findings, shafts))
        return self._in_rounds(found)

    def _chance(
        self,
        run: _FlowRun,
        loads: MachineLoads | None,
        effects: BuiltEffects,
        errors: int,
        between: Callable[[], object],
    ) -> chances.Chance | None:
        """Draw machines, with the flow that this project has; of a copy that is only looked at, none.

        loads: over the machine's round; None where that is too long to draw machines for.
        """
        if self.copy is not None or self.rounds.shared is None:
            return None
        return chances.chance(
            self.rounds.shared,
            run.result,
            self.kept,
            errors=errors,
            loads=loads,
            effects=effects,
            cures=self.cures,
            between=between,
        )


@dataclass(frozen=True)
class _FlowRun:
    """A result of the flow, and the project that it belongs to."""

    result: FlowResult | None = None
    project: Project | None = None

    @property
    def is_cured(self) -> bool:
        """Whether a finding has a cure."""
        return self.result is not None and any(finding.cure for finding in self.result.findings)


def _flow_reads(solution: Solution, flow: Flow, *, is_cured: bool) -> Reads:
    """Return what the flow's result depends on: its record, the speed, and the lanes that decide it.

    Its cures hold with the tolerances and the fits, and keep the rules between lanes: where there are any
    (is_cured), they depend on the lanes of these rules as well.
    """
    project = solution.project
    ruled = [lane for rule in project.rules for lane in lanes_of_rule(rule)] if is_cured else ()
    lanes = [solution.lanes.get(lane_id) for lane_id in sorted(flow.lanes.union(ruled))]
    return (flow, project.shaft.speed_rpm, project.rules, project.tolerances, project.stacks, *lanes)


def _survived(solution: Solution) -> Survived:
    """Return the errors that places of a solution must survive; they are computed when first asked for."""
    known: list[PlaceErrors] = []

    def survived(kind: Kind, what: str, lanes: Collection[str]) -> float:
        if not known:
            known.append(PlaceErrors(rule_slacks(solution)))
        return known[0].of(kind, what, lanes, 0.0)

    return survived


def _is_there(finding: Finding, project: Project) -> bool:
    known = project.lane_index
    refs = [subject for subject in finding.subjects if isinstance(subject, BlockRef)]
    return all(lane in known for lane in finding.lanes) and all(
        ref.lane_id in known and ref.index < len(project.lane(ref.lane_id).blocks) for ref in refs
    )


def _load_findings(
    loads: MachineLoads, memo: Memo, lanes: Collection[str] | None = None
) -> Iterator[Finding]:
    """Yield the findings of each lane's loads, kept while they are the same; of some lanes where given."""
    chosen = [(key, lane) for key, lane in loads.lanes.items() if lanes is None or key in lanes]
    for number, run in runs_of(chosen):
        reads = tuple(lane for _, lane in run)
        yield from memo.keep_together(("strains", number), reads, partial(_strains, run))


def _strains(run: Sequence[tuple[str, LaneLoads]], memo: Memo) -> Iterator[Finding]:
    for lane_id, lane in run:
        yield from memo.keep(("strain", lane_id), (lane,), partial(lane_findings, lane_id, lane))


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
