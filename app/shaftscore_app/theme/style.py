"""The style sheet: the little that palette and Fusion style do not say.

`resources/sheet.qss` names colours by token (`$accent_soft`) and sizes by px of the design (`${p24}`).
"""

from __future__ import annotations

from importlib.resources import files
from string import Template
from typing import Protocol


class Dress(Protocol):
    """What the sheet needs of a theme: colours as text, and sizes."""

    def css(self, token: str) -> str:
        """Return a token's colour as text."""
        ...

    def px(self, size: float) -> int:
        """Scale a size of the design."""
        ...


def style_sheet(theme: Dress) -> str:
    """Fill in the sheet for a theme and a text size. Raises KeyError for an unknown token in it."""
    sheet = Template(files("shaftscore_app.resources").joinpath("sheet.qss").read_text("utf-8"))
    return sheet.substitute({name: _value(theme, name) for name in sheet.get_identifiers()})


def _value(theme: Dress, name: str) -> str:
    if name[0] == "p" and name[1:].isdigit():
        return str(theme.px(int(name[1:])))
    return theme.css(name.replace("_", "-"))
