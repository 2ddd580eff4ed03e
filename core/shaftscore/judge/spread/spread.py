"""The spread of real machines: the chance that one works, and what it depends on.

`find_spread` draws machines with errors within the project's tolerances (`judge.spread.draws`), judges every
rule in each (`shaftscore.judge.spread.judging`) and counts.

**The chance covers** the rules between lanes, guarded levels, gates' openings and reloads, headways,
diverters, what magazines hold in time, the order at outlets and the rates of supplies, with errors of printed
angles, the play of joints and the seats of discs by their fit, stations, adjustments, plays, profile
heights, speed, travel and rates, and what other modules add (`judge.spread.causes.BuiltEffects`). Any error
of the nominal machine makes it 0. **It does not cover** whether bodies meet, and what
`judge.spread.left_out` says of a project.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np

from shaftscore.base.progress import Progress, Silent
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.fits import clamp_capacity_nm, stack_fits
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.judge.spread.causes import CAUSES, NO_EFFECTS, BuiltEffects, Cause
from shaftscore.judge.spread.draws import Errors, Floats, disc_of, draw, moving
from shaftscore.judge.spread.judging import JudgedRule, holding, judge, smallest
from shaftscore.judge.spread.left_out import left_out
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.play import TorqueSigns, torque_signs
from shaftscore.judge.spread.states import LaneRuns
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.judge.spread.worst import worst_cases
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.model.project import Area
from shaftscore.rules.items import is_crowded
from shaftscore.rules.project import OF_FLOW, Key, Kind, lanes_of_key
from shaftscore.solution import Solution

MACHINES = 10_000
"""Machines that are drawn."""

SEED = 20_240
"""The seed of all draws: a number like any other, so that everyone gets the same machines."""

MOST_LANES = 6
"""Lanes, those in most failures first, whose errors are switched off one by one."""

CAUSE_MACHINES = 2_000
"""Machines, the first that were drawn, in which kinds of errors are switched off."""

COST_WORK = 3_000_000
"""Places times machines in which lanes' errors are switched off; CAUSE_MACHINES at least. Machines with up to
300 places are all looked at."""

OF_SPRING: frozenset[Cause] = frozenset(("friction", "spring"))
"""Causes that only the spring of a lane depends on."""

OF_ITEMS: frozenset[Cause] = frozenset(("travel", "rate"))
"""Causes that only rules about items depend on."""

BINS = 40
"""Columns of the histogram."""

_HALVINGS = 12


@dataclass(frozen=True)
class RuleSpread:
    """One rule: see `shaftscore.judge.spread.judging.JudgedRule` for kind and what.

    lanes: of its tightest place. smallest_deg: slack in the nominal machine. worst_deg: in the worst case.
    Both are infinite where nothing limits it, and minus infinity for what does not happen at all. chance:
    share of machines in which the rule holds.
    """

    kind: Kind
    what: str
    lanes: tuple[str, ...]
    smallest_deg: float
    worst_deg: float
    chance: float


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
class Histogram:
    """Counts of machines by their smallest slack: edges (b + 1,) degrees, rising; counts (b,).

    Machines in which something does not happen at all have no slack and are not in it. Where machines stand
    on both sides of 0, it is an edge.
    """

    edges_deg: tuple[float, ...]
    counts: tuple[int, ...]


@dataclass(frozen=True)
class Spread:
    """What drawing machines gives; see the module's text for what the chance covers.

    machines, seed: how they were drawn. chance: share in which all rules hold; low, high: its 95 %
    confidence interval; all three are 0 where the nominal machine has errors. rules: each on its own. holds:
    whether the nominal machine keeps all of them and has no other error. worst_deg: the smallest slack in
    the worst case. costs: lanes whose errors cost most first; empty where the nominal machine fails or all
    work. causes: kinds of errors that cost most first; empty where the chance is enough.
    needed_disc_angle_deg: the largest disc_angle_deg with which the chance is enough, all else as it is:
    None where none is needed or none is enough. left_out: sentences of what the chance says nothing about.
    errors: of the nominal machine. lost: drawn machines in which something does not happen at all. enough,
    least: chances that machines should have and must have (the project's limits). counted: areas of the
    verdict in the chance.
    """

    machines: int
    seed: int
    chance: float
    low: float
    high: float
    rules: tuple[RuleSpread, ...]
    holds: bool
    worst_deg: float
    costs: tuple[LaneCost, ...]
    needed_disc_angle_deg: float | None
    histogram: Histogram
    left_out: tuple[str, ...] = ()
    errors: int = 0
    lost: int = 0
    causes: tuple[CauseCost, ...] = ()
    enough: float = 0.99
    least: float = 0.9
    counted: tuple[Area, ...] = ()

    @property
    def left_out_areas(self) -> tuple[Area, ...]:
        """Areas of the verdict that are not in the chance."""
        return tuple(area for area in get_args(Area) if area not in self.counted)

    @property
    def tightest_first(self) -> tuple[RuleSpread, ...]:
        """The rules, that of the smallest margin first; among equals that which holds least often."""
        return tuple(sorted(self.rules, key=lambda rule: (rule.smallest_deg, rule.chance)))

    @property
    def is_thin(self) -> bool:
        """Whether the nominal machine holds and too many others do not."""
        return self.holds and self.chance < self.enough

    @property
    def is_unlikely(self) -> bool:
        """Whether the nominal machine holds and far too many others do not."""
        return self.holds and self.chance < self.least


def draw_machines(
    solution: Solution,
    machines: int = MACHINES,
    seed: int = SEED,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
    *,
    runs: dict[str, LaneRuns] | None = None,
) -> Machines:
    """Draw machines of a solved project with the fits of its stacks.

    loads: of the same solution; computed where a stack needs them if None. effects: what other modules add.
    runs: of lanes of the same solution, where they are known; those of the others are added when first read.
    """
    project = solution.project
    fits = stack_fits(solution)
    needed = any(fit.law == "loose" or clamp_capacity_nm(fit) is not None for fit in fits.values())
    known = machine_loads(solution) if loads is None and needed else loads
    signs: dict[str, TorqueSigns] = {}
    for fit in fits.values():
        signs |= {} if known is None else torque_signs(fit, known)
    draws = draw(project, machines, seed)
    errors = Errors(project, draws, fits=fits, signs=signs, effects=effects)
    return Machines(solution, errors, runs={} if runs is None else runs)


def find_spread(
    solution: Solution,
    flow: FlowResult | None = None,
    machines: int = MACHINES,
    seed: int = SEED,
    progress: Progress | None = None,
    *,
    errors: int = 0,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
) -> Spread | None:
    """Draw machines and judge them; None where nothing is judged.

    flow: the nominal machine's result, for the rates that it needs. errors: what is wrong with the nominal
    machine; with any the chance is 0, since all that are built have them too. loads, effects: see
    `draw_machines`. Raises Cancelled as `progress` does.
    """
    said = progress or Silent()
    said.report(0.0, "Drawing machines")
    drawn = draw_machines(solution, machines, seed, loads, effects)
    judged = judge(drawn, flow)
    slack = smallest(judged, drawn.count)
    if not judged or (not effects.fails and bool(np.isposinf(slack).all())):
        return None
    limits = solution.project.limits
    enough, least = limits.chance_percent / 100, limits.least_chance_percent / 100
    held = holding(slack)
    low, high = (0.0, 0.0) if errors else wilson_interval(held, machines)
    holds = not errors and bool(slack[0] >= -LIMIT)
    thin = holds and held < enough * machines
    said.report(0.3, "The worst case")
    worst = worst_cases(drawn, judged, flow)
    said.report(0.4, "Which lane contributes most")
    costs = _costs(drawn, judged, flow, said) if holds and held < machines else ()
    causes = _causes(drawn, judged, flow, said) if thin else ()
    said.report(0.7, "The tolerance that is enough")
    return Spread(
        machines=machines,
        seed=seed,
        chance=0.0 if errors else held / machines,
        low=low,
        high=high,
        rules=tuple(_rule(one, worst, machines) for one in judged),
        holds=holds,
        worst_deg=min(worst.values()),
        costs=costs,
        needed_disc_angle_deg=_needed(drawn, judged, flow, said, enough) if thin else None,
        histogram=_histogram(slack[1:]),
        left_out=left_out(solution.project, judged, crowded=_is_crowded(drawn), effects=effects),
        errors=errors,
        lost=int(np.count_nonzero(np.isneginf(slack[1:]))),
        causes=causes,
        enough=enough,
        least=least,
        counted=_counted(judged, effects),
    )


def _counted(judged: Sequence[JudgedRule], effects: BuiltEffects) -> tuple[Area, ...]:
    """Return the areas of the verdict whose rules or errors are in the chance."""
    kinds = {one.kind for one in judged}
    among: dict[Area, bool] = {
        "timing": bool(kinds - OF_FLOW - {"spring"}),
        "items": bool(kinds & OF_FLOW),
        "forces": "spring" in kinds,
        "fits": bool(kinds - {"spring"}),
        "shaft": bool(effects.lift_mm or effects.angle_deg),
    }
    return tuple(area for area in get_args(Area) if among.get(area, False))


def _is_crowded(drawn: Machines) -> bool:
    flow = drawn.project.flow
    return flow is not None and is_crowded(drawn, flow)


def _causes(
    drawn: Machines, judged: Sequence[JudgedRule], flow: FlowResult | None, progress: Progress
) -> tuple[CauseCost, ...]:
    """Switch each kind of error off in the same machines; the one that helps most first.

    Some of the machines are enough for that. Rules that hold in every machine are not judged again, nor those
    that the cause does not touch.
    """
    few = drawn.first(CAUSE_MACHINES)
    open_ = [one for one in judged if holding(one.slack_deg) < drawn.count - 1]
    costs = []
    for cause in CAUSES:
        if is_present(drawn, cause):
            progress.report(0.65, "Which kind of error contributes most")
            touched = {one.key for one in open_ if touches(cause, one.kind)}
            kept = [one.slack_deg[: few.count] for one in open_ if one.key not in touched]
            slack = smallest(judge(few.muted(cause), flow, touched), few.count)
            costs.append(CauseCost(cause, holding(np.minimum.reduce([slack, *kept])) / (few.count - 1)))
    return tuple(sorted(costs, key=lambda cost: -cost.chance_without))


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


def _rule(judged: JudgedRule, worst: dict[Key, float], machines: int) -> RuleSpread:
    return RuleSpread(
        kind=judged.kind,
        what=judged.what,
        lanes=judged.tightest.lanes,
        smallest_deg=float(judged.slack_deg[0]),
        worst_deg=worst[judged.key],
        chance=holding(judged.slack_deg) / machines,
    )


def _costs(
    drawn: Machines, judged: Sequence[JudgedRule], flow: FlowResult | None, progress: Progress
) -> tuple[LaneCost, ...]:
    """Switch off the errors of the lanes that fail most, one by one; the one that costs most first."""
    failed: Counter[str] = Counter()
    for one in judged:
        for place in one.places:
            discs = (disc_of(drawn.project, lane) for lane in place.lanes)
            failed.update(dict.fromkeys(discs, place.broken))
    lanes = [lane for lane, count in failed.most_common(MOST_LANES) if count]
    most = COST_WORK // sum(len(one.places) for one in judged)
    few = drawn.first(max(CAUSE_MACHINES, most - most % CAUSE_MACHINES))
    costs = []
    for number, lane in enumerate(lanes):
        progress.report(0.4 + 0.3 * number / len(lanes), "Which lane contributes most")
        costs.append(LaneCost(lane, _chance_without(few, judged, flow, lane)))
    return tuple(sorted(costs, key=lambda cost: -cost.chance_without))


def _chance_without(
    drawn: Machines, judged: Sequence[JudgedRule], flow: FlowResult | None, disc: str
) -> float:
    """Return the chance if one disc had no error; only rules that depend on it are judged again.

    judged: of these machines, and of more that were drawn after them.
    """
    project = drawn.project
    moved = {lane.id for lane in project.lanes if disc in _moving(drawn, lane.id)}
    touched = {one.key for one in judged if not moved.isdisjoint(lanes_of_key(project, one.key))}
    kept = [one.slack_deg[: drawn.count] for one in judged if one.key not in touched]
    slack = smallest(judge(drawn.without(disc), flow, touched), drawn.count)
    return holding(np.minimum.reduce([slack, *kept])) / (drawn.count - 1)


def _moving(drawn: Machines, lane_id: str) -> tuple[str, ...]:
    """Return the discs whose errors move a lane."""
    fit = drawn.errors.fit_of(lane_id)
    own = moving(drawn.project, lane_id)
    return own if fit is None else (*own, *fit.lined(fit.disc_of(lane_id)))


def _needed(
    drawn: Machines,
    judged: Sequence[JudgedRule],
    flow: FlowResult | None,
    progress: Progress,
    share: float,
) -> float | None:
    """Bisect on a common scale of all angle errors: the largest with which enough machines work.

    A machine's slack goes with the scale along straight lines, of which the lowest counts. So a rule that
    holds in every machine at both ends holds between them, and is not judged again.
    """
    still = drawn.scaled(0.0)
    hardest = {min(judged, key=lambda one: holding(one.slack_deg)).key}
    if holding(smallest(judge(still, flow, hardest), drawn.count)) < share * (drawn.count - 1):
        return None  # no need to look at the rest
    exact = judge(still, flow)
    if holding(smallest(exact, drawn.count)) < share * (drawn.count - 1):
        return None
    open_ = {one.key for one in (*judged, *exact) if holding(one.slack_deg) < drawn.count - 1}

    def enough(scale: float) -> bool:
        progress.report(0.7, "The tolerance that is enough")
        slack = smallest(judge(drawn.scaled(scale), flow, open_), drawn.count)
        return holding(slack) >= share * (drawn.count - 1)

    return largest_scale(enough) * drawn.project.tolerances.disc_angle_deg


def largest_scale(enough: Callable[[float], bool]) -> float:
    """Return the largest scale (a factor) under 1 that is enough, to 1/4096, where 0 is."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if enough(middle) else (low, middle)
    return low


def _histogram(slack: Floats) -> Histogram:
    """Count the smallest slacks that are numbers; those far under the rest in the first column."""
    finite = slack[np.isfinite(slack)]
    if not len(finite):
        return Histogram((), ())
    low = max(_reached(finite, 0.001), float(finite.max()) - 180.0)
    width = max(float(finite.max()) - low, LIMIT) / BINS
    first, last = int(np.floor(low / width)), int(np.ceil(float(finite.max()) / width))
    edges = np.arange(first, max(last, first + 1) + 1) * width
    counts, _ = np.histogram(np.clip(finite, edges[0], edges[-1]), bins=edges)
    return Histogram(tuple(edges.tolist()), tuple(int(count) for count in counts))


def _reached(values: Floats, share: float) -> float:
    """Return the value that a share of the values does not pass, read linearly between the two beside it.

    The same as `np.percentile`, which loads numpy's masked arrays first.
    """
    place = share * (len(values) - 1)
    low, high = np.sort(values)[[int(place), int(np.ceil(place))]].tolist()
    part = place - int(place)
    # Read from the nearer end, so that the ends are met exactly.
    return float(low + (high - low) * part if part < 0.5 else high - (high - low) * (1.0 - part))
