"""Pages of the drilling templates: for each plate notes and the table of holes, then it at full size.

A plate that is larger than a page goes over several; the first page shows which page is where.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reportlab.platypus import PageBreak

from shaftscore.base.wording import counted
from shaftscore.layout.frame_plan import BOTH, FramePlan
from shaftscore.make.drawing.dimensions import BAR_MM, scale_bar
from shaftscore.make.drawing.fonts import written
from shaftscore.make.drawing.paper_sizes import PaperSize
from shaftscore.make.drawing.scene import Bounds, Mark, Path, Stroke, Text, box, scene
from shaftscore.make.drawing.template import (
    BAR_TEXT,
    HEAD,
    PlateTemplate,
    TemplateTile,
    plate_template,
    tiles_of,
)
from shaftscore.make.manual.document import Edges, document_bytes
from shaftscore.make.manual.flow import (
    DrawingBlock,
    gap,
    heading,
    section,
    side_by_side,
    text_table,
    together,
)
from shaftscore.make.manual.markup import plain_para
from shaftscore.make.manual.paper import room_mm
from shaftscore.model import Project

TILE_HEAD_MM = 12.0
"""Height above a tile for what it is and for the bar."""

OVERVIEW_MM = 70.0
"""Height of the overview of a template's pages, at most."""

FOOT = "Wear eye protection, clamp the work. Print at 100 %, not fitted to the page."
"""What stands on every page."""


def template_pages(project: Project, frame: FramePlan, size: PaperSize) -> bytes:
    """Write the templates of both plates; same frame, same bytes."""
    story: list[Any] = []
    for side in BOTH:
        if story:
            story.append(PageBreak())
        story += _plate(plate_template(frame, side), size)
    name = written(project.name)
    edges = Edges(name, "Full size", FOOT, kind="Drilling template")
    return document_bytes(story, size, f"{name}: drilling template", edges)


def _plate(template: PlateTemplate, size: PaperSize) -> Iterator[Any]:
    """Yield the pages of one plate."""
    wide, high = room_mm(size)
    tall = high - TILE_HEAD_MM - 1.0
    tiles = tiles_of(template, wide, tall)
    told = f"{counted(len(tiles), 'page')} at full size. Print at 100 %, not fitted to the page."
    content: list[Any] = [plain_para(note) for note in (*template.notes, told)]
    content += [gap(2.0), _bar(), gap(3.0)]
    if len(tiles) > 1:
        overview = _overview(template, tiles, (wide, tall))
        content += [together(heading("Which page is where"), overview), gap(3.0)]
    columns = (14.0, 18.0, 18.0, 22.0, wide - 72.0)
    content += [text_table(HEAD, template.rows, columns, right=(1, 2, 3))]
    yield from section(f"Drilling template: {template.name}", "", content, (wide, high))
    for number, tile in enumerate(tiles, start=1):
        yield PageBreak()
        yield _tile_head(template, tile, (number, len(tiles)), wide)
        corner = tile.low + complex(wide, tall)
        shown = Bounds(tile.low.real, tile.low.imag, corner.real, corner.imag)
        yield DrawingBlock(tile.scene, wide_mm=wide, high_mm=tall, box=shown)


def _bar() -> DrawingBlock:
    """Return the bar that shows whether the paper has full size."""
    return DrawingBlock(scene(scale_bar(0j, BAR_TEXT)), box=Bounds(0.0, -0.3, BAR_MM, 6.5), align="LEFT")


def _tile_head(template: PlateTemplate, tile: TemplateTile, place: tuple[int, int], wide_mm: float) -> Any:
    """Return what stands above a tile: which it is of how many, and the bar."""
    number, count = place
    which = f"page {number} of {count}: column {tile.column}, row {tile.row}" if count > 1 else "whole"
    joined = "Lay the crosses on those of the next page. " if count > 1 else ""
    told = [
        plain_para(f"{template.name}, {which}", "name"),
        plain_para(f"{joined}Full size: the bar measures {BAR_MM:g} mm.", "small-muted"),
    ]
    bar = scene([mark for mark in scale_bar(0j, "") if isinstance(mark, Path)])
    high = Bounds(0.0, -0.3, BAR_MM, TILE_HEAD_MM - 3.0)
    return side_by_side([told, DrawingBlock(bar, box=high, align="RIGHT")], (wide_mm - 60.0, 60.0))


def _overview(
    template: PlateTemplate, tiles: Sequence[TemplateTile], size: tuple[float, float]
) -> DrawingBlock:
    """Return the plate small, with the frame of each page and its number."""
    marks: list[Mark] = [path for path in template.scene.paths if path.name in ("outline", "hole", "seat")]
    for number, tile in enumerate(tiles, start=1):
        corner = tile.low + complex(*size)
        marks.append(Path(box(tile.low, corner), Stroke("muted", "hair", "dashed"), closed=True))
        middle = (tile.low + corner) / 2
        marks.append(Text(middle, f"page {number}", 7.0, "middle", "muted"))
    drawn = scene(marks)
    scale = min(OVERVIEW_MM / drawn.bounds.high, 0.6 * size[0] / drawn.bounds.wide)
    return DrawingBlock(drawn, scale, align="LEFT")
