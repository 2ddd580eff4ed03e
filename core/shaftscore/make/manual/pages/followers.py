"""The followers: a page a kind, with both drawings, places, parts, what is bought, and the assembly."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.make.drawing.pictures import (
    BOUGHT_HEAD,
    LANES_HEAD,
    PARTS_HEAD,
    FollowerPage,
    follower_pages,
)
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.manual.context import ManualContext, codes_text
from shaftscore.make.manual.flow import (
    DrawingBlock,
    gap,
    heading,
    numbered,
    section,
    side_by_side,
    text_table,
    together,
)
from shaftscore.make.manual.markup import bold, para, said
from shaftscore.make.manual.paper import NOT_DESCRIBED

TOP_SHARE, SIDE_SHARE = 0.31, 0.18
"""Shares of a page for the drawings from the top and from the side, at most."""

MOST_BESIDE = 32
"""Rows of parts that fit beside what is bought; tables beside one another stay on one page."""


def followers(context: ManualContext) -> list[Any]:
    """Return a section a kind of follower."""
    wide, high = context.room_mm
    pages = follower_pages(context.machine, wide, TOP_SHARE * high, SIDE_SHARE * high)
    made: list[Any] = []
    for page in pages:
        lanes = "Lane" if len(page.lanes) == 1 else "Lanes"
        lead = f"{lanes} {codes_text(page.lanes)}. Drawn for {page.lanes[0]}, at 0° of the shaft."
        content = list(_page(context, page))
        made += section(f"Followers: {page.title}", lead, content, context.room_mm)
    without = _without(context, pages)
    if without:
        told = f"Follower parts of {codes_text(without)} are {NOT_DESCRIBED}: "
        where = [para(f"{said(told)}{bold('Lane > Follower parts…')}")]
        made += where if made else section("Followers", "", where, context.room_mm)
    return made


def _without(context: ManualContext, pages: Sequence[FollowerPage]) -> list[str]:
    """Return the lanes whose followers are not described as parts."""
    drawn = {code for page in pages for code in page.lanes}
    names = [lane.code or lane.label for lane in context.project.lanes if lane.kind != "index"]
    return [name for name in names if name not in drawn]


def _page(context: ManualContext, page: FollowerPage) -> Iterator[Any]:
    """Yield the drawings, the tables and the steps of a kind."""
    wide = context.wide_mm
    for name, drawing, scale in (
        ("From the top", page.top, page.top_scale),
        ("From the side", page.side, page.side_scale),
    ):
        yield heading(name, scale, wide)
        yield gap(1.0)
        yield DrawingBlock(drawing, box=Bounds(0.0, drawing.bounds.bottom, wide, drawing.bounds.top))
        yield gap(2.0)
    for text in page.refused:
        yield para(bold(text))
    yield text_table(LANES_HEAD, page.places, (40.0, 24.0, 30.0, 44.0, wide - 138.0), small=True)
    yield gap(3.0)
    yield from _tables(page, (wide - 6.0) / 2)
    yield gap(3.0)
    steps = numbered(map(said, page.steps), wide)
    yield together(heading("Assembly"), gap(1.0), *steps[:1])
    yield from steps[1:]


def _tables(page: FollowerPage, half_mm: float) -> Iterator[Any]:
    """Yield what is made beside what is bought; many parts in two columns over it, which pages may part."""
    parts = _parts_table(page.parts, half_mm)
    bought = text_table(BOUGHT_HEAD, page.bought, (22.0, half_mm - 32.0, 10.0), right=(2,), small=True)
    if len(page.parts) <= MOST_BESIDE:
        yield side_by_side([parts, bought], (half_mm + 6.0, half_mm))
        return
    for start in range(0, len(page.parts), 2 * MOST_BESIDE):
        rows = page.parts[start : start + 2 * MOST_BESIDE]
        middle = -(-len(rows) // 2)
        columns = [_parts_table(some, half_mm) for some in (rows[:middle], rows[middle:])]
        yield side_by_side(columns, (half_mm + 6.0, half_mm))
        yield gap(3.0)
    yield bought


def _parts_table(rows: Sequence[Sequence[str]], half_mm: float) -> Any:
    """Return a table of parts that takes half a page."""
    return text_table(PARTS_HEAD, rows, (14.0, half_mm - 38.0, 8.0, 16.0), right=(2,), small=True)
