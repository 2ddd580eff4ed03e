"""The drilling templates on paper: for each plate the table of holes, then the drawing at full size.

A plate that is larger than a page goes over several; the first page shows which page is where.
"""

from __future__ import annotations

from functools import partial

from shaftscore.base.wording import counted
from shaftscore.layout.frame_plan import BOTH, FramePlan
from shaftscore.make.drawing.fonts import POINT_MM
from shaftscore.make.drawing.template import (
    BAR_MM,
    HEAD,
    TEXT_MM,
    PlateTemplate,
    TemplateLayer,
    TemplateLine,
    TemplateText,
    TemplateTile,
    flat_circle,
    plate_template,
    scale_bar,
    tiles_of,
)
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.sheet.paper import A4, INK, LETTER, MUTED, PALE, SMALL_PT, Paper, PaperSize
from shaftscore.model import Project

HEAD_MM = 13.0
"""Height above a tile for what it is."""

WIDTHS: dict[TemplateLayer, float] = {
    "outline": 0.35,
    "hole": 0.25,
    "seat": 0.25,
    "centre": 0.12,
    "dimension": 0.12,
    "scale": 0.35,
    "join": 0.12,
}
"""Widths of lines, mm."""

COLOURS: dict[TemplateLayer, str] = {"centre": MUTED, "dimension": MUTED, "join": MUTED}
"""Colours of lines that are not black."""

OVERVIEW_MM = 80.0
"""Height of the overview of a template's pages."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan the templates for each size of paper; none without a frame."""
    if order.frame is None:
        return []
    project = order.report.project
    return [
        Planned(
            f"drill_template_{size.name.lower()}.pdf",
            "pdf",
            (),
            partial(template_bytes, project, order.frame, size),
            whole=True,
            always=True,
        )
        for size in (A4, LETTER)
    ]


def template_bytes(project: Project, frame: FramePlan, size: PaperSize) -> bytes:
    """Write the templates of both plates; same frame, same bytes."""
    title = f"{project.name}: drilling template"
    paper = Paper(size, title, title)
    for number, side in enumerate(BOTH):
        if number:
            paper.new_page()
        _plate(paper, plate_template(frame, side))
    return paper.finished()


def _plate(paper: Paper, template: PlateTemplate) -> None:
    """Write the pages of one plate."""
    wide, high = paper.wide_mm, paper.size.high_mm - 2 * paper.left_mm - 8.0 - HEAD_MM
    tiles = tiles_of(template, wide, high)
    paper.heading(f"Drilling template: {template.name}")
    for note in template.notes:
        paper.say(note)
    paper.say(f"{counted(len(tiles), 'page')} at full size. Print at 100 %, not fitted to the page.")
    paper.gap(8.0)
    _bar(paper)
    if len(tiles) > 1:
        _overview(paper, template, tiles, (wide, high))
    paper.gap(4.0)
    paper.table(HEAD, template.rows, (7, 9, 9, 11, 60))
    for number, tile in enumerate(tiles, start=1):
        _tile(paper, template, tile, (number, len(tiles)), high)


def _bar(paper: Paper) -> None:
    """Draw the bar that shows whether the paper has full size."""
    start = complex(paper.left_mm, -paper.y_mm - 2.0)
    for one in scale_bar(start):
        _draw(paper, one, 0j)
    paper.gap(5.0)


def _draw(paper: Paper, one: TemplateLine | TemplateText, origin: complex) -> None:
    """Draw a line or text; origin: the place on the paper, x right and y up, of the frame's origin, mm."""
    if isinstance(one, TemplateLine):
        points = [(point.real, -point.imag) for point in (origin + point for point in one.points)]
        dashed = one.layer == "centre"
        paper.line(points, COLOURS.get(one.layer, INK), WIDTHS[one.layer], dashed=dashed)
        return
    at = origin + one.at
    size = TEXT_MM / POINT_MM
    if one.upright:
        paper.words_upright(at.real, -at.imag, one.text, size)
    else:
        paper.words(at.real, -at.imag, one.text, size, align="middle")


def _overview(
    paper: Paper, template: PlateTemplate, tiles: tuple[TemplateTile, ...], size: tuple[float, float]
) -> None:
    """Draw the plate small, with the frame of each page and its number."""
    paper.gap(4.0)
    paper.need(OVERVIEW_MM + 10.0)
    low = complex(min(tile.low.real for tile in tiles), min(tile.low.imag for tile in tiles))
    top = max(tile.low.imag for tile in tiles) + size[1]
    right = max(tile.low.real for tile in tiles) + size[0]
    scale = min(OVERVIEW_MM / (top - low.imag), paper.wide_mm / (right - low.real))

    def placed(point: complex) -> tuple[float, float]:
        return paper.left_mm + scale * (point.real - low.real), paper.y_mm + scale * (top - point.imag)

    for line in (*template.lines, *(flat_circle(circle) for circle in template.circles)):
        if line.layer in {"outline", "hole", "seat"}:
            paper.line([placed(point) for point in line.points], INK, 0.15)
    for number, tile in enumerate(tiles, start=1):
        x, y = placed(tile.low + complex(0, size[1]))
        corners = [(x, y), (x + scale * size[0], y), (x + scale * size[0], y + scale * size[1])]
        corners += [(x, y + scale * size[1]), (x, y)]
        paper.line(corners, PALE, 0.2, dashed=True)
        foot = y + scale * size[1] - 2.0
        paper.words(x + scale * size[0] / 2, foot, f"page {number}", SMALL_PT, MUTED, align="middle")
    paper.gap(scale * (top - low.imag) + 2.0)


def _tile(
    paper: Paper, template: PlateTemplate, tile: TemplateTile, place: tuple[int, int], high_mm: float
) -> None:
    """Write one page at full size; place: which it is, and of how many."""
    paper.new_page()
    number, count = place
    which = f"page {number} of {count}: column {tile.column}, row {tile.row}" if count > 1 else "whole"
    paper.words(paper.left_mm, paper.y_mm + 4.0, f"{template.name}, {which}", SMALL_PT)
    joined = "Lay the crosses on those of the next page. " if count > 1 else ""
    told = f"{joined}Full size: the bar measures {BAR_MM:g} mm."
    paper.words(paper.left_mm, paper.y_mm + 8.0, told, SMALL_PT, MUTED)
    start = complex(paper.right_mm - BAR_MM, -paper.y_mm - 8.0)
    for one in scale_bar(start):
        if isinstance(one, TemplateLine):
            _draw(paper, one, 0j)
    origin = complex(paper.left_mm, -(paper.y_mm + HEAD_MM + high_mm)) - tile.low
    for line in tile.lines:
        _draw(paper, line, origin)
    for text in tile.texts:
        _draw(paper, text, origin)
