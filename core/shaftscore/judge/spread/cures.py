"""Cures of a thin margin, each tried in drawn machines before it is offered.

A supply without reserve is fed faster. Else in the order of the document: turn all discs one way while
tightening, pins, marks against a straight edge, a closer fit, dogs where their sum is better; then both a
closer fit and one way; then what helps against other kinds of errors (a smaller one of the kind that costs
most) and a move of a block of the lane that costs most. A cure must reach the chance that is wanted, with all
tolerances. What is tried is counted, not timed: a project always gets the same cures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.base.angles import turn_to
from shaftscore.base.progress import Progress
from shaftscore.base.wording import degrees, down_to, millimetres, part_name, per_minute, percent, up_to
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, either, is_free, moved, shift_text, tried
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import block_text
from shaftscore.judge.fits import StackFit, stack_fits
from shaftscore.judge.fits.cures import (
    CLEARANCES_MM,
    StackChange,
    both,
    closer,
    dogged,
    lined_up,
    one_way,
    pinned,
    sentence,
)
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.causes import OF_JOINTS, BuiltEffects, Cause
from shaftscore.judge.spread.drawing import Drawing
from shaftscore.judge.spread.judging import judge
from shaftscore.judge.spread.spread import Spread
from shaftscore.judge.spread.states import LaneRuns
from shaftscore.judge.spread.supplies import RATE_STEP, short_supply
from shaftscore.judge.spread.tally import LOOKS, Z_LOOK, MachineTally, is_apart
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.model import Project, Stack, replaced
from shaftscore.model.flow import MOST_RATE_PER_MIN
from shaftscore.rules.project import Key
from shaftscore.solution import Solution, solve

MOST_TRIES = 16
"""Cures that are tried for one finding."""

WORST_RULES = 4
"""Rules that a cure is tried on before all others."""

ENOUGH_CURES = 2
"""Cures that are named."""

SHIFTS = (0.5, 1.0, 2.0, 4.0)
"""Degrees by which a block is tried to be moved either way, the smallest first."""

CURE_MACHINES = 10_000
"""Machines in which a fix is tried at most: nearer to the limit than these decide, their share does."""

SHARES = (0.75, 0.5, 0.25)
"""Shares to which an error is made smaller, the largest first."""

RATES = (1.0, 1.1, 1.25)
"""Factors by which the rate that is needed is tried to be exceeded."""

ANGLE_STEP_DEG = 0.01
"""Disc angles in cures are rounded down to this."""

SIZES: Mapping[Cause, tuple[str, str, float, Callable[[float], str]]] = {
    "profile": ("profile_mm", "edges within ±{}", 0.01, lambda value: millimetres(value, 2)),
    "station": ("station_mm", "followers within ±{} across their line", 0.01, lambda v: millimetres(v, 2)),
    "zero": ("zero_mm", "outputs adjusted within ±{}", 0.01, lambda value: millimetres(value, 2)),
    "speed": ("speed_percent", "speed within ±{}", 0.5, lambda value: percent(value, 1)),
    "travel": ("travel_percent", "travel times within ±{}", 0.5, lambda value: percent(value, 1)),
    "rate": ("rate_percent", "supply rates within ±{}", 0.5, lambda value: percent(value, 1)),
}
"""Tolerance by cause, how it is ordered, the step that it is rounded down to, and how it is written."""


@dataclass(eq=False)
class SpreadTrial:
    """What cures of one spread are tried with.

    effects: what other modules add. tries: how many were made. runs: of the lanes as they are, shared by
    tries that leave them alone.
    """

    solution: Solution
    flow: FlowResult | None
    spread: Spread
    effects: BuiltEffects
    fits: Mapping[str, StackFit]
    progress: Progress
    tries: int = 0
    runs: dict[str, LaneRuns] = field(default_factory=dict, repr=False)

    @property
    def project(self) -> Project:
        """The project as it is."""
        return self.solution.project

    def reaches(self, edited: Project) -> bool:
        """Return whether enough machines of an edited project work; False when enough was tried."""
        if self.tries >= MOST_TRIES:
            return False
        self.tries += 1
        wanted = self.spread.enough
        few, every = MachineTally(), MachineTally()
        for drawn in self._drawing(edited).blocks(CURE_MACHINES):
            self.progress.report(0.8 + 0.2 * self.tries / (MOST_TRIES + 1), "Fixes")
            # What fails most as it is is judged first, and the rest only where that lets enough work.
            few.add(judge(drawn, self.flow, self.worst), drawn.count)
            if not few.nominal_holds or wilson_interval(few.held, few.drawn, Z_LOOK)[1] < wanted:
                return False
            every.add(judge(drawn, self.flow), drawn.count)
            if every.drawn in LOOKS and is_apart(every.held, every.drawn, (wanted,)):
                break
        return every.nominal_holds and every.held >= wanted * every.drawn

    def _drawing(self, edited: Project) -> Drawing:
        """Return what machines of an edited project are drawn with.

        What only sets its fits is not solved again.
        """
        same = (edited.lanes, edited.shaft, edited.limits, edited.print) == (
            self.project.lanes,
            self.project.shaft,
            self.project.limits,
            self.project.print,
        )
        lanes = set(self.solution.lanes)
        after = Solution(edited, self.solution.lanes) if same else solve(edited, self.solution, lanes)
        return Drawing.of(
            after, effects=self.effects, runs=self.runs if same else None, seed=self.spread.seed
        )

    @cached_property
    def worst(self) -> frozenset[Key]:
        """Keys of the rules that hold least often."""
        rules = sorted(self.spread.rules, key=lambda rule: rule.chance)
        return frozenset((rule.kind, rule.what) for rule in rules[:WORST_RULES])


def cure_of(
    solution: Solution, flow: FlowResult | None, spread: Spread, effects: BuiltEffects, progress: Progress
) -> Cure | None:
    """Return up to two cures that reach the wanted chance, as one; its edit is that of the first.

    Raises Cancelled as `progress` does.
    """
    trial = SpreadTrial(solution, flow, spread, effects, stack_fits(solution), progress)
    found: list[Attempt] = []
    for attempts in _kinds(trial):
        one = next((attempt for attempt in attempts if _works(trial, attempt)), None)
        found += [] if one is None else [one]
        if len(found) == ENOUGH_CURES:
            break
    # A smaller error is a promise of the maker; what the editor can do itself comes before it.
    return either(found, next((one for one in found if one.edit != "set_tolerances"), None))


def _works(trial: SpreadTrial, attempt: Attempt) -> bool:
    edited = tried(trial.project, attempt)
    return edited is not None and trial.reaches(edited)


def _kinds(trial: SpreadTrial) -> Iterator[Iterator[Attempt]]:
    """Yield kinds of cures, in their order; of each kind the first that works is taken."""
    yield _of_supply(trial)
    first = trial.spread.causes[0].cause if trial.spread.causes else None
    joints, others = [*_of_joints(trial)], [*_of_sizes(trial)]
    yield from (joints if first in OF_JOINTS else others)
    yield _moves(trial)
    yield from (others if first in OF_JOINTS else joints)


# Rates of supplies


def _of_supply(trial: SpreadTrial) -> Iterator[Attempt]:
    """Feed a supply without reserve faster, by what is needed first."""
    project = trial.project
    worst = min(trial.spread.rules, key=lambda rule: rule.chance)
    short = short_supply(project, trial.flow, worst)
    if short is None or project.flow is None:
        return
    for more in RATES:
        rate = min(round(up_to(short.needed_per_min * more, RATE_STEP), 6), MOST_RATE_PER_MIN)
        supplies = tuple(
            replaced(one, rate_per_min=rate) if one.id == short.supply else one
            for one in project.flow.supplies
        )
        order = f"feed {part_name(short.supply)} at {per_minute(rate)}"
        yield Attempt("set_flow", {"flow": replaced(project.flow, supplies=supplies)}, order)


# Fits of stacks


def _of_joints(trial: SpreadTrial) -> Iterator[Iterator[Attempt]]:
    fits = [fit for fit in trial.fits.values() if fit.discs]
    project = trial.project
    yield _together(project, {fit.stack.id: one_way(project, fit) for fit in fits})
    yield _together(project, {fit.stack.id: pinned(fit) for fit in fits})
    yield _together(project, {fit.stack.id: lined_up(fit) for fit in fits})
    yield _closer(project, fits)
    yield _together(project, {fit.stack.id: dogged(fit) for fit in fits})
    yield _closer(project, fits, with_one_way=True)


def _together(project: Project, changes: Mapping[str, StackChange | None]) -> Iterator[Attempt]:
    """Yield one change of all stacks that it is for."""
    known = {stack: change for stack, change in changes.items() if change is not None}
    if known:
        yield Attempt("set_stacks", {"stacks": _changed(project, known)}, sentence(known, project))


def _changed(project: Project, changes: Mapping[str, StackChange]) -> tuple[Stack, ...]:
    return tuple(
        replaced(stack, **changes[stack.id].fields) if stack.id in changes else stack
        for stack in project.stacks
    )


def _closer(project: Project, fits: list[StackFit], *, with_one_way: bool = False) -> Iterator[Attempt]:
    """Yield closer fits of all stacks, the widest first; with discs turned one way too."""
    for clearance in CLEARANCES_MM:
        closer_fits = {fit.stack.id: closer(fit, clearance) for fit in fits}
        if any(closer_fits.values()):
            turned = {fit.stack.id: one_way(project, fit) if with_one_way else None for fit in fits}
            changes = {stack: both(turned[stack], change) for stack, change in closer_fits.items()}
            yield from _together(project, changes)


# Sizes of other errors, and moves of blocks


def _of_sizes(trial: SpreadTrial) -> Iterator[Iterator[Attempt]]:
    """Yield smaller errors of the kinds that cost most, and the disc angle that is enough."""
    for cost in trial.spread.causes:
        if cost.cause == "disc-angle":
            yield _disc_angle(trial.spread)
        elif cost.cause in SIZES and cost.chance_without >= trial.spread.enough:
            yield _smaller(trial.project, cost.cause)


def _disc_angle(spread: Spread) -> Iterator[Attempt]:
    angle = spread.needed_disc_angle_deg
    tight = 0.0 if angle is None else down_to(angle, ANGLE_STEP_DEG)
    if tight > 0:
        yield Attempt("set_tolerances", {"disc_angle_deg": tight}, f"disc angle within {degrees(tight, 2)}")


def _smaller(project: Project, cause: Cause) -> Iterator[Attempt]:
    key, order, step, write = SIZES[cause]
    present = getattr(project.tolerances, key)
    for share in SHARES:
        size = round(down_to(present * share, step), 6)
        if size > 0:
            yield Attempt("set_tolerances", {key: size}, order.format(write(size)))


def _moves(trial: SpreadTrial) -> Iterator[Attempt]:
    """Move the shortest block of the lane that costs most, later and earlier, a little first."""
    project = trial.project
    if not trial.spread.costs:
        return
    lane = project.lane(trial.spread.costs[0].lane)
    refs = [BlockRef(lane.id, index) for index in range(len(lane.blocks))]
    refs = sorted(filter(lambda ref: is_free(project, ref), refs), key=lambda ref: _length(project, ref))
    for by in SHIFTS:
        for ref in refs[:1]:
            for shift in (by, -by):
                attempt = moved(project, ref, shift)
                text = f"{block_text(project, ref)} {shift_text(_said(project, ref, attempt))}"
                yield Attempt(attempt.edit, attempt.arguments, text)


def _length(project: Project, ref: BlockRef) -> float:
    return project.lane(ref.lane_id).blocks[ref.index].length_deg


def _said(project: Project, ref: BlockRef, attempt: Attempt) -> float:
    """Return the shift that an attempt makes after rounding, degrees."""
    from_deg = project.lane(ref.lane_id).blocks[ref.index].start_deg
    start = attempt.arguments["start_deg"]
    assert isinstance(start, float)
    return turn_to(from_deg, start)
