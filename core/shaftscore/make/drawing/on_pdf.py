"""Scenes on paper: paints a drawing on a canvas of the PDF library at a scale and a place.

Lengths of paper are mm from the lower left corner of the canvas as it is now (of a flowable: its own), y up.
Nothing here has a clock or a random name in it: the same drawing gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np

from shaftscore.make.drawing.fonts import POINT_MM, face, visual, written
from shaftscore.make.drawing.hatch import DOT_PT, SPACING_PT, hatch_dots, hatch_lines
from shaftscore.make.drawing.scene import DASHES_PT, LINE_PT, Corners, Path, Scene, Stroke, Text, Tone

PAPER_COLOURS: dict[Tone, str] = {
    "ink": "#000000",
    "muted": "#555555",
    "pale": "#bbbbbb",
    "paper": "#ffffff",
    "face": "#f4f4f6",
    "shade": "#d8d8de",
    "new": "#43329f",
    "new-face": "#e5dffb",
    "new-shade": "#b9adeb",
    "error": "#a01818",
    "warning": "#8a5c00",
    "level-0": "#dedee4",
    "level-1": "#7fd0b8",
    "level-2": "#a3c6ea",
    "level-3": "#ffc4d0",
    "level-4": "#d2dc78",
    "level-5": "#f4b095",
}
"""Colour of each tone on paper; in greys ink, faces and paper keep their order, and levels have patterns."""

NEAR_PT = 0.12
"""Corners that lie in one square of this side are one, points."""

_EVEN_ODD = 0
"""The library's sign of the rule by which holes stay empty."""

# Any below: the library has no types of its own.


def paint_scene(canvas: Any, scene: Scene, scale: float = 1.0, offset_mm: complex = 0j) -> None:
    """Paint a drawing on a canvas of the PDF library.

    scale: mm of paper for a mm of the drawing. offset_mm: where the drawing's origin comes, x + iy.
    """
    per_unit = scale / POINT_MM
    canvas.saveState()
    canvas.translate(offset_mm.real / POINT_MM, offset_mm.imag / POINT_MM)
    canvas.setLineJoin(1)
    canvas.setLineCap(0)
    paths = [mark for mark in scene.marks if isinstance(mark, Path)]
    traced = iter(_traced([path.corners for path in paths], per_unit))
    for mark in scene.marks:
        if isinstance(mark, Text):
            _write(canvas, mark, per_unit)
        else:
            _paint(canvas, mark, per_unit, next(traced))
    canvas.restoreState()


def pdf_of(scene: Scene, title: str, margin_mm: float = 10.0) -> bytes:
    """Return a drawing at full size as a file of one page, as large as the drawing with a margin, mm."""
    bounds = scene.bounds
    size = (bounds.wide + 2 * margin_mm, bounds.high + 2 * margin_mm)
    return pdf_pages([scene], title, size, complex(margin_mm - bounds.left, margin_mm - bounds.bottom))


def pdf_pages(
    scenes: Sequence[Scene], title: str, size_mm: tuple[float, float], offset_mm: complex = 0j
) -> bytes:
    """Return drawings in mm of paper as a file, a page each; offset_mm: where their origins come."""
    # Loaded where a drawing is painted: `check` does without it.
    from reportlab.pdfgen.canvas import Canvas

    file = io.BytesIO()
    page = (size_mm[0] / POINT_MM, size_mm[1] / POINT_MM)
    canvas = Canvas(file, pagesize=page, invariant=1, pageCompression=1)
    canvas.setTitle(written(title))
    canvas.setCreator("Shaftscore")
    for one in scenes:
        paint_scene(canvas, one, 1.0, offset_mm)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


@cache
def _colour(tone: Tone) -> Any:
    """Return the colour of a tone as the library has it."""
    from reportlab.lib.colors import HexColor  # loaded where a drawing is painted

    return HexColor(PAPER_COLOURS[tone])


def _paint(canvas: Any, path: Path, per_unit: float, contour: str) -> None:
    """Paint fill and line in one go, unless a pattern comes between them; contour: how its corners go."""
    if path.fill is None and path.stroke is None and path.pattern is None:
        return
    end = " h" if path.closed else ""
    outline = " ".join(f"{one}{end}" for one in (contour, *_traced(path.holes, per_unit)))
    if path.pattern is None:
        _outline(canvas, outline, path.fill, path.stroke)
        return
    _outline(canvas, outline, path.fill, None)
    _pattern(canvas, path, per_unit)
    _outline(canvas, outline, None, path.stroke)


