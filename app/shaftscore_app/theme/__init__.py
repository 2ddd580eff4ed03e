"""Colours, fonts, sizes, icons and the style sheet, all from the design's tokens."""

from shaftscore_app.theme.theme import (
    BASE_PX,
    SCALES,
    Boxes,
    Choice,
    Theme,
    icon_text,
    parse_color,
    program_icon,
    tokens,
)

__all__ = [
    "BASE_PX",
    "SCALES",
    "Boxes",
    "Choice",
    "Theme",
    "icon_text",
    "parse_color",
    "program_icon",
    "tokens",
]
