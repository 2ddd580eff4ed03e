"""How much room letters take on paper, for pictures that keep labels apart."""

from __future__ import annotations

import unicodedata

POINT_MM = 25.4 / 72
"""A point, mm."""

LINE_SHARE = 1.3
"""Distance of two lines of text over the size of their letters."""

NARROW, WIDE, BOLD = 0.58, 1.05, 1.08
"""Width of a letter over its size, at most in the middle; of wide scripts; and how much bold adds."""


def text_wide_mm(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Return the width that a text takes on paper at most, mm."""
    letters = sum(WIDE if unicodedata.east_asian_width(one) in "WF" else NARROW for one in text)
    return letters * size_pt * POINT_MM * (BOLD if bold else 1.0)


def line_high_mm(size_pt: float) -> float:
    """Return the distance of two lines of text, mm."""
    return size_pt * POINT_MM * LINE_SHARE


def shortened(text: str, size_pt: float, wide_mm: float, *, bold: bool = False) -> str:
    """Return a text cut with an ellipsis where it is wider than there is room, mm."""
    if text_wide_mm(text, size_pt, bold=bold) <= wide_mm:
        return text
    kept = text
    while kept and text_wide_mm(f"{kept}…", size_pt, bold=bold) > wide_mm:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"
