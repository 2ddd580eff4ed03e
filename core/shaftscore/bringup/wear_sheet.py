"""The sheet of wear: how parts wear, whose timing shifts first, what to keep and when to look."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from shaftscore.base.wording import counted, degrees, number, plain
from shaftscore.bringup.sheets import (
    PINCH_CAUTION,
    UNKNOWN,
    OperationSheet,
    SheetTable,
    listed,
)
from shaftscore.bringup.wear import SLIP, WORN_MM, MachineWear, PartWear
from shaftscore.judge.findings.in_rounds import round_angle

HEADS = ("Lane", "Part", "Pair", "Wear rate", "Depth", "Worn out after", "Source")

MOST_SPARES = 6
"""Spare parts that are named."""

ASSUMED = (
    f"A part counts as worn out at {plain(WORN_MM)} mm, and a roller is taken to slide by "
    f"{plain(100 * SLIP)} % of its way (common practice). Wear differs from print to print: these are orders "
    "of magnitude, no promise."
)


def wear_sheet(wear: MachineWear) -> OperationSheet:
    """Return how parts wear, whose timing shifts first, what to keep and when to look."""
    if not wear.parts:
        return OperationSheet("Describe the load of a lane to see how its parts wear.")
    labels = {lane.id: lane.label for lane in wear.project.lanes}
    rows = tuple(_row(wear, labels[one.lane], one) for one in wear.parts)
    table = SheetTable("Wear of parts", HEADS, rows, tuple(one.lane for one in wear.parts))
    sentences = (*inspection_sentences(wear), *_missing(wear), ASSUMED)
    return OperationSheet(wear_head(wear), sentences, (table,), (PINCH_CAUTION,))


def wear_head(wear: MachineWear) -> str:
    """Return whose timing shifts first, in a sentence."""
    first = wear.first_shift
    if first is None:
        return "No wear rate is known, so no shift of a timing can be foretold."
    shift, at = degrees(first.limit_deg), round_angle(first.at_deg, first.cycles)
    return f"{first.label} shifts first: by {shift} at {at} after {hours_text(wear, first.hours)}."


def hours_text(wear: MachineWear, hours: float) -> str:
    """Write running hours, with the years that they are by the duty."""
    text, yearly = f"{_rounded(hours)} h", wear.hours_per_year
    return text if yearly is None or hours >= 1e6 else f"{text} ({number(hours / yearly, 1)} years)"


def _rounded(hours: float) -> str:
    """Write hours with two figures, since wear is known no better."""
    if hours >= 1e6:
        return "over 1,000,000"
    step = 10 ** max(len(str(int(hours))) - 2, 0)
    return f"{round(hours / step) * step:,}" if hours >= 10 else number(hours, 1)


def inspection_sentences(wear: MachineWear) -> Iterator[str]:
    """Yield how long it runs, when to look, and what to keep."""
    yearly = wear.hours_per_year
    if yearly is None:
        yield "Running hours are not described: state hours, days and years under Machine > Duty…"
    else:
        yield f"The machine runs {yearly:,.0f} hours a year."
    yield f"Inspect discs, rollers and bores every {plain(wear.interval_h, 0)} running hours."
    labels = {lane.id: lane.label for lane in wear.project.lanes}
    for spare in wear.spares[:MOST_SPARES]:
        count, life = counted(spare.count, f"spare {spare.part}"), hours_text(wear, spare.hours)
        yield f"Keep {count} for {labels[spare.lane]}: one lasts {life}."
    if len(wear.spares) > MOST_SPARES:
        yield f"{len(wear.spares) - MOST_SPARES} further parts wear out within the years of service."


def _missing(wear: MachineWear) -> Iterator[str]:
    """Yield what is not known."""
    if wear.unknown:
        pairs = dict.fromkeys(f"{one.material} on {one.partner}" for one in wear.unknown)
        yield (
            f"No published wear rate was found for {listed(pairs)}: measure it, and state it under "
            "Machine > Materials…"
        )
    if wear.without_load:
        yield f"Forces are not described for {listed(wear.without_load)}."


def _row(wear: MachineWear, label: str, one: PartWear) -> tuple[str, ...]:
    pair = f"{one.material} on {one.partner}"
    if one.rate is None or one.mm_per_hour is None or one.life_h is None:
        return label, one.part, pair, UNKNOWN, UNKNOWN, UNKNOWN, ""
    source = one.rate.source + (f"; {one.rate.note}" if one.rate.note else "")
    life = hours_text(wear, one.life_h) if isfinite(one.life_h) else "never"
    return label, one.part, pair, _rate(one.rate.most), _depth(wear, one.mm_per_hour), life, source


def _rate(rate: float) -> str:
    """Write a rate of wear that is given in mm³/(N·m)."""
    return f"{plain(rate * 1000, 5)} mm³/(N·km)"


def _depth(wear: MachineWear, hourly_mm: float) -> str:
    unit, hours = "1,000 h", 1000.0
    if wear.hours_per_year is not None:
        unit, hours = "a year", wear.hours_per_year
    return f"{number(hourly_mm * hours, 3)} mm in {unit}"
