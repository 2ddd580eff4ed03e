"""What the chance says, in the maker's words: its headline, each rule's name, and what it leaves out.

A margin of minus infinity is that of what does not happen at all; an infinite one is that of what nothing
limits.
"""

from __future__ import annotations

import math
from functools import partial

from shaftscore.base import wording
from shaftscore.judge.findings.naming import lane_text, state_text
from shaftscore.judge.spread.causes import Cause
from shaftscore.judge.spread.spread import RuleSpread, Spread
from shaftscore.model import Project
from shaftscore.rules.kinds import MEANINGS, meaning_of

NEAR_ALL = 0.99
"""Shares over this are written with two decimals."""


def headline(spread: Spread) -> str:
    """Write the chance: `96.8 % of machines work`."""
    return f"{_percent(spread.chance)} of machines work"


def details(project: Project, spread: Spread) -> str:
    """Write the confidence interval, which errors cost most, and what would be enough."""
    if spread.errors:
        return without_chance(spread.errors)
    said = (
        _interval(spread),
        _lost(spread),
        _causes(spread),
        _costliest(project, spread),
        _enough(project, spread),
    )
    return " ".join(filter(None, said))


NONE_WORKS = f"{wording.percent(0.0, 1)} of machines work"
"""The headline where the machine as drawn has errors."""


def without_chance(errors: int) -> str:
    """Return why no machine works: the count of errors of the machine as drawn."""
    return (
        f"The machine as drawn has {wording.counted(errors, 'error')}, so no machine built to it works; "
        "see the findings first."
    )


def _lost(spread: Spread) -> str:
    if not spread.lost:
        return ""
    return f"In {spread.lost:,} of them something required does not happen; they fail and have no margin."


def _interval(spread: Spread) -> str:
    low, high = _percent(spread.low), _percent(spread.high)
    return f"{low} to {high} with 95 % confidence, from {spread.machines:,} machines drawn."


def _causes(spread: Spread) -> str:
    """Write which kind of error costs most, and the next one if it costs anything."""
    if not spread.causes:
        return ""
    named = [cost for cost in spread.causes[:2] if cost.chance_without > spread.chance] or [
        *spread.causes[:1]
    ]
    each = [f"without {CAUSE_NAMES[cost.cause]} {_percent(cost.chance_without)}" for cost in named]
    return f"{wording.listed(each)} would work."[:1].upper() + f"{wording.listed(each)} would work."[1:]


CAUSE_NAMES: dict[Cause, str] = {
    "play": "the play of the joints",
    "seat": "discs that sit off their axis",
    "disc-angle": "errors of the printed angle",
    "profile": "errors of the printed edge",
    "station": "followers beside their line",
    "zero": "errors of the outputs\u2019 adjustment",
    "backlash": "backlash of the drive",
    "link-play": "play of the linkages",
    "shaft": "the shaft\u2019s deflection and twist",
    "friction": "the range of friction",
    "spring": "the tolerance of the springs",
    "speed": "the range of speeds",
    "travel": "the range of travel times",
    "rate": "the range of supply rates",
}
"""Causes as people read them, after "without"."""


def _costliest(project: Project, spread: Spread) -> str:
    if not spread.costs:
        return ""
    first = spread.costs[0]
    lane, without = lane_text(project, first.lane), _percent(first.chance_without)
    return f"{lane} contributes most: without the errors of its disc {without} would work."


def _enough(project: Project, spread: Spread) -> str:
    """Write the tolerance that is needed for the wanted chance."""
    given, asked = wording.degrees(project.tolerances.disc_angle_deg, 2), _asked(spread)
    if not spread.holds:
        return "The machine as drawn breaks a rule: see the findings first."
    if spread.chance >= spread.enough:
        return f"The disc angle’s tolerance of ±{given} is enough for {asked}."
    if spread.needed_disc_angle_deg is None:
        return f"No tolerance of the disc angle alone gives {asked}."
    needed = wording.degrees(wording.down_to(spread.needed_disc_angle_deg, 0.01), 2)
    return f"For {asked}: disc angle within ±{needed} instead of ±{given}."


def _asked(spread: Spread) -> str:
    whole = round(100 * spread.enough, 6) == round(100 * spread.enough)
    return wording.percent(100 * spread.enough, 0 if whole else 2)


def _percent(share: float, decimals: int | None = None) -> str:
    """Write a share; near all, where each tenth counts, with two decimals."""
    near_all = 2 if share > NEAR_ALL else 1
    return wording.percent(100 * share, near_all if decimals is None else decimals)


def chance_text(share: float) -> str:
    """Write a chance in per cent; what is not quite all or nothing is never rounded to it."""
    text = _percent(share, 2)
    if share < 1 and text == _percent(1.0, 2):
        return "over 99.99 %"
    return "under 0.01 %" if share > 0 and text == _percent(0.0, 2) else text


def margin_text(degrees: float) -> str:
    """Write a margin, degrees."""
    if degrees == -math.inf:
        return "does not happen"
    return wording.degrees(degrees, 2) if math.isfinite(degrees) else "any"


def rule_name(project: Project, rule: RuleSpread) -> str:
    """Name what was judged."""
    if rule.kind in MEANINGS:
        return f"Rule {int(rule.what) + 1}: {_between_lanes(project, int(rule.what))}"
    if rule.kind == "pass-through":
        lane, level = rule.what.split(" ", 1)
        return f"{lane_text(project, lane)} never sweeps {level}"
    if rule.kind == "spring":
        return f"{lane_text(project, rule.what)}: its spring holds the follower"
    return _ITEMS[rule.kind].format(rule.what)


_ITEMS = {
    "release": "Gate {}: releases the intended items",
    "headway": "Channel {}: items keep apart",
    "diverter": "Channel {}: diverter holds for each item",
    "supply": "Supply {}: feeds fast enough",
    "stock": "Magazine {}: never runs empty",
    "outlet-order": "Outlet {}: items in order",
}


def _between_lanes(project: Project, number: int) -> str:
    rule = project.rules[number]
    return meaning_of(rule).name(rule, partial(state_text, project))
