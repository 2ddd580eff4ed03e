"""Digits of our own drawing, 3x5, 4x7 and 5x7 places, and as seven segments.

Segments are named as usual: a on top, then clockwise b, c, d, e, f, and g in the middle.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Glyph = tuple[str, ...]
"""A digit: its rows from the top, "#" where it is painted."""


@dataclass(frozen=True)
class DigitFont:
    """A font: columns and rows of a digit, and the digits 0 to 9."""

    columns: int
    rows: int
    digits: tuple[Glyph, ...]


def _font(drawing: str) -> DigitFont:
    """Read a drawing: a line a row, in it the row of each digit from 0 to 9, divided by spaces."""
    rows = [line.split() for line in drawing.strip().splitlines()]
    digits = tuple(tuple(row[digit] for row in rows) for digit in range(10))
    return DigitFont(len(rows[0][0]), len(rows), digits)


FONTS: Mapping[str, DigitFont] = {
    "3x5": _font(
        """
        ### .#. ### ### #.# ### ### ### ### ###
        #.# ##. ..# ..# #.# #.. #.. ..# #.# #.#
        #.# .#. ### .## ### ### ### .#. ### ###
        #.# .#. #.. ..# ..# ..# #.# .#. #.# ..#
        ### ### ### ### ..# ### ### .#. ### ###
        """
    ),
    "4x7": _font(
        """
        .##. ..#. .##. .##. ...# #### .##. #### .##. .##.
        #..# .##. #..# #..# ..## #... #..# ...# #..# #..#
        #..# ..#. ...# ...# .#.# #... #... ..#. #..# #..#
        #..# ..#. ..#. .##. #..# ###. ###. ..#. .##. .###
        #..# ..#. .#.. ...# #### ...# #..# .#.. #..# ...#
        #..# ..#. #... #..# ...# #..# #..# .#.. #..# #..#
        .##. .### #### .##. ...# .##. .##. .#.. .##. .##.
        """
    ),
    "5x7": _font(
        """
        .###. ..#.. .###. .###. ...#. ##### .###. ##### .###. .###.
        #...# .##.. #...# #...# ..##. #.... #.... ....# #...# #...#
        #..## ..#.. ....# ....# .#.#. ####. #.... ...#. #...# #...#
        #.#.# ..#.. ...#. ..##. #..#. ....# ####. ..#.. .###. .####
        ##..# ..#.. ..#.. ....# ##### ....# #...# ..#.. #...# ....#
        #...# ..#.. .#... #...# ...#. #...# #...# ..#.. #...# ....#
        .###. .###. ##### .###. ...#. .###. .###. ..#.. .###. .###.
        """
    ),
}
"""The fonts by name: columns x rows."""

SEGMENTS = "abcdefg"
"""Segments of a digit, in order."""

SEGMENTS_OF = (
    "abcdef",
    "bc",
    "abdeg",
    "abcdg",
    "bcfg",
    "acdfg",
    "acdefg",
    "abc",
    "abcdefg",
    "abcdfg",
)
"""The segments that each digit shows; 6 with its top and 9 with its foot."""