def _outline(canvas: Any, outline: str, fill: Tone | None, stroke: Stroke | None) -> None:
    if fill is None and stroke is None:
        return
    drawn = canvas.beginPath()
    drawn._code = ["n", outline]
    codes = (*(_fill_code(fill) if fill else ()), *(_line_code(stroke) if stroke else ()))
    canvas._code.extend(codes)
    canvas.drawPath(drawn, stroke=int(stroke is not None), fill=int(fill is not None), fillMode=_EVEN_ODD)


def _traced(contours: Sequence[Corners], per_unit: float) -> list[str]:
    """Return how contours go, points, without corners that nobody could tell from the one before.

    The library writes number by number, which takes most of the time of a page; lines are written at once,
    and all corners of a drawing are looked at together.
    """
    if not contours:
        return []
    corners, counts = np.concatenate(contours) * per_unit, np.array([len(one) for one in contours])
    ends = np.cumsum(counts)
    cells = np.round(corners / NEAR_PT)
    kept = np.ones(len(corners), np.bool_)
    kept[1:] = cells[1:] != cells[:-1]
    kept[ends - counts] = kept[ends - 1] = True
    numbers = corners[kept].view(np.float64).tolist()
    last = (2 * np.cumsum(kept)[ends - 1]).tolist()
    return [_template((end - start) // 2) % tuple(numbers[start:end]) for start, end in pairwise([0, *last])]


@cache
def _template(count: int) -> str:
    """Return how a contour of so many corners is written."""
    return "%.2f %.2f m" + " %.2f %.2f l" * (count - 1)


@cache
def _fill_code(tone: Tone) -> tuple[str, ...]:
    """Return what the library writes to fill in a tone."""
    return _written_by(lambda canvas: canvas.setFillColor(_colour(tone)))


@cache
def _line_code(stroke: Stroke) -> tuple[str, ...]:
    """Return what the library writes to draw a line."""
    return _written_by(lambda canvas: _set_line(canvas, stroke))


def _written_by(act: Callable[[Any], object]) -> tuple[str, ...]:
    """Return what the library writes for an act that depends on nothing else: it takes long to say it."""
    from reportlab.pdfgen.canvas import Canvas  # loaded where a drawing is painted

    canvas = Canvas(io.BytesIO())
    before = len(canvas._code)
    act(canvas)
    return tuple(canvas._code[before:])


def _set_line(canvas: Any, stroke: Stroke) -> None:
    canvas.setStrokeColor(_colour(stroke.tone))
    canvas.setLineWidth(LINE_PT[stroke.weight])
    canvas.setDash(list(DASHES_PT[stroke.dash]))


def _pattern(canvas: Any, path: Path, per_unit: float) -> None:
    """Paint the pattern of a face in the tone of its line."""
    stroke = path.stroke or Stroke()
    _set_line(canvas, Stroke(stroke.tone, "hair"))
    spacing = SPACING_PT / per_unit
    lines = canvas.beginPath()
    hatched = list(hatch_lines(path, spacing))
    lines._code = ["n", *_traced(hatched, per_unit)] if hatched else []
    canvas.drawPath(lines, stroke=1, fill=0)
    canvas.setFillColor(_colour(stroke.tone))
    for dot in (hatch_dots(path, spacing) * per_unit).tolist():
        canvas.circle(dot.real, dot.imag, DOT_PT / 2.0, stroke=0, fill=1)


def _write(canvas: Any, text: Text, per_unit: float) -> None:
    draw = {"start": "drawString", "end": "drawRightString", "middle": "drawCentredString"}[text.anchor]
    at = text.at * per_unit
    canvas.saveState()
    canvas.translate(at.real, at.imag)
    if text.turned_deg:
        canvas.rotate(text.turned_deg)
    canvas.setFont(face(text.bold), text.size_pt)
    canvas.setFillColor(_colour(text.tone))
    getattr(canvas, draw)(0, 0, visual(written(text.text, text.bold)))
    canvas.restoreState()
