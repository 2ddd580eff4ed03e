"""Letters as upright and level strokes of square dots: what can be cut into a rim without leaning walls.

Three dots wide and five high, A to Z and 0 to 9, drawn for this program.
"""

from __future__ import annotations

from collections.abc import Iterator

WIDE, HIGH, PITCH = 3, 5, 4
"""Dots across and along a letter, and from one letter to the next."""

_ROWS = {
    "A": "111 101 111 101 101",
    "B": "110 101 110 101 110",
    "C": "111 100 100 100 111",
    "D": "110 101 101 101 110",
    "E": "111 100 110 100 111",
    "F": "111 100 110 100 100",
    "G": "111 100 101 101 111",
    "H": "101 101 111 101 101",
    "I": "111 010 010 010 111",
    "J": "001 001 001 101 111",
    "K": "101 101 110 101 101",
    "L": "100 100 100 100 111",
    "M": "101 111 111 101 101",
    "N": "110 101 101 101 101",
    "O": "010 101 101 101 010",
    "P": "111 101 111 100 100",
    "Q": "111 101 101 111 001",
    "R": "111 101 110 101 101",
    "S": "011 100 010 001 110",
    "T": "111 010 010 010 010",
    "U": "101 101 101 101 111",
    "V": "101 101 101 101 010",
    "W": "101 101 111 111 101",
    "X": "101 101 010 101 101",
    "Y": "101 101 010 010 010",
    "Z": "111 001 010 100 111",
    "0": "111 101 101 101 111",
    "1": "010 110 010 010 111",
    "2": "111 001 111 100 111",
    "3": "111 001 011 001 111",
    "4": "101 101 111 001 001",
    "5": "111 100 111 001 111",
    "6": "100 100 111 101 111",
    "7": "111 001 001 001 001",
    "8": "111 101 111 101 111",
    "9": "111 101 111 001 001",
}
"""Rows of each letter from the top, 1 where there is a dot."""


def columns(text: str) -> Iterator[tuple[int, int, int]]:
    """Yield the upright runs of dots of a text: column from the left, first and last row from the bottom.

    Raises KeyError for a letter that has no picture.
    """
    for place, letter in enumerate(text):
        rows = _ROWS[letter].split()[::-1]
        for column in range(WIDE):
            yield from ((PITCH * place + column, *run) for run in _runs([row[column] for row in rows]))


def _runs(dots: list[str]) -> Iterator[tuple[int, int]]:
    """Yield the first and the last place of each run of ones."""
    first = None
    for place, dot in enumerate([*dots, "0"]):
        if dot == "1" and first is None:
            first = place
        elif dot != "1" and first is not None:
            yield first, place - 1
            first = None


def width(text: str) -> int:
    """Return how many dots wide a text is."""
    return PITCH * len(text) - (PITCH - WIDE)
