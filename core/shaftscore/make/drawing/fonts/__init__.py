"""The letters of paper: one family, upright and bold, with widths, breaks of lines and the order of letters.

The files and their licence lie in this folder. Texts come as they are stored; `visual` puts the letters of
one line in the order in which they are painted from left to right (Unicode Standard Annex 9), and joins
Arabic letters. Only a back end that places letters one by one calls it; a screen and a browser do it
themselves.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterable
from functools import cache
from importlib.resources import files

POINT_MM = 25.4 / 72.0
"""A typographic point of a PDF, mm."""

FAMILY = "DejaVu Sans"
"""The family, as other programs name it."""

FONT, BOLD = "DejaVuSans", "DejaVuSans-Bold"
"""Names of the two faces in a PDF, and of their files."""

MISSING = "\ufffd"
"""Stands for a character that the font does not have."""

_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN", "RLE", "RLO", "RLI"})


@cache
def glyphs(bold: bool = False) -> frozenset[int]:
    """Return the code points that a face has; registers the face with the PDF library when first called."""
    # reportlab is loaded where a drawing is painted: `check` does without it.
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    name = BOLD if bold else FONT
    data = (files(__package__) / f"{name}.ttf").read_bytes()
    font = TTFont(name, io.BytesIO(data))
    pdfmetrics.registerFont(font)
    return frozenset(font.face.charToGlyph)


def face(bold: bool = False) -> str:
    """Return the name of a face that the PDF library knows from then on."""
    glyphs(bold)
    return BOLD if bold else FONT


def register() -> None:
    """Make both faces known to the PDF library, as one family with a bold face."""
    # As above: loaded where a drawing is painted.
    from reportlab.pdfbase.pdfmetrics import registerFontFamily

    registerFontFamily(face(), normal=face(), bold=face(True), italic=face(), boldItalic=face(True))


def written(text: str, bold: bool = False) -> str:
    """Return a text as a face can write it: white space as spaces, what it has not as the sign for that."""
    there = glyphs(bold)
    plain = " ".join(text.split())
    return "".join(letter if ord(letter) in there else MISSING for letter in plain)


def missing_letters(texts: Iterable[str]) -> str:
    """Return the characters that the font does not have, each once, in order of their code points."""
    there = glyphs()
    used = {letter for text in texts for letter in text if not letter.isspace()}
    return "".join(sorted(letter for letter in used if ord(letter) not in there))


def visual(text: str) -> str:
    """Return the letters of one line in the order in which they are painted, Arabic ones joined."""
    if not any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in text):
        return text
    # Loaded for the few names that need it.
    from arabic_reshaper import ArabicReshaper
    from bidi import get_display

    joined = ArabicReshaper({"delete_harakat": False}).reshape(text)
    return str(get_display(joined))


def width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Return the width of a text in one line, mm."""
    # As above: loaded where a drawing is painted.
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(visual(text), face(bold), size_pt)) * POINT_MM


def wrapped(text: str, size_pt: float, wide_mm: float, bold: bool = False) -> list[str]:
    """Break a text into lines of at most `wide_mm`, at spaces where it can be; at least one line."""
    lines: list[str] = []
    line = ""
    for word in written(text, bold).split(" "):
        joined = f"{line} {word}".strip()
        if width_mm(joined, size_pt, bold) <= wide_mm:
            line = joined
            continue
        if line:
            lines.append(line)
        *whole, line = _chopped(word, size_pt, wide_mm, bold)
        lines += whole
    return [*lines, line]


def shortened(text: str, size_pt: float, wide_mm: float, bold: bool = False) -> str:
    """Return a text that has room in `wide_mm`: itself, or its beginning with an ellipsis, or nothing."""
    plain = written(text, bold)
    if width_mm(plain, size_pt, bold) <= wide_mm:
        return plain
    for count in range(len(plain) - 1, 0, -1):
        cut = plain[:count].rstrip() + "…"
        if width_mm(cut, size_pt, bold) <= wide_mm:
            return cut
    return ""


def _chopped(word: str, size_pt: float, wide_mm: float, bold: bool) -> list[str]:
    """Cut a word that is wider than a line into pieces that are not (one letter each at the least)."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_mm(pieces[-1] + letter, size_pt, bold) > wide_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces
