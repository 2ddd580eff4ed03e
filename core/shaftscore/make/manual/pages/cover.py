"""The cover: what the machine is, its parts in one picture, figures, what to buy, cautions, the verdict."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from shaftscore.judge.report import coverage_text, verdict_text
from shaftscore.make.drawing.pictures import assembled_machine, exploded_shaft
from shaftscore.make.drawing.scene import Bounds, Mark, Path, Scene, Stroke, scene
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import (
    MM,
    Bookmark,
    DrawingBlock,
    boxed,
    gap,
    grid,
    height_mm,
    section,
    side_by_side,
    text_table,
)
from shaftscore.make.manual.markup import bold, muted, para, plain_para, said
from shaftscore.make.manual.paper import INK
from shaftscore.make.manual.purchases import Purchase, purchases
from shaftscore.make.manual.verdict import open_errors
from shaftscore.make.manual.words import (
    CAUTIONS,
    coverage_line,
    height,
    largest_disc,
    printed_parts,
    printing,
    rotation,
    sentence_of,
    torque,
)

FACTS_MM = 62.0
"""Width of the column of facts."""

LEAST_PICTURE_MM, MOST_PICTURE_MM = 115.0, 190.0
"""Heights of the exploded picture."""

ASSEMBLED_MM = (30.0, 75.0)
"""Least and greatest height of the picture of the machine."""

TITLE_LETTERS = 60
"""A longer name stands in the letters of a section's title."""


