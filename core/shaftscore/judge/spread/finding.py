"""thin-margin and unlikely: everything holds in the nominal machine, but too few real ones would work.

Under the chance that machines should have it is a warning, under the one that they must have an error. The
finding names the cause: a supply without reserve, or the kind of error whose removal helps most, and the
lane; its cure reaches the wanted chance.
"""

from __future__ import annotations

from shaftscore.base.progress import Progress, Silent
from shaftscore.judge.findings import Fact, Finding, found
from shaftscore.judge.fits import stack_fits
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects
from shaftscore.judge.spread.cures import cure_of
from shaftscore.judge.spread.spread import Spread
from shaftscore.judge.spread.supplies import ShortSupply, short_supply
from shaftscore.solution import Solution

SPREAD_RULES = ("thin-margin", "unlikely")
"""The rules that the spread decides."""


def thin_margin(
    solution: Solution,
    flow: FlowResult | None,
    spread: Spread,
    effects: BuiltEffects = NO_EFFECTS,
    *,
    cures: bool = True,
    progress: Progress | None = None,
) -> Finding | None:
    """Return the finding, or None where the margin is not thin.

    effects: what the spread was drawn with. cures: whether cures are searched for. Raises Cancelled as
    `progress` does.
    """
    if not spread.is_thin:
        return None
    worst = min(spread.rules, key=lambda rule: rule.chance)
    short = short_supply(solution.project, flow, worst)
    first = spread.costs[0].lane if spread.costs and short is None else None
    others = [lane for lane in worst.lanes if lane != first]
    return found(
        "unlikely" if spread.is_unlikely else "thin-margin",
        tuple(filter(None, (first, *others))),
        value=1.0 - spread.chance,
        limit=1.0 - (spread.least if spread.is_unlikely else spread.enough),
        cure=cure_of(solution, flow, spread, effects, progress or Silent()) if cures else None,
        facts=_facts(solution, spread) if short is None else _of_supply(short),
    )


def _of_supply(short: ShortSupply) -> dict[str, Fact]:
    """Return what the sentence about a supply without reserve needs."""
    return {
        "supply": short.supply,
        "fed_per_min": short.fed_per_min,
        "reserve_per_min": short.reserve_per_min,
    }


def _facts(solution: Solution, spread: Spread) -> dict[str, Fact]:
    """Return the cause that costs most, and what its sentence needs."""
    if not spread.causes:
        return {}
    facts: dict[str, Fact] = {"cause": spread.causes[0].cause, "without": spread.causes[0].chance_without}
    known = stack_fits(solution)
    first = solution.project.lane(spread.costs[0].lane) if spread.costs else None
    own = [] if first is None else [known[solution.project.stack_of(first).id]]
    fits = [fit for fit in (*own, *known.values()) if fit.discs]
    if fits:
        worst = fits[0]
        facts |= {"play_deg": float(worst.drawn_joint_deg(0.0)), "law": worst.law}
        facts["seat_mm"] = worst.seat_mm
    return facts
