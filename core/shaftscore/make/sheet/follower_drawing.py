"""The drawing of a follower as a file at its true size: SVG, DXF or PDF, one unit one mm.

A PDF has one page as large as the drawing, so that it is printed at 100 % on a large sheet or as a poster.
"""

from __future__ import annotations

from xml.sax.saxutils import escape

from shaftscore.make.drawing.follower import DrawingSheet
from shaftscore.make.drawing.fonts import POINT_MM
from shaftscore.make.drawing.on_dxf import new_drawing, written_drawing
from shaftscore.make.sheet.paper import Paper, PaperSize
from shaftscore.stack.followers import Points

KINDS = ("svg", "dxf", "pdf")
"""Formats, by the ending of the file."""

DASHED = ("base", "ghost")
"""Shapes that are drawn dashed."""

TEXT_MM = 3.0
"""Height of the numbers."""

COLOURS = {"dimension": 5, "base": 8, "ghost": 8, "frame": 3, "spring": 4}
"""Colours of layers in the DXF format's index; others are black."""


def drawing_bytes(sheet: DrawingSheet, title: str, kind: str) -> bytes:
    """Write a drawing in one of KINDS; raises ValueError for another one."""
    if kind == "svg":
        return _svg(sheet, title)
    if kind == "dxf":
        return _dxf(sheet)
    if kind == "pdf":
        return _pdf(sheet, title)
    raise ValueError(f"a drawing is written as {', '.join(KINDS)}, not as {kind}")


def _svg(sheet: DrawingSheet, title: str) -> bytes:
    size = sheet.high - sheet.low
    lines = []
    for kind, points, closed in sheet.lines:
        data = " ".join(f"{_n(point.real)},{_n(-point.imag)}" for point in points)
        dashes = ' stroke-dasharray="3 2"' if kind in DASHED else ""
        wide = "0.15" if kind in ("dimension", *DASHED) else "0.3"
        tag = "polygon" if closed else "polyline"
        lines.append(f'<{tag} class="{kind}" stroke-width="{wide}"{dashes} points="{data}"/>')
    texts = [
        f'<text x="{_n(at.real)}" y="{_n(-at.imag)}" font-size="{TEXT_MM}" text-anchor="middle" '
        f'font-family="sans-serif" stroke="none" fill="#000000">{escape(text)}</text>'
        for text, at in sheet.texts
    ]
    text = "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(size.real)}mm" height="{_n(size.imag)}mm" '
            f'viewBox="{_n(sheet.low.real)} {_n(-sheet.high.imag)} {_n(size.real)} {_n(size.imag)}">',
            f"<title>{escape(title)}</title>",
            '<g fill="none" stroke="#000000">',
            *lines,
            *texts,
            "</g>",
            "</svg>",
            "",
        ]
    )
    return text.encode("utf-8")


def _n(value: float) -> str:
    return f"{value + 0.0:.4f}".rstrip("0").rstrip(".")


def _dxf(sheet: DrawingSheet) -> bytes:
    layers = {kind: (COLOURS.get(kind, 7), kind in DASHED) for kind, _, _ in sheet.lines}
    with new_drawing({**layers, "dimension": (5, False)}) as document:
        space = document.modelspace()
        for kind, points, closed in sheet.lines:
            space.add_lwpolyline(_pairs(points), close=closed, dxfattribs={"layer": kind})
        for text, at in sheet.texts:
            entity = space.add_text(text, height=TEXT_MM, dxfattribs={"layer": "dimension"})
            entity.set_placement((at.real, at.imag))
        return written_drawing(document)


def _pairs(points: Points) -> list[tuple[float, float]]:
    return [(float(point.real), float(point.imag)) for point in points]


def _pdf(sheet: DrawingSheet, title: str) -> bytes:
    size = sheet.high - sheet.low
    paper = Paper(PaperSize("drawing", size.real, size.imag + 10.0), title, title)
    for kind, points, closed in sheet.lines:
        ring = [*points, points[0]] if closed else [*points]
        placed = [(point.real - sheet.low.real, sheet.high.imag - point.imag) for point in ring]
        paper.line(placed, width=0.15 if kind in ("dimension", *DASHED) else 0.3, dashed=kind in DASHED)
    for text, at in sheet.texts:
        place = at - complex(sheet.low.real, sheet.high.imag)
        paper.words(place.real, -place.imag, text, TEXT_MM / POINT_MM, align="middle")
    return paper.finished()
