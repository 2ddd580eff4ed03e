"""SVG of a part in plan view at its true size: width, height and viewBox in mm, so one unit is one mm.

Layers and shapes are those of `make.drawing.plan_view`; arcs are true arcs. A bar of 50 mm beside the part
shows whether a printer of paper kept the size (96 user units of a browser are one inch of 25.4 mm).
"""

from __future__ import annotations

import math
from xml.sax.saxutils import escape, quoteattr

from shaftscore.make.drawing.plan_view import LAYERS, OVERHANG_MM, PlanLine, lines_of, reach_mm
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.strokes import text_strokes
from shaftscore.stack.paths import arc_radius

COLOURS = {
    "cut": "#000000",
    "groove": "#009e73",
    "mark": "#0072b2",
    "dog": "#cc79a7",
    "step": "#56b4e9",
    "centre": "#888888",
}
"""Colours of the layers, of the palette of Okabe and Ito where they are not grey."""

HAIR_MM = 0.1
"""Width of lines."""

BAR_MM, BAR_ROOM_MM = 50.0, 10.0
"""Length of the bar, and the height kept for it below the part."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a drawing a part."""
    return [
        Planned(f"{item.stem}.svg", "svg", (item,), lambda part=item.part: svg_bytes(part))  # type: ignore[misc]
        for item in order.items
    ]


def svg_bytes(part: MadePart) -> bytes:
    """Draw a part; same part, same bytes."""
    half = math.ceil(max(reach_mm(part), BAR_MM / 2) + OVERHANG_MM + 1.0)
    wide, high = 2 * half, 2 * half + BAR_ROOM_MM
    groups = [_group(layer, [line for line in lines_of(part) if line.layer == layer]) for layer in LAYERS]
    bar = _group("scale", list(_bar(-half - 4.0)))
    text = "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}mm" height="{_n(high)}mm" '
            f'viewBox="{_n(-half)} {_n(-half)} {_n(wide)} {_n(high)}">',
            f"<title>{escape(f'{part.code} {part.label}'.strip())}</title>",
            *filter(None, [*groups, bar]),
            "</svg>",
            "",
        ]
    )
    return text.encode("utf-8")


def _group(layer: str, lines: list[PlanLine]) -> str:
    if not lines:
        return ""
    dashes = ' stroke-dasharray="6 1.5 1 1.5"' if layer == "centre" else ""
    colour = COLOURS.get(layer, "#000000")
    head = f'<g id={quoteattr(layer)} fill="none" stroke="{colour}" stroke-width="{HAIR_MM}"'
    return "\n".join([f"{head}{dashes}>", *(f'<path d="{_path(line)}"/>' for line in lines), "</g>"])


def _path(line: PlanLine) -> str:
    """Return the path data of a line; y points down in SVG, so arcs run the other way round."""
    words = [f"M{_point(line.vertices[0])}"]
    ends = (*line.vertices[1:], line.vertices[0]) if line.closed else line.vertices[1:]
    for start, end, bulge in zip(line.vertices, ends, line.bulges, strict=False):
        if bulge == 0:
            words.append(f"L{_point(end)}")
        else:
            radius, large = _n(arc_radius(start, end, bulge)), int(abs(bulge) > 1)
            words.append(f"A{radius} {radius} 0 {large} {int(bulge < 0)} {_point(end)}")
    return " ".join(words) + ("Z" if line.closed else "")


def _point(point: complex) -> str:
    return f"{_n(point.real)} {_n(-point.imag)}"


def _n(value: float) -> str:
    """Return a number with five decimals at most, never as minus zero."""
    if not math.isfinite(value):
        raise ValueError(f"no place in a drawing: {value!r}")
    return f"{round(value, 5) + 0.0:.5f}".rstrip("0").rstrip(".")


def _bar(y: float) -> list[PlanLine]:
    """Draw the bar with its ticks and the number 50."""
    left, right = complex(-BAR_MM / 2, y), complex(BAR_MM / 2, y)
    pieces = [(left, right), (left - 1.5j, left + 1.5j), (right - 1.5j, right + 1.5j)]
    strokes = [tuple(map(complex, stroke + 1j * (y - 3.0))) for stroke in text_strokes("50MM", 2.5)]
    return [PlanLine("scale", piece, (0.0,) * len(piece), closed=False) for piece in [*pieces, *strokes]]
