"""Dimension lines of pictures: help lines, arrows at both ends, and the number on paper-white ground.

Lengths are mm on paper.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Stroke, Text, Tone

MEASURE_PT = 7.5
"""Size of numbers."""

HEAD_MM = 2.2
"""Length of an arrow's head."""

SHORT_MM = 9.0
"""A dimension that is shorter has its arrows outside and its number beside it."""

LINE = Stroke("muted", "hair")
"""Dimension and help lines."""


def measured(start: complex, end: complex, aside: complex, text: str) -> Iterator[Mark]:
    """Yield a dimension between two points; aside: from them to its line, mm on paper."""
    low, high = start + aside, end + aside
    out = aside / abs(aside) if abs(aside) > 0 else 0j
    if out:
        yield Path(np.array([start + out, low + out]), LINE)
        yield Path(np.array([end + out, high + out]), LINE)
    yield Path(np.array([low, high]), LINE)
    way = (high - low) / abs(high - low)
    if abs(high - low) < SHORT_MM:
        yield from _short(low, high, out or 1j * way, text)
        return
    for tip, back in ((low, way), (high, -way)):
        yield _head(tip, back)
    turned = float(np.degrees(np.angle(way)))
    if not -90.0 < turned <= 90.0 - 1e-9:
        turned += 180.0 if turned < 0 else -180.0
    if abs(abs(turned) - 90.0) < 1e-6:
        turned = 90.0
    yield from grounded((low + high) / 2, text, MEASURE_PT, turned_deg=turned)


def _short(low: complex, high: complex, out: complex, text: str) -> Iterator[Mark]:
    """Yield arrows from outside and the number beside them, for a length with no room between."""
    way = (high - low) / abs(high - low)
    for tip, back in ((low, -way), (high, way)):
        yield _head(tip, back)
        yield Path(np.array([tip, tip + 1.7 * HEAD_MM * back]), LINE)
    half = complex(width_mm(text, MEASURE_PT) / 2 + 1.4, 0.5 * MEASURE_PT * POINT_MM + 1.0)
    yield from grounded(
        (low + high) / 2 + complex(half.real * out.real, half.imag * out.imag), text, MEASURE_PT
    )


def _head(tip: complex, back: complex) -> Path:
    sides = (tip + HEAD_MM * back * (1 + 0.18j), tip + HEAD_MM * back * (1 - 0.18j))
    return Path(np.array([tip, *sides]), None, True, fill="muted")


def grounded(
    middle: complex,
    text: str,
    size_pt: float,
    *,
    bold: bool = False,
    turned_deg: float = 0.0,
    tone: Tone = "ink",
) -> Iterator[Mark]:
    """Yield a text about a point, on a piece of paper-white ground; turned_deg: counterclockwise."""
    half = complex(width_mm(text, size_pt, bold) / 2 + 0.6, 0.5 * size_pt * POINT_MM)
    turn = np.exp(1j * np.radians(turned_deg))
    corners = np.array([-half, half.conjugate(), half, -half.conjugate()])
    yield Path(middle + turn * corners, None, True, fill="paper")
    base = middle - turn * 0.36j * size_pt * POINT_MM
    yield Text(complex(base), text, size_pt, "middle", tone, bold, turned_deg)
