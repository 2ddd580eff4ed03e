"""The sheet of the feed planner: one answer for every supply, and what is refilled by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.wording import counted, part_name, per_minute, plain, plural
from shaftscore.bringup.feed import FeedPlan, Refill, StorePlan, SupplyPlan
from shaftscore.bringup.over_round import round_sentences
from shaftscore.bringup.sheets import OperationSheet, SheetTable, listed
from shaftscore.model import Magazine
from shaftscore.model.rounds import CYCLE

HEADS = ("Supply", "Magazine", "Item", "Rate required", "Capacity required", "Initial count required")

RESERVE = (
    "The numbers hold in the fastest machine with the slowest supplies and travels within the tolerances."
)


def feed_sheet(plan: FeedPlan) -> OperationSheet:
    """Return one answer for every supply, and how long magazines last that are filled by hand."""
    sentences = list(_without_answer(plan.supplies))
    rows = list(_rows(plan))
    tables = [SheetTable("One answer for each supply", HEADS, tuple(rows), tuple(row[0] for row in rows))]
    return OperationSheet(
        _head(plan),
        (*sentences, *refill_sentences(plan), RESERVE, *round_sentences(plan.cycles)),
        tuple(tables) if rows else (),
    )


MOST_NAMED = 6
"""Supplies without an answer that are named."""


def _without_answer(supplies: Sequence[SupplyPlan]) -> Iterator[str]:
    """Yield why supplies have no answer."""
    silent = [one for one in supplies if one.why and not one.stores]
    for one in silent[:MOST_NAMED]:
        yield f"{part_name(one.supply)}: {one.why}"
    if len(silent) > MOST_NAMED:
        yield f"{len(silent) - MOST_NAMED} further supplies have no answer."


def _head(plan: FeedPlan) -> str:
    length = "for ever" if plan.steps is None else f"for {counted(plan.steps, 'step')}"
    failing = sum(not one.holds_now for one in plan.supplies)
    if failing:
        verb = "does" if failing == 1 else "do"
        return f"{failing} of {_supplies(plan.supplies)} {verb} not hold {length}."
    if plan.supplies and any(one.stores for one in plan.supplies):
        return f"The feed holds {length}."
    return "No magazine gives out items." if plan.refill is None else "All magazines are filled by hand."


def _supplies(some: Sequence[SupplyPlan]) -> str:
    return "1 supply" if len(some) == 1 else f"{len(some)} supplies"


def _rows(plan: FeedPlan) -> Iterator[tuple[str, ...]]:
    flow = plan.project.flow
    assert flow is not None, "a plan has a flow"
    magazines = {one.id: one for one in flow.magazines}
    rates = {one.id: one.rate_per_min for one in flow.supplies}
    for supply in plan.supplies:
        for store in supply.stores:
            rate = _rate(supply, rates.get(supply.supply), for_ever=plan.steps is None)
            names = part_name(supply.supply), part_name(store.magazine)
            yield *names, store.item, rate, *_counts(store, magazines[store.magazine])


def _counts(store: StorePlan, own: Magazine) -> tuple[str, str]:
    return f"{store.capacity} (has {own.capacity})", f"{store.start_count} (has {own.start_count})"


def _rate(supply: SupplyPlan, rate: float | None, *, for_ever: bool) -> str:
    has = "endless" if rate is None else f"has {plain(rate, 1)}"
    if supply.least_rate_per_min is None or not for_ever:
        return has
    return f"{per_minute(supply.least_rate_per_min)} ({has})"


def refill_sentences(plan: FeedPlan) -> tuple[str, ...]:
    """Return how long magazines last that no supply fills, and what is refilled then."""
    refill = plan.refill
    if refill is None:
        return ()
    if refill.why:
        return (f"Magazines filled by hand: {refill.why}",)
    if refill.turns is None:
        return ("Magazines filled by hand do not run empty.",)
    turn = "turn" if plan.cycles == CYCLE else "round"
    lasts = counted(refill.turns, turn) + (f" and {counted(refill.steps, 'step')}" if refill.steps else "")
    gone = [_counted(one, one.count) for one in refill.refills if one.count]
    after = f"; refill {listed(gone)} after {counted(refill.turns, turn)}" if gone else ""
    found = [f"Magazines filled by hand last {lasts}{after}."]
    wanted = [_counted(one, one.start_count) for one in refill.refills if one.start_count]
    if wanted and plan.steps is not None:
        found.append(f"For {counted(plan.steps, 'step')}, fill in {listed(wanted)}.")
    return tuple(found)


def _counted(one: Refill, many: int) -> str:
    if one.item == "item":
        return f"{many} in {part_name(one.magazine)}"
    return f"{many} {one.item if many == 1 else plural(one.item)}"
