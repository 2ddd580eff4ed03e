"""Scenes as SVG files at their size on paper: width, height and viewBox in mm, so one unit is one mm.

Texts stay texts, in their stored order of letters: what shows the file puts them in visual order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from shaftscore.make.drawing.fonts import FAMILY, POINT_MM
from shaftscore.make.drawing.hatch import DOT_PT, SPACING_PT, hatch_dots, hatch_lines
from shaftscore.make.drawing.on_pdf import PAPER_COLOURS
from shaftscore.make.drawing.scene import (
    DASHES_PT,
    LINE_PT,
    Bounds,
    Corners,
    Mark,
    Path,
    Scene,
    Stroke,
    Text,
)


def svg_of(scene: Scene, title: str, scale: float = 1.0, margin_mm: float = 10.0) -> bytes:
    """Return a drawing as a file with a margin about it; scale: mm of paper for a mm of the drawing."""
    placed = scene.placed(scale)
    bounds = placed.bounds
    page = Bounds(
        bounds.left - margin_mm, bounds.bottom - margin_mm, bounds.right + margin_mm, bounds.top + margin_mm
    )
    view = " ".join(map(_n, (page.left, -page.top, page.wide, page.high)))
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(page.wide)}mm" height="{_n(page.high)}mm" '
        f'viewBox="{view}">',
        f"<title>{escape(title)}</title>",
        '<g fill="none" stroke-linejoin="round">',
        *(line for mark in placed.marks for line in _lines(mark)),
        "</g>",
        "</svg>",
        "",
    ]
    return "\n".join(lines).encode("utf-8")


def _lines(mark: Mark) -> Iterator[str]:
    if isinstance(mark, Text):
        yield _text(mark)
    elif mark.pattern is None:
        yield _path(mark)
    else:
        yield _path(mark, lined=False)
        yield from _pattern(mark)
        yield _path(mark, filled=False)


def _path(path: Path, *, lined: bool = True, filled: bool = True) -> str:
    looks = [f"class={quoteattr(path.name)}"] if path.name and lined else []
    if filled and path.fill is not None:
        looks += [f'fill="{PAPER_COLOURS[path.fill]}"', 'fill-rule="evenodd"']
    if lined and path.stroke is not None:
        looks += _line_looks(path.stroke)
    contours = " ".join(_data(contour, path.closed) for contour in (path.corners, *path.holes))
    return f'<path {" ".join([*looks, ""])}d="{contours}"/>'


def _line_looks(stroke: Stroke) -> list[str]:
    looks = [
        f'stroke="{PAPER_COLOURS[stroke.tone]}"',
        f'stroke-width="{_n(LINE_PT[stroke.weight] * POINT_MM)}"',
    ]
    dashes = " ".join(_n(length * POINT_MM) for length in DASHES_PT[stroke.dash])
    return [*looks, f'stroke-dasharray="{dashes}"'] if dashes else looks


def _data(corners: Corners, closed: bool) -> str:
    points = [f"{_n(corner.real)} {_n(-corner.imag)}" for corner in corners.tolist()]
    return f"M{points[0]}L{' '.join(points[1:])}{'Z' if closed else ''}"


def _pattern(path: Path) -> Iterator[str]:
    stroke = Stroke((path.stroke or Stroke()).tone, "hair")
    spacing = SPACING_PT * POINT_MM
    lines = " ".join(_data(line, False) for line in hatch_lines(path, spacing))
    if lines:
        yield f'<path class="pattern" {" ".join(_line_looks(stroke))} d="{lines}"/>'
    for dot in hatch_dots(path, spacing).tolist():
        yield (
            f'<circle class="pattern" cx="{_n(dot.real)}" cy="{_n(-dot.imag)}" '
            f'r="{_n(DOT_PT * POINT_MM / 2)}" fill="{PAPER_COLOURS[stroke.tone]}"/>'
        )


def _text(text: Text) -> str:
    x, y = _n(text.at.real), _n(-text.at.imag)
    looks = [f'x="{x}" y="{y}"', f'font-size="{_n(text.size_pt * POINT_MM)}"']
    looks += [f'font-family="{FAMILY}, sans-serif"', f'text-anchor="{text.anchor}"']
    looks += ['font-weight="bold"'] if text.bold else []
    looks += [f'transform="rotate({_n(-text.turned_deg)} {x} {y})"'] if text.turned_deg else []
    return f'<text {" ".join(looks)} fill="{PAPER_COLOURS[text.tone]}">{escape(text.text)}</text>'


def _n(value: float) -> str:
    """Return a number with five decimals at most, never as minus zero."""
    if not math.isfinite(value):
        raise ValueError(f"no place in a drawing: {value!r}")
    return f"{round(value, 5) + 0.0:.5f}".rstrip("0").rstrip(".")
