"""Letters, digits and a hyphen of our own, drawn as strokes, for the marks on discs.

A glyph is a set of polylines on a grid 4 wide and 6 high, origin at its lower left. Strokes have round
ends and one width, so that a nozzle, an engraver and a laser can all follow them. The digit 0 carries
a slash, so that it is not read as the letter O.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Polyline = npt.NDArray[np.complex128]
"""Points of one stroke, x + iy, mm."""

GRID_WIDTH, GRID_HEIGHT, ADVANCE = 4.0, 6.0, 5.8
"""Size of a glyph's grid, and the step from one glyph to the next."""

_GLYPHS: dict[str, str] = {
    "0": "10 30 41 45 36 16 05 01 10 / 1.0,1.8 3.0,4.2",
    "1": "0.7,4.7 26 20 / 0.7,0 3.3,0",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 3,3.2 1.6,3.2 / 3,3.2 42 41 30 10 01",
    "4": "30 36 02 42",
    "5": "46 06 0,3.5 3,3.5 4,2.5 41 30 10 01",
    "6": "45 36 16 05 01 10 30 41 4,2.5 3,3.5 1,3.5 0,2.5",
    "7": "06 46 1.4,0",
    "8": "1,3.2 0,4.1 05 16 36 45 4,4.1 3,3.2 1,3.2 0,2.3 01 10 30 41 4,2.3 3,3.2",
    "9": "01 10 30 41 45 36 16 05 0,3.5 1,2.5 3,2.5 4,3.5",
    "A": "00 26 40 / 0.73,2.2 3.27,2.2",
    "B": "00 06 36 45 44 3,3.2 0,3.2 / 3,3.2 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 2.6,6 4,4.6 4,1.4 2.6,0 00",
    "E": "40 00 06 46 / 0,3.2 3,3.2",
    "F": "00 06 46 / 0,3.2 3,3.2",
    "G": "45 36 16 05 01 10 30 41 4,2.8 2.4,2.8",
    "H": "00 06 / 40 46 / 0,3.1 4,3.1",
    "I": "1,0 3,0 / 20 26 / 1,6 3,6",
    "J": "01 10 2.4,0 3.4,1 3.4,6 / 1.6,6 3.4,6",
    "K": "00 06 / 46 0,2.4 / 1.45,3.7 40",
    "L": "06 00 40",
    "M": "00 06 2,2.6 46 40",
    "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "00 06 36 45 4,3.8 3,2.8 0,2.8",
    "Q": "10 30 41 45 36 16 05 01 10 / 2.4,1.7 40",
    "R": "00 06 36 45 4,3.9 3,2.9 0,2.9 / 2.2,2.9 40",
    "S": "45 36 16 05 0,4.2 1,3.2 3,3.2 4,2.2 41 30 10 01",
    "T": "06 46 / 26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 2,3.4 30 46",
    "X": "00 46 / 06 40",
    "Y": "06 2,3 46 / 2,3 20",
    "Z": "06 46 00 40",
    "-": "0.6,3 3.4,3",
}
"""Points are two digits (x, y) or `x,y`; a slash begins the next stroke."""

LETTERS = frozenset(_GLYPHS)
"""Characters that can be drawn."""


@dataclass(frozen=True)
class TextPlace:
    """Where a line of text is on a face: its middle and the height of its letters, mm; it reads along +x."""

    middle: complex
    height_mm: float

    def strokes(self, text: str) -> tuple[Polyline, ...]:
        """Return the strokes of a text there; raises ValueError for a character that has no glyph."""
        return tuple(np.asarray(stroke + self.middle) for stroke in text_strokes(text, self.height_mm))


def text_width(text: str) -> float:
    """Width of a line of text in units of the grid, from the first stroke to the last."""
    return ADVANCE * (len(text) - 1) + GRID_WIDTH if text else 0.0


def text_strokes(text: str, height_mm: float) -> list[Polyline]:
    """Draw a line of text `height_mm` high, its middle at the origin, reading along +x.

    Raises ValueError for a character that has no glyph.
    """
    unknown = sorted(set(text) - LETTERS)
    if unknown:
        raise ValueError(f"no glyph for {' '.join(map(repr, unknown))}: marks are drawn in A to Z, 0 to 9, -")
    scale = height_mm / GRID_HEIGHT
    middle = complex(text_width(text), GRID_HEIGHT) / 2
    return [
        scale * (stroke + ADVANCE * place - middle)
        for place, letter in enumerate(text)
        for stroke in _strokes(_GLYPHS[letter])
    ]


def _strokes(drawing: str) -> list[Polyline]:
    return [np.array([_point(word) for word in stroke.split()]) for stroke in drawing.split("/")]


def _point(word: str) -> complex:
    x, y = word.split(",") if "," in word else (word[0], word[1])
    return complex(float(x), float(y))
