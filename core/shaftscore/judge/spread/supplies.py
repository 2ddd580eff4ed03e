"""A supply without reserve: machines that turn faster, or are fed slower, run empty sooner or later.

It is the cause where the rule that holds least often is about a magazine, and its supply feeds less than what
is needed with the tolerances of speed and rates.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base.wording import up_to
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.spread import RuleSpread
from shaftscore.model import Project
from shaftscore.rules.items import supply_of
from shaftscore.rules.supply import rate_in_reserve

RATE_STEP = 0.1
"""Rates are named in this step, per minute."""


@dataclass(frozen=True)
class ShortSupply:
    """A supply by its id, what it feeds and what it should feed, per minute."""

    supply: str
    fed_per_min: float
    needed_per_min: float

    @property
    def reserve_per_min(self) -> float:
        """What is missing, per minute."""
        return round(self.needed_per_min - self.fed_per_min, 6)


def short_supply(project: Project, flow: FlowResult | None, worst: RuleSpread) -> ShortSupply | None:
    """Return the supply that is the cause of a rule that holds too seldom; None where none is."""
    if project.flow is None or flow is None or worst.kind not in ("supply", "stock"):
        return None
    fills = {name: supply_of(project.flow, name) for name in flow.magazines}
    known = {supply.id: supply.rate_per_min for supply in project.flow.supplies}
    supply = worst.what if worst.kind == "supply" else fills.get(worst.what)
    needs = [flow.magazines[name].needed_rate_per_min for name, one in fills.items() if one == supply]
    fed, most = known.get(supply or ""), max((need for need in needs if need is not None), default=None)
    if supply is None or fed is None or most is None:
        return None
    holds = flow.holds_for_ever is True
    needed = rate_in_reserve(min(most, fed) if holds else most, project.tolerances)
    short = ShortSupply(supply, fed, round(up_to(needed, RATE_STEP), 6))
    return short if short.reserve_per_min > 0 else None