def cover(context: ManualContext) -> list[Any]:
    """Return the cover; what has no room on its page goes on on the next one."""
    wide, high = context.room_mm
    name = context.project.name
    parts: list[Any] = [
        plain_para(name, "cover" if len(name) <= TITLE_LETTERS // 2 else "title"),
        Bookmark("Cover"),
        gap(1.0),
        plain_para(sentence_of(context), "lead"),
        gap(3.0),
        *_errors(context),
    ]
    below: list[Any] = [gap(2.5), boxed(_cautions(wide - 6.0), wide), gap(2.5), *_verdict(context, wide)]
    found = purchases(context.order)
    list_mm = height_mm(_to_buy(found, wide), wide) + 2.0
    free = high - height_mm([*parts, *below], wide) - 1.0
    if free - list_mm >= LEAST_PICTURE_MM:
        middle = _middle(context, min(free - list_mm, MOST_PICTURE_MM))
        return [*parts, middle, gap(2.0), *_to_buy(found, wide), *below]
    middle = _middle(context, min(max(free, LEAST_PICTURE_MM), MOST_PICTURE_MM))
    lead = "Everything that is not printed. Lanes are named by their engraved codes."
    return [*parts, middle, *below, *section("What to buy", lead, [_shopping(found, wide)], context.room_mm)]


def _errors(context: ManualContext) -> list[Any]:
    """Return the black box with the errors that are open, if any."""
    lines = open_errors(context.report)
    if not lines:
        return []
    content = [para(bold(lines[0]), "white"), *[plain_para(line, "white") for line in lines[1:]]]
    return [boxed(content, context.wide_mm, fill=INK), gap(3.0)]


def _middle(context: ManualContext, high_mm: float) -> Any:
    """Return the exploded pictures with the facts and the whole machine: beside them, or below several."""
    if len(context.stacks) > 1:
        return _below(context, high_mm)
    wide = context.wide_mm - FACTS_MM - 5.0
    facts = _facts(context, 1, FACTS_MM)
    left = high_mm - height_mm([facts], FACTS_MM) - 3.0
    column: list[Any] = [facts]
    if left >= ASSEMBLED_MM[0]:
        column += [gap(2.0), _assembled(context, FACTS_MM, min(left, ASSEMBLED_MM[1]))]
    return side_by_side([_exploded(context, wide, high_mm), column], (wide + 5.0, FACTS_MM))


def _below(context: ManualContext, high_mm: float) -> Any:
    """Return the exploded pictures of several shafts over the whole width, the facts below them."""
    wide = context.wide_mm - FACTS_MM - 5.0
    facts = _facts(context, 2, wide)
    low = height_mm([facts], wide)
    row = side_by_side([facts, _assembled(context, FACTS_MM, low)], (wide + 5.0, FACTS_MM))
    rows = [[_exploded(context, context.wide_mm, high_mm - low - 3.0)], [row]]
    return grid(rows, (context.wide_mm,), head=False, lines=False, pad_mm=0.5)


def _assembled(context: ManualContext, wide_mm: float, high_mm: float) -> DrawingBlock:
    drawing = assembled_machine(context.machine, wide_mm, high_mm)
    return DrawingBlock(drawing, box=Bounds(0.0, 0.0, wide_mm, high_mm))


def _exploded(context: ManualContext, wide_mm: float, high_mm: float) -> Any:
    """Return the exploded pictures of all shafts, beside one another."""
    machine = context.machine
    stacks = machine.stacks
    if not stacks:
        return plain_para("No disc is made yet: add blocks in the timing diagram.", "muted")
    own = wide_mm / len(stacks)
    blocks = [
        DrawingBlock(exploded_shaft(machine, stack, own, high_mm), box=Bounds(0, 0, own, high_mm))
        for stack in stacks
    ]
    return blocks[0] if len(blocks) == 1 else side_by_side(blocks, [own] * len(stacks))


def _facts(context: ManualContext, columns: int, wide_mm: float) -> Any:
    """Return the facts in columns of a width."""
    named = (
        ("Rotation, seen from the top", rotation(context)),
        ("Height", height(context)),
        ("Printed parts", printed_parts(context)),
        ("Print", printing(context)),
        ("Largest disc", largest_disc(context)),
        ("Torque at the shaft", torque(context)),
    )
    own = wide_mm / columns - 3.0 * (columns - 1)
    cells = [_fact(label, *told) for label, told in named]
    turned = [cells[0], _turning(context.project.shaft.turn)]
    cells[0] = side_by_side(turned, (own - 13.0, 13.0))
    rows = [cells[first : first + columns] for first in range(0, len(cells), columns)]
    if columns == 1:
        return grid(rows, (wide_mm,), head=False, pad_mm=1.2)
    pairs = [[left, "", right] for left, right in rows]
    return grid(pairs, (own, wide_mm - 2 * own, own), head=False, pad_mm=1.2)


def _fact(label: str, fact: str, detail: str) -> list[Any]:
    return [plain_para(label, "column"), plain_para(fact, "fact"), plain_para(detail, "column")]


_RING = np.asarray(1.2 * np.exp(2j * np.pi * np.arange(24) / 24), np.complex128)
"""A small circle, mm."""


def _turning(turn: str) -> DrawingBlock:
    """Return an arrow round a dot in the sense of rotation."""
    sign = 1.0 if turn == "counterclockwise" else -1.0
    turned = np.radians(sign * np.linspace(-60.0, 220.0, 40) + 90.0)
    around = np.asarray(4.5 * np.exp(1j * turned), np.complex128)
    way = around[-1] - around[-2]
    way = way / abs(way)
    tip = around[-1] + 1.2 * way
    marks: list[Mark] = [
        Path(around, Stroke("ink", "bold")),
        Path(_RING, Stroke("ink"), closed=True),
        Path(
            np.array([tip, tip - (3.0 - 1.3j) * way, tip - (3.0 + 1.3j) * way]), None, closed=True, fill="ink"
        ),
    ]
    return DrawingBlock(scene(marks), box=Bounds(-6, -6, 6, 6), align="RIGHT")


def _to_buy(found: tuple[Purchase, ...], wide_mm: float) -> list[Any]:
    """Return what is to be bought, in two columns where there is more than a little."""
    if not found:
        return []
    gap_mm = 6.0
    columns = 2 if len(found) > 3 else 1
    own = (wide_mm - gap_mm * (columns - 1)) / columns
    shares = (0.62 * own, 0.30 * own, 0.08 * own)
    half = -(-len(found) // columns)
    rows = [[_bought(one) for one in found[first : first + half]] for first in range(0, len(found), half)]
    head = _bought_head()
    if columns == 1:
        return [grid([head, *rows[0]], shares, pad_mm=0.55)]
    blank = [""] * 3
    both = [
        [*left, "", *(rows[1][place] if place < len(rows[1]) else blank)]
        for place, left in enumerate(rows[0])
    ]
    no_line = [("LINEBELOW", (3, 0), (3, -1), 1.6, "#ffffff"), ("LINEABOVE", (3, 0), (3, -1), 1.6, "#ffffff")]
    return [
        grid([[*head, "", *_bought_head()], *both], (*shares, gap_mm, *shares), pad_mm=0.55, commands=no_line)
    ]


def _shopping(found: tuple[Purchase, ...], wide_mm: float) -> Any:
    """Return what is to be bought over the whole width, with boxes to tick."""
    rows = [(one.what.capitalize(), one.size, one.purpose, str(one.count)) for one in found]
    widths = (28.0, wide_mm - 107.0, 58.0, 9.0, 12.0)
    return text_table(("To buy", "Size", "For", "No."), rows, widths, right=(3,), strong=(0, 3), ticks=True)


def _bought_head() -> list[Any]:
    return [plain_para("To buy", "column"), plain_para("For", "column"), plain_para("No.", "column-right")]


def _bought(one: Purchase) -> list[Any]:
    return [
        plain_para(one.name, "small"),
        plain_para(one.purpose, "small-muted"),
        plain_para(str(one.count), "small-number"),
    ]


def _cautions(wide_mm: float) -> list[Any]:
    """Return the cautions, two beside one another."""
    texts = [_caution(text, wide_mm / 2 - 4.0) for text in CAUTIONS]
    rows = [texts[first : first + 2] for first in range(0, len(texts), 2)]
    commands = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("RIGHTPADDING", (0, 0), (0, -1), 4.0 * MM)]
    return [grid(rows, (wide_mm / 2, wide_mm / 2), head=False, lines=False, commands=commands, pad_mm=0.6)]


def _caution(text: str, wide_mm: float) -> Any:
    name, _, rest = text.partition(":")
    sign = DrawingBlock(warning_sign(), box=Bounds(0, 0, 4.2, 4.0))
    words = para(f"{bold(name + ':')} {said(rest)}", "small")
    return side_by_side([sign, words], (6.0, wide_mm - 6.0))


def warning_sign() -> Scene:
    """Return a triangle with an exclamation mark, 4.2 mm wide."""
    return scene(
        [
            Path(np.array([0.2 + 0.3j, 4.0 + 0.3j, 2.1 + 3.7j]), Stroke("ink"), closed=True),
            Path(np.array([2.1 + 1.3j, 2.1 + 2.6j]), Stroke("ink", "bold")),
            Path(np.array([2.1 + 0.7j, 2.1 + 0.9j]), Stroke("ink", "bold")),
        ]
    )


def _verdict(context: ManualContext, wide_mm: float) -> Iterator[Any]:
    """Yield the verdict and what it covers, the eight areas in two columns."""
    left_out = coverage_text(context.report)
    yield para(f"{bold('Verdict.')} {said(verdict_text(context.report))} {muted(left_out)}", "small")
    areas = [
        para(f"{bold(area.area.capitalize())} {muted(coverage_line(area))}", "small")
        for area in context.report.coverage.areas.values()
    ]
    half = -(-len(areas) // 4)
    rows = [areas[first : first + 4] for first in range(0, 4 * half, 4)]
    yield gap(0.5)
    yield grid(rows, [wide_mm / 4] * 4, head=False, lines=False, pad_mm=0.3)
