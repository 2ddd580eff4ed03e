"""Paper of the build manual: sizes, margins, sizes of letters, colours.

Lengths are mm. Text is 8.5 pt, the least 7 pt.
"""

from __future__ import annotations

from shaftscore.make.drawing.paper_sizes import PaperSize

MARGIN_MM = 13.0
"""Margin on all sides: nothing is printed outside it."""

HEAD_MM, FOOT_MM = 9.0, 8.0
"""Heights kept for the head and the foot of a page, within the margins."""

TEXT_PT, CELL_PT, SMALL_PT = 8.5, 8.0, 7.0
"""Sizes of text, of tables, and the least."""

TITLE_PT, HEAD_PT, LEAD_PT, COVER_PT = 17.0, 11.0, 9.0, 26.0
"""Sizes of the title of a page, of headings in it, of the sentence below a title, of the cover’s name."""

TITLE_GAP_MM = 9.0
"""Room above the title of a section that is not at the top of its page."""

INK, MUTED, PALE, GREY = "#000000", "#555555", "#bbbbbb", "#ececf0"
"""Text, what is said beside it, lines of tables, and the ground of what changes."""

NOT_DESCRIBED = "not described yet"
"""In place of a figure that the project does not give."""


def room_mm(size: PaperSize) -> tuple[float, float]:
    """Return width and height of what a page holds between its margins, head and foot, mm."""
    return size.wide_mm - 2 * MARGIN_MM, size.high_mm - 2 * MARGIN_MM - HEAD_MM - FOOT_MM
