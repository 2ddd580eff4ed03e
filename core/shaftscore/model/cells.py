"""Texts in cells that a spreadsheet will read: it takes what begins with = + - @ for a formula, and runs it.

Such a text gets an apostrophe in front, which spreadsheets take for "this is text" (common practice, and the
advice of OWASP on CSV injection, which also names tabs, line ends and the full-width signs). Only texts are
written so; numbers are not, and a negative one stays a number.
"""

from __future__ import annotations

import re

_SIGNS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_FORMULA = re.compile(rf"'*[{_SIGNS}]")
_QUOTED = re.compile(rf"'+[{_SIGNS}]")


def text_cell(text: str) -> str:
    """Return a text as a cell holds it that stays a text: with an apostrophe in front where need be."""
    return f"'{text}" if _FORMULA.match(text) else text


def cell_text(cell: str) -> str:
    """Return the text of a cell that `text_cell` may have written."""
    return cell[1:] if _QUOTED.match(cell) else cell
