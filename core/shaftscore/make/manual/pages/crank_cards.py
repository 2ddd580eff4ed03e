"""The test cards: one table a group, with a dial, a picture and a box to tick for every lane."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.base.wording import degrees, listed, number, plain
from shaftscore.bringup.stops import ExpectedLevel
from shaftscore.make.drawing.dimensions import scale_bar
from shaftscore.make.drawing.scene import Bounds, scene
from shaftscore.make.manual.cards import CardRow, GroupCard, cards
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import (
    DrawingBlock,
    boxed,
    gap,
    grid,
    heading,
    numbered,
    section,
    side_by_side,
    tick,
    together,
)
from shaftscore.make.manual.markup import bold, muted, para, plain_para, said
from shaftscore.make.manual.paper import GREY, NOT_DESCRIBED
from shaftscore.make.manual.signs import DIAL_BOX, DIAL_MM, LEVEL_BOX, dial, level_sign, paper_dial
from shaftscore.model import Lane

TURN_MM, TORQUE_MM, SIGN_MM, TICK_MM = 21.0, 17.0, 6.0, 6.0
"""Widths of columns: the dial with its angle, the torque, the picture of a level, the box to tick."""

HEAD_ROWS = 3
"""So many rows stay with the heading of a card."""


def crank_cards(context: ManualContext) -> list[Any]:
    """Return the section."""
    made = list(cards(context.report))
    turn = context.project.shaft.turn
    lead = (
        f"Power off. Turn the master shaft {turn} only, seen from the top; if you pass an angle, go round "
        "again. Test one group at a time: fit its followers, tick every lane, then add the next group."
    )
    content: list[Any] = []
    for card in made:
        content += [*_card(context, card), gap(5.0)]
    content += [_legend(context), gap(6.0), _signed(context)]
    made_of_cards = section("Test cards for the hand crank", lead, content, context.room_mm)
    return [*made_of_cards, *_dial_to_cut_out(context)]


def _dial_to_cut_out(context: ManualContext) -> list[Any]:
    """Return the dial at full size, beside how it is fixed: the angles of all cards are read on it."""
    stack = context.project.stacks[0]
    drawn = paper_dial(context.project.shaft.turn, stack.bore.outer_radius_mm + 1.0)
    drawn += scene(scale_bar(complex(-25.0, -DIAL_MM - 8.0), "full size: this bar measures 50 mm"))
    wide = context.wide_mm - 2 * DIAL_MM - 10.0
    steps = numbered(_dial_steps(context), wide)
    block = DrawingBlock(drawn, box=Bounds(-DIAL_MM - 1.0, -DIAL_MM - 9.0, DIAL_MM + 1.0, DIAL_MM + 1.0))
    row = together(side_by_side([block, steps], (2 * DIAL_MM + 10.0, wide)))
    lead = "The angles of the test cards are read on it. Make it before the first test."
    return section("Dial", lead, [row], context.room_mm)


def _dial_steps(context: ManualContext) -> Iterator[str]:
    """Yield how the dial is made and set, as markup."""
    stack = context.project.stacks[0]
    knob = next((item.part.code for item in context.of_kind("knob")), "")
    yield (
        "Print this page once more, on one side, at 100 %, not fitted to the page. Measure the bar. Cut the "
        "dial out."
    )
    if context.order.frame is not None:
        where = f"{bold('PLATE-TOP')}, round the rod in hole {bold(context.order.frame.shafts[0].name)}"
    else:
        where = f"the frame, round the rod of {said(stack.label)}"
    yield f"Glue it on {where}, the numbers up, 0° towards the reference line."
    yield "Turn all zero marks onto the reference line."
    holder = f"{bold(knob)}" if knob else "the rod"
    yield f"Fix a pointer of wire or card to {holder}, its tip over 0°. It must not slip."
    yield (
        f"Turn {said(context.project.shaft.turn)} only. The pointer then goes through the angles in rising "
        "order; one turn of it is one cycle."
    )


def _card(context: ManualContext, card: GroupCard) -> list[Any]:
    """Return the table of a group, and of what is looked at lane by lane."""
    head = heading(card.title, _levels_text(context, [one.lane for one in card.lanes]), context.wide_mm)
    parts: list[Any] = []
    if card.rows:
        parts.append(_table(context, card))
    if card.no_loads:
        codes = listed([lane.code or lane.label for lane in card.no_loads])
        parts.append(plain_para(f"Hand torque {NOT_DESCRIBED}: Lane > Load… of {codes}.", "column"))
    if card.alone:
        parts += [gap(1.5), _alone(context, card)]
    return [together(head, gap(0.8), parts[0]) if _is_short(card) else head, *parts[int(_is_short(card)) :]]


def _is_short(card: GroupCard) -> bool:
    return len(card.rows) <= 24 and bool(card.rows)


def _levels_text(context: ManualContext, lanes: Sequence[Lane]) -> str:
    """Return the levels of lanes with their outputs: "A1 to A6: closed 0 mm, open 10 mm"."""
    from shaftscore.make.manual.context import codes_text

    groups: dict[str, list[str]] = {}
    for lane in lanes:
        levels = sorted(context.project.levels_of(lane).items(), key=lambda pair: pair[1])
        told = ", ".join(f"{name} {plain(value, 2)} mm" for name, value in levels)
        groups.setdefault(told, []).append(lane.code or lane.label)
    return "; ".join(f"{codes_text(codes)}: {told}" for told, codes in groups.items())


def _table(context: ManualContext, card: GroupCard) -> Any:
    """Return the table of a card: three columns a lane."""
    torque = TORQUE_MM if not card.no_loads else 0.0
    own = (context.wide_mm - TURN_MM - torque) / len(card.lanes)
    widths = [8.0, TURN_MM - 8.0]
    for _ in card.lanes:
        widths += [SIGN_MM, own - SIGN_MM - TICK_MM, TICK_MM]
    rows = [_head(card), *[_row(context, card, row) for row in card.rows]]
    if torque:
        widths.append(torque)
    commands: list[tuple[Any, ...]] = [("SPAN", (0, 0), (1, 0)), ("RIGHTPADDING", (2, 1), (-2, -1), 1.0)]
    for place in range(len(card.lanes)):
        first = 2 + 3 * place
        commands.append(("SPAN", (first, 0), (first + 2, 0)))
        commands += [
            ("BACKGROUND", (first, line), (first + 2, line), GREY)
            for line, row in enumerate(card.rows, start=1)
            if row.cells[place].changed
        ]
        commands.append(("LEFTPADDING", (first, 0), (first, -1), 2.0))
    return grid(rows, widths, commands=commands, pad_mm=0.5)


def _head(card: GroupCard) -> list[Any]:
    cells: list[Any] = [plain_para("Turn to", "column"), ""]
    for one in card.lanes:
        lane = one.lane
        cells += [para(f"{bold(lane.code or '')} {muted(lane.label)}", "small"), "", ""]
    return [*cells, plain_para("Torque, N·m", "column-right")] if not card.no_loads else cells


def _row(context: ManualContext, card: GroupCard, row: CardRow) -> list[Any]:
    turn = context.project.shaft.turn
    cells: list[Any] = [
        DrawingBlock(dial(row.angle_deg, turn), box=DIAL_BOX, align="LEFT"),
        para(bold(degrees(row.angle_deg)), "cell"),
    ]
    for cell in row.cells:
        cells += [_sign(cell), _level(cell), tick()]
    if not card.no_loads:
        known = row.torque_nm
        cells.append(plain_para("" if known is None else number(max(known, 0.0), 2), "number"))
    return cells


def _sign(cell: ExpectedLevel) -> Any:
    return DrawingBlock(level_sign(cell.rank, cell.share), box=LEVEL_BOX, align="LEFT") if cell.level else ""


def _level(cell: ExpectedLevel) -> Any:
    output = (
        plain(cell.output_mm, 1).replace("-0", "0")
        if abs(cell.output_mm) < 0.05
        else plain(cell.output_mm, 1)
    )
    name = cell.level or "at"
    return para(
        f"{bold(name) if cell.changed else said(name)} {muted(output if cell.level else output + ' mm')}",
        "small",
    )


def _alone(context: ManualContext, card: GroupCard) -> Any:
    """Return what is looked at lane by lane, two columns beside one another."""
    turn = context.project.shaft.turn
    rows = [
        [
            DrawingBlock(dial(one.angle_deg, turn), box=DIAL_BOX, align="LEFT"),
            para(bold(degrees(one.angle_deg)), "cell"),
            para(f"{bold(one.lane.lane.code or '')} {muted(one.lane.lane.label)}", "small"),
            _sign(one.cell),
            _level(one.cell),
            tick(),
        ]
        for one in card.alone
    ]
    columns = 2 if len(rows) > 3 else 1
    half = -(-len(rows) // columns)
    own = (context.wide_mm - 6.0 * (columns - 1)) / columns
    widths = (8.0, 14.0, own - 58.0, 6.0, 24.0, 6.0)
    both = []
    for place in range(half):
        line = list(rows[place])
        if columns == 2:
            other = rows[half + place] if half + place < len(rows) else [""] * 6
            line += ["", *other]
        both.append(line)
    all_widths = widths if columns == 1 else (*widths, 6.0, *widths)
    note = plain_para("One lane at a time; others of the group may be on their way.", "column")
    return grid(
        [[note, *[""] * (len(all_widths) - 1)], *both],
        all_widths,
        pad_mm=0.4,
        commands=[("SPAN", (0, 0), (-1, 0))],
    )


def _legend(context: ManualContext) -> Any:
    half = (context.wide_mm - 8.0) / 2
    left = (
        f"{bold('Grey cell:')} this lane changes here. If a whole row is wrong, the shaft is off; if one "
        "lane is, its disc or lever is."
    )
    right = (
        f"{bold('Something differs?')} Write down what you saw and at which angle, then turn to "
        f"{bold('If it does not work')}. Torque: the most that a hand should feel at "
        "the master shaft on the way from the row above, with the lanes of this table alone."
    )
    return together(
        boxed([side_by_side([para(left), para(right)], (half, half), gap_mm=5.0)], context.wide_mm)
    )


def _signed(context: ManualContext) -> Any:
    """Return lines to sign."""
    wide = context.wide_mm
    cells = [plain_para(text) for text in ("Tested by", "Date", "Remarks")]
    row = [cells[0], "", cells[1], "", cells[2], ""]
    lines = [("LINEBELOW", (place, 0), (place, 0), 0.5, "#000000") for place in (1, 3, 5)]
    return grid([row], (18.0, 40.0, 12.0, 28.0, 18.0, wide - 116.0), head=False, lines=False, commands=lines)
