"""Paper of the build manual: sizes, margins, sizes of letters, colours.

Lengths are mm. Text is 8.5 pt, the least 7 pt.
"""

from __future__ import annotations

from dataclasses import dataclass

MARGIN_MM = 13.0
"""Margin on all sides: nothing is printed outside it."""

HEAD_MM, FOOT_MM = 9.0, 8.0
"""Heights kept for the head and the foot of a page, within the margins."""

TEXT_PT, CELL_PT, SMALL_PT = 8.5, 8.0, 7.0
"""Sizes of text, of tables, and the least."""

TITLE_PT, HEAD_PT, LEAD_PT, COVER_PT = 17.0, 11.0, 9.0, 26.0
"""Sizes of the title of a page, of headings in it, of the sentence below a title, of the name on the cover."""

TITLE_GAP_MM = 9.0
"""Room above the title of a section that is not at the top of its page."""

INK, MUTED, PALE, GREY = "#000000", "#555555", "#bbbbbb", "#ececf0"
"""Text, what is said beside it, lines of tables, and the ground of what changes."""

NOT_DESCRIBED = "not described yet"
"""In place of a figure that the project does not give."""


@dataclass(frozen=True)
class Size:
    """A size of paper, upright, mm."""

    name: str
    wide_mm: float
    high_mm: float

    @property
    def room_mm(self) -> tuple[float, float]:
        """Width and height of what a page holds between its margins, head and foot."""
        return self.wide_mm - 2 * MARGIN_MM, self.high_mm - 2 * MARGIN_MM - HEAD_MM - FOOT_MM


A4 = Size("A4", 210.0, 297.0)
"""ISO 216."""

LETTER = Size("Letter", 215.9, 279.4)
"""ANSI/ASME Y14.1, size A."""
