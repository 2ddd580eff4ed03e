"""Texts of the manual as the PDF library's paragraphs: safe, bold where they name something, with a style."""

from __future__ import annotations

from functools import cache
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_CENTER, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from shaftscore.make.drawing.fonts import POINT_MM, face, register, visual, wrapped, written
from shaftscore.make.manual.paper import (
    CELL_PT,
    COVER_PT,
    HEAD_PT,
    INK,
    LEAD_PT,
    MUTED,
    SMALL_PT,
    TEXT_PT,
    TITLE_GAP_MM,
    TITLE_PT,
)

LEADING = 1.3
"""Distance of lines over the size of the letters."""

_STYLES: dict[str, dict[str, Any]] = {
    "cover": {"size": COVER_PT, "bold": True},
    "title": {"size": TITLE_PT, "bold": True, "before": TITLE_GAP_MM / POINT_MM},
    "lead": {"size": LEAD_PT, "colour": MUTED},
    "head": {"size": HEAD_PT, "bold": True},
    "name": {"size": TEXT_PT, "bold": True},
    "text": {"size": TEXT_PT},
    "white": {"size": TEXT_PT, "colour": "#ffffff"},
    "muted": {"size": TEXT_PT, "colour": MUTED},
    "fact": {"size": 11.0, "bold": True},
    "cell": {"size": CELL_PT},
    "cell-bold": {"size": CELL_PT, "bold": True},
    "cell-muted": {"size": CELL_PT, "colour": MUTED},
    "number": {"size": CELL_PT, "align": TA_RIGHT},
    "number-bold": {"size": CELL_PT, "bold": True, "align": TA_RIGHT},
    "column": {"size": SMALL_PT, "colour": MUTED},
    "column-right": {"size": SMALL_PT, "colour": MUTED, "align": TA_RIGHT},
    "small": {"size": SMALL_PT},
    "small-bold": {"size": SMALL_PT, "bold": True},
    "small-muted": {"size": SMALL_PT, "colour": MUTED},
    "small-right": {"size": SMALL_PT, "colour": MUTED, "align": TA_RIGHT},
    "small-number-plain": {"size": SMALL_PT, "align": TA_RIGHT},
    "small-number-plain-bold": {"size": SMALL_PT, "bold": True, "align": TA_RIGHT},
    "small-number": {"size": SMALL_PT, "bold": True, "align": TA_RIGHT},
    "small-middle": {"size": SMALL_PT, "align": TA_CENTER},
}


@cache
def style(name: str) -> Any:
    """Return a style by its purpose. Raises KeyError for an unknown one."""
    register()
    given = _STYLES[name]
    size = given["size"]
    return ParagraphStyle(
        name,
        fontName=face(given.get("bold", False)),
        fontSize=size,
        leading=size * LEADING,
        textColor=given.get("colour", INK),
        alignment=given.get("align", 0),
        spaceBefore=given.get("before", 0.0),
        splitLongWords=1,
        embeddedHyphenation=0,
    )


def said(text: str) -> str:
    """Return a text as markup: what it holds is never taken for markup itself."""
    return escape(visual(written(text)).replace(" > ", "\u00a0> "))


def bold(text: str) -> str:
    """Return a text as bold markup."""
    return f"<b>{said(text)}</b>"


def muted(text: str) -> str:
    """Return a text as markup in the colour of what is said beside another."""
    return f'<font color="{MUTED}">{said(text)}</font>'


def para(markup: str, name: str = "text") -> Any:
    """Return a paragraph of markup."""
    made = Paragraph(markup or " ", style(name))
    made.letters = len(markup)
    return made


def plain_para(text: str, name: str = "text") -> Any:
    """Return a paragraph of a text."""
    if visual(text) == text:
        return para(said(text), name)
    return _TurnedParagraph(text, name)


class _TurnedParagraph(Paragraph):  # type: ignore[misc]
    """A paragraph with letters from right to left: cut into lines as it is read, each then painted turned."""

    def __init__(self, text: str, name: str) -> None:
        super().__init__(said(text), style(name))
        self.letters = len(text)
        self._text, self._bold = text, _STYLES[name].get("bold", False)

    def wrap(self, wide: float, high: float) -> Any:
        """Return the width and height that it takes, points."""
        lines = wrapped(self._text, self.style.fontSize, wide * POINT_MM, self._bold)
        super().__init__("<br/>".join(said(line) for line in lines), self.style)
        return super().wrap(wide, high)
