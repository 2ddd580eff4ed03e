"""Running the machine: home and the way back to it, torque by hand, jams, refills and inspection."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.base.wording import degrees
from shaftscore.bringup.feed import FeedPlanner
from shaftscore.bringup.feed_sheet import feed_sheet
from shaftscore.bringup.hand_torque import hand_torques
from shaftscore.bringup.home import HomeAngle, RestartCard, restart_card
from shaftscore.bringup.restart_sheet import hand_table, home_sentences, restart_sheet
from shaftscore.bringup.sheets import OperationSheet, SheetTable
from shaftscore.bringup.stuck import stuck_lanes
from shaftscore.bringup.stuck_sheet import stuck_sheet
from shaftscore.bringup.wear import machine_wear
from shaftscore.bringup.wear_sheet import inspection_sentences, wear_sheet
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.make.manual.context import ManualContext, codes_text
from shaftscore.make.manual.flow import (
    DrawingBlock,
    boxed,
    gap,
    heading,
    section,
    side_by_side,
    text_table,
    together,
)
from shaftscore.make.manual.markup import bold, para, plain_para, said
from shaftscore.make.manual.paper import NOT_DESCRIBED
from shaftscore.make.manual.signs import DIAL_BOX, dial

DIAL_WIDE_MM = 12.0
"""Width of the column with the dial."""

MOST_WORN = 12
"""Parts that the list of inspection names, those first that wear out first."""


def operation(context: ManualContext) -> list[Any]:
    """Return the sections."""
    return [*_restart(context), *_hand(context), *_upkeep(context)]


def _loads(context: ManualContext) -> MachineLoads:
    report = context.report
    return report.loads or machine_loads(report.solution)


# Home and restart


def _restart(context: ManualContext) -> list[Any]:
    given = context.project.home
    card = restart_card(context.report.solution, None if given is None else given.angle_deg)
    lead = (
        "After a power loss, unplug the motor first. Read the angle on the dial, find its row, and turn the "
        "shaft by hand: here alone also backwards, where the row says so."
    )
    sheet = restart_sheet(card)
    content = [
        _home(context, card),
        gap(4.0),
        *_tables(context, sheet.tables[:1], (0.24, 0.17, 0.24, 0.09, 0.26)),
    ]
    content += map(plain_para, sheet.sentences[len(tuple(home_sentences(card.home))) :])
    content += [gap(3.0), _cautions(context, sheet)]
    return section("Home and restart", lead, content, context.room_mm)


def _home(context: ManualContext, card: RestartCard) -> Any:
    """Return where home is, on a dial, and what is where there."""
    home = card.home
    told = [
        para(f"{bold('Home: ' + degrees(home.angle_deg))}{said(', in the project' if home.given else '')}"),
        *[plain_para(text) for text in home_sentences(home)],
        *[para(f"{bold(codes)}: {said(level)}") for level, codes in _levels(context, home)],
    ]
    drawn = DrawingBlock(dial(home.angle_deg, context.project.shaft.turn), box=DIAL_BOX, align="LEFT")
    widths = (DIAL_WIDE_MM, context.wide_mm - DIAL_WIDE_MM - 6.0)
    return together(side_by_side([drawn, told], widths))


def _levels(context: ManualContext, home: HomeAngle) -> Iterator[tuple[str, str]]:
    """Yield levels with the codes of the lanes that are at them at home."""
    groups: dict[str, list[str]] = {}
    for place in home.places:
        lane = context.project.lane(place.lane)
        groups.setdefault(place.level or "between levels", []).append(lane.code or lane.label)
    for level, codes in groups.items():
        yield level, codes_text(codes)


# Torque by hand


def _hand(context: ManualContext) -> list[Any]:
    lead = (
        "Turn each shaft by hand after every disc, with its followers and springs on. Much more torque: it "
        "binds. Much less: a spring is off. Angles are of that shaft."
    )
    loads = _loads(context)
    if not loads.lanes:
        return []
    project = context.project
    tables = [
        hand_table(project, stack, hand_torques(project, loads, stack))
        for stack in context.stacks
        if project.discs_of(stack)
    ]
    content = list(_tables(context, tables, (0.08, 0.34, 0.26, 0.2, 0.12)))
    return section("Torque of each step by hand", lead, content, context.room_mm)


# Jams, refills, inspection


def _upkeep(context: ManualContext) -> list[Any]:
    lead = "What to do while the machine runs, and what to look at from time to time."
    content = [*_jams(context), *_refills(context), *_inspection(context)]
    return section("Running and inspection", lead, content, context.room_mm)


def _jams(context: ManualContext) -> Iterator[Any]:
    sheet = stuck_sheet(stuck_lanes(context.report.solution, _loads(context)))
    yield heading("If a lane jams")
    yield gap(1.0)
    for text in (sheet.head, *sheet.sentences):
        yield plain_para(text)
    yield from _tables(context, sheet.tables, (0.16, 0.11, 0.28, 0.09, 0.11, 0.12, 0.13), captions=False)
    yield gap(2.0)
    yield _cautions(context, sheet)
    yield gap(4.0)


def _refills(context: ManualContext) -> Iterator[Any]:
    yield heading("Feed and refills")
    yield gap(1.0)
    if context.project.flow is None:
        yield plain_para(f"The flow of items is {NOT_DESCRIBED}: Machine > Flow…")
    else:
        sheet = feed_sheet(FeedPlanner(context.report.solution).plan())
        for text in (sheet.head, *sheet.sentences):
            yield plain_para(text)
        yield from _tables(context, sheet.tables, (0.17, 0.17, 0.17, 0.19, 0.15, 0.15), captions=False)
    yield gap(4.0)


def _inspection(context: ManualContext) -> Iterator[Any]:
    """Yield when to look, and a list with a box for each part that wears."""
    wear = machine_wear(context.report.solution, _loads(context))
    sheet = wear_sheet(wear)
    yield heading("Inspection")
    yield gap(1.0)
    told = (*inspection_sentences(wear), *sheet.sentences[-1:]) if wear.parts else ()
    for text in (sheet.head, *told):
        yield plain_para(text)
    known = sorted((one for one in wear.parts if one.life_h is not None), key=lambda one: one.life_h or 0.0)
    labels = {lane.id: f"{lane.code or ''} {lane.label}".strip() for lane in context.project.lanes}
    row_of = {(one.lane, one.part): row for one, row in zip(wear.parts, _rows(sheet), strict=False)}
    rows = [(labels[one.lane], one.part, *row_of[one.lane, one.part][4:6]) for one in known[:MOST_WORN]]
    rows.append(("All lanes", "Screws, pins, springs, play of levers", "", ""))
    wide = context.wide_mm - 14.0
    yield gap(1.0)
    yield text_table(
        ("Lane", "Part", "Depth", "Worn out after"),
        rows,
        (0.27 * wide, 0.33 * wide, 0.2 * wide, 0.2 * wide, 14.0),
        ticks=True,
    )


def _rows(sheet: OperationSheet) -> Sequence[tuple[str, ...]]:
    return sheet.tables[0].rows if sheet.tables else ()


def _tables(
    context: ManualContext, tables: Sequence[SheetTable], shares: Sequence[float], *, captions: bool = True
) -> Iterator[Any]:
    """Yield tables in the least letters; shares: of the width, for each column."""
    widths = [share * context.wide_mm for share in shares]
    for table in tables:
        if captions:
            yield heading(table.caption)
        yield gap(1.0)
        yield text_table(table.heads, table.rows, widths, small=True)
        yield gap(3.0)


def _cautions(context: ManualContext, sheet: OperationSheet) -> Any:
    lines = [para(f"{bold('Caution.')} {said(text)}", "small") for text in sheet.cautions]
    return together(boxed(lines, context.wide_mm))
