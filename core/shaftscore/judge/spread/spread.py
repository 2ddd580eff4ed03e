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

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import get_args

import numpy as np

from shaftscore.base.progress import Progress, Silent
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.loads import MachineLoads
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects
from shaftscore.judge.spread.costs import CauseCost, Costs, LaneCost
from shaftscore.judge.spread.drawing import SEED, Drawing
from shaftscore.judge.spread.histogram import Histogram, histogram
from shaftscore.judge.spread.judging import JudgedRule, judge
from shaftscore.judge.spread.left_out import left_out
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.needed import needed_disc_angle_deg
from shaftscore.judge.spread.tally import LOOKS, MOST_MACHINES, MachineTally, is_decided
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.judge.spread.worst import worst_cases
from shaftscore.model.project import Area
from shaftscore.rules.items import is_crowded
from shaftscore.rules.project import OF_FLOW, Kind
from shaftscore.solution import Solution


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
class Spread:
    """What drawing machines gives; see the module's text for what the chance covers.

    machines, seed: how many were drawn, and how. chance: share in which all rules hold; low, high: its 95 %
    confidence interval; all three are 0 where the nominal machine has errors. rules: each on its own. holds:
    whether the nominal machine keeps all of them and has no other error. worst_deg: the smallest slack in
    the worst case. costs: lanes whose errors cost most first; empty where the nominal machine fails or all
    work. causes: kinds of errors that cost most first; empty where the chance is enough.
    needed_disc_angle_deg: the largest disc_angle_deg with which the chance surely is enough, all else as it
    is: None where none is needed or none is enough. left_out: sentences of what the chance does not cover.
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


def find_spread(
    solution: Solution,
    flow: FlowResult | None = None,
    machines: int | None = None,
    seed: int = SEED,
    progress: Progress | None = None,
    *,
    errors: int = 0,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
) -> Spread | None:
    """Draw machines and judge them; None where nothing is judged.

    flow: the nominal machine's result, for the rates that it needs. machines: how many are drawn; as many as
    decide whether enough of them work if None. errors: what is wrong with the nominal machine; with any the
    chance is 0, since all that are built have them too. loads, effects: see `draw_machines`. Raises Cancelled
    as `progress` does.
    """
    said = progress or Silent()
    limits = solution.project.limits
    asked = (limits.chance_percent / 100, limits.least_chance_percent / 100)
    drawing = Drawing.of(solution, loads, effects, seed=seed)

    def is_enough(tally: MachineTally) -> bool:
        if machines is not None:
            return False
        failed = errors > 0 or not tally.nominal_holds
        return failed or (tally.drawn in LOOKS and is_decided(tally.held, tally.drawn, asked))

    costs = _drawn(drawing, flow, MOST_MACHINES if machines is None else machines, is_enough, said)
    if not costs.tally.rules or (not effects.fails and costs.tally.is_unlimited):
        return None
    return _summed(drawing, costs, errors)


def _drawn(
    drawing: Drawing,
    flow: FlowResult | None,
    machines: int,
    is_enough: Callable[[MachineTally], bool],
    said: Progress,
) -> Costs:
    """Draw blocks and count them until it is enough; returns the first block with what was counted of all."""
    tally = MachineTally()
    first: Machines | None = None
    for drawn in drawing.blocks(machines):
        said.report(0.3 * tally.drawn / machines, "Drawing machines")
        tally.add(judge(drawn, flow), drawn.count)
        first = first or drawn
        if is_enough(tally):
            break
    assert first is not None, "at least one machine is drawn"
    return Costs(first, tally, flow, said)


def _summed(drawing: Drawing, costs: Costs, errors: int) -> Spread:
    """Return what the counted machines show, and what their errors cost."""
    tally, flow, said, effects = costs.tally, costs.flow, costs.progress, drawing.effects
    limits, rules = drawing.solution.project.limits, tuple(tally.rules.values())
    enough, least = limits.chance_percent / 100, limits.least_chance_percent / 100
    machines, held = tally.drawn, tally.held
    holds = not errors and tally.nominal_holds
    thin = holds and held < enough * machines
    low, high = (0.0, 0.0) if errors else wilson_interval(held, machines)
    said.report(0.3, "The worst case")
    worst = worst_cases(costs.drawn, rules, flow)
    said.report(0.4, "Which lane contributes most")
    return Spread(
        machines=machines,
        seed=drawing.seed,
        chance=0.0 if errors else held / machines,
        low=low,
        high=high,
        rules=tuple(_rule(one, worst[one.key], tally) for one in rules),
        holds=holds,
        worst_deg=min(worst.values()),
        costs=costs.of_lanes() if holds and held < machines else (),
        needed_disc_angle_deg=needed_disc_angle_deg(drawing, flow, enough, said) if thin else None,
        histogram=histogram(tally.slack_deg),
        left_out=left_out(drawing.solution.project, rules, crowded=_is_crowded(costs.drawn), effects=effects),
        errors=errors,
        lost=int(np.count_nonzero(np.isneginf(tally.slack_deg))),
        causes=costs.of_causes() if thin else (),
        enough=enough,
        least=least,
        counted=_counted(rules, effects),
    )


def _rule(judged: JudgedRule, worst_deg: float, tally: MachineTally) -> RuleSpread:
    return RuleSpread(
        kind=judged.kind,
        what=judged.what,
        lanes=judged.tightest.lanes,
        smallest_deg=float(judged.slack_deg[0]),
        worst_deg=worst_deg,
        chance=tally.share_of(judged.key),
    )


def _counted(judged: Iterable[JudgedRule], effects: BuiltEffects) -> tuple[Area, ...]:
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
