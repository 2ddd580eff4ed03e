"""Counting sequences: numbers that run through the steps, and what shows them on the lanes.

*Course*: the numbers, one a step: counting up by an increment (down by a negative one), up and down, or a
list. A course that counts wraps within the numbers that can be shown. *Code*: how a number is shown: binary,
Gray code (successive numbers differ in one digit), one lane at a time, or decimal digits drawn into the grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from shaftscore.base.errors import EditError
from shaftscore.model.grid import LaneGrid
from shaftscore.model.project import Project
from shaftscore.program.fonts import FONTS, SEGMENTS, SEGMENTS_OF, DigitFont
from shaftscore.program.frames import Frames, ProgramFrame, painted
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.places import lane_at
from shaftscore.program.truth import on_level, paint_of

CourseKind = Literal["up", "up-down", "list"]
CodeKind = Literal["binary", "gray", "one", "segments", "3x5", "4x7", "5x7"]

MOST_NUMBER = 10**12
"""Largest number that is read."""

SEGMENT_PLACES = {"a": (0, 1), "f": (1, 0), "b": (1, 2), "g": (2, 1), "e": (3, 0), "c": (3, 2), "d": (4, 1)}
"""Row and column of each segment where seven lanes sit as a digit is drawn, 5 rows by 3 columns."""


@dataclass(frozen=True)
class CountingSequence:
    """A sequence to show.

    course: of the numbers. code: how they are shown. first, increment: of a course that counts. numbers: of
    a list. lowest_first: whether the first lane of the grid, row by row, is the lowest digit; for codes of
    one lane a digit. leading_zeros: whether decimal numbers fill all digits.
    """

    course: CourseKind
    code: CodeKind
    first: int = 0
    increment: int = 1
    numbers: tuple[int, ...] = ()
    lowest_first: bool = True
    leading_zeros: bool = False


def read_numbers(text: str) -> tuple[int, ...]:
    """Read a list of numbers, divided by spaces, commas or semicolons; raises EditError for what is none."""
    found = []
    for word in text.replace(",", " ").replace(";", " ").split():
        if not word.isascii() or not word.isdigit() or int(word[:14]) > MOST_NUMBER:
            raise EditError(f'"{word[:20]}" is not a whole number from 0 to {MOST_NUMBER:,}')
        found.append(int(word))
    if not found:
        raise EditError("a list of numbers is missing, such as 3 1 4 1 5")
    return tuple(found)


def gray_code(number: int) -> int:
    """Return the reflected binary code of a number from 0 up."""
    return number ^ number >> 1


def numbers_of(sequence: CountingSequence, steps: int, size: int) -> tuple[int, ...]:
    """Return the number of each step; `size` numbers, from 0, can be shown.

    Raises EditError if a number of the list, or the first one, cannot be shown.
    """
    if sequence.course == "list":
        if not sequence.numbers:
            raise EditError("a list of numbers is missing, such as 3 1 4 1 5")
        _refuse_large(max(sequence.numbers), size)
        return tuple(sequence.numbers[step % len(sequence.numbers)] for step in range(steps))
    _refuse_large(sequence.first, size)
    counted = (sequence.first + step * sequence.increment for step in range(steps))
    if sequence.course == "up":
        return tuple(number % size for number in counted)
    there_and_back = max(1, 2 * (size - 1))
    return tuple(min(number % there_and_back, there_and_back - number % there_and_back) for number in counted)


def _refuse_large(number: int, size: int) -> None:
    if not 0 <= number < size:
        raise EditError(f"{number:,} cannot be shown; the lanes show 0 to {size - 1:,}")


def frames_of_sequence(project: Project, draft: ProgramDraft, sequence: CountingSequence) -> Frames:
    """Return frames in which the lanes with a place show the sequence, one number a step.

    Raises EditError if the grid has no room for the code, or a number cannot be shown.
    """
    steps = len(draft.frames)
    if sequence.code == "segments":
        shown = _segments(draft.grid, sequence, steps)
    elif sequence.code in FONTS:
        shown = _drawn(draft.grid, sequence, FONTS[sequence.code], steps)
    else:
        shown = _coded(draft.grid, sequence, steps)
    return tuple(_framed(project, draft, step, lanes_on) for step, lanes_on in enumerate(shown))


def _framed(project: Project, draft: ProgramDraft, step: int, lanes_on: set[str]) -> ProgramFrame:
    frame = draft.frames[step]
    for lane_id in draft.grid.lanes:
        meaning = draft.meanings[lane_id]
        level = on_level(project, lane_id, meaning) if lane_id in lanes_on else None
        frame = painted(frame, [lane_id], paint_of(meaning, level))
    return frame


def _coded(grid: LaneGrid, sequence: CountingSequence, steps: int) -> list[set[str]]:
    """Return which lanes are on in each step, a lane a digit."""
    lanes = grid.lanes if sequence.lowest_first else grid.lanes[::-1]
    if not lanes:
        raise EditError("no lane has a place in the grid")
    size = len(lanes) if sequence.code == "one" else 1 << min(len(lanes), 40)
    numbers = numbers_of(sequence, steps, size)
    if sequence.code == "one":
        return [{lanes[number]} for number in numbers]
    codes = [gray_code(number) if sequence.code == "gray" else number for number in numbers]
    return [{lane_id for place, lane_id in enumerate(lanes) if code >> place & 1} for code in codes]


def digits_of(number: int, count: int, *, leading_zeros: bool) -> tuple[int | None, ...]:
    """Return the decimal digits of a number from the highest, None for an empty place.

    Raises EditError if there are more of them than `count`.
    """
    if count < 1 or number >= 10**count:
        raise EditError(f"{number:,} has more digits than there is room for ({count})")
    text = str(number).rjust(count, "0" if leading_zeros else " ")
    return tuple(None if digit == " " else int(digit) for digit in text)


def _drawn(grid: LaneGrid, sequence: CountingSequence, font: DigitFont, steps: int) -> list[set[str]]:
    """Return which lanes are on in each step, decimal digits drawn side by side, one empty column between."""
    count = (grid.columns + 1) // (font.columns + 1)
    if count < 1 or grid.rows < font.rows:
        need = f"{font.rows} rows and {font.columns} columns"
        raise EditError(f"a digit takes {need}; the grid has {grid.rows} and {grid.columns}")
    shown = []
    for number in numbers_of(sequence, steps, 10**count):
        digits = digits_of(number, count, leading_zeros=sequence.leading_zeros)
        shown.append(_inked(grid, font, digits))
    return shown


def _inked(grid: LaneGrid, font: DigitFont, digits: Sequence[int | None]) -> set[str]:
    """Return the lanes in which digits have ink."""
    found = set()
    for place, digit in enumerate(digits):
        for row, line in enumerate(font.digits[digit] if digit is not None else ()):
            for column, mark in enumerate(line):
                lane_id = lane_at(grid, row, place * (font.columns + 1) + column)
                if mark == "#" and lane_id is not None:
                    found.add(lane_id)
    return found


def _segments(grid: LaneGrid, sequence: CountingSequence, steps: int) -> list[set[str]]:
    """Return which lanes are on in each step, seven lanes a digit."""
    displays = segment_lanes(grid)
    numbers = numbers_of(sequence, steps, 10 ** len(displays))
    shown = []
    for number in numbers:
        digits = digits_of(number, len(displays), leading_zeros=sequence.leading_zeros)
        shown.append(
            {
                display[segment]
                for display, digit in zip(displays, digits, strict=True)
                if digit is not None
                for segment in SEGMENTS_OF[digit]
            }
        )
    return shown


def segment_lanes(grid: LaneGrid) -> list[dict[str, str]]:
    """Return for each seven-segment digit, from the left, its lanes by segment.

    Lanes that sit as digits are drawn (5 rows, 3 columns a digit, one empty column between) are taken so;
    else seven lanes after one another, row by row, are segments a to g. Raises EditError if lanes are left
    over, or there are none.
    """
    drawn = _drawn_segments(grid)
    if drawn is not None:
        return drawn
    lanes = grid.lanes
    if not lanes or len(lanes) % len(SEGMENTS):
        raise EditError(f"seven segments take seven lanes a digit; {len(lanes)} lanes have a place")
    return [
        dict(zip(SEGMENTS, lanes[at : at + len(SEGMENTS)], strict=True))
        for at in range(0, len(lanes), len(SEGMENTS))
    ]


def _drawn_segments(grid: LaneGrid) -> list[dict[str, str]] | None:
    """Return the digits of lanes that sit as segments are drawn; None where they do not."""
    if grid.rows != 5 or (grid.columns + 1) % 4:
        return None
    displays = []
    for left in range(0, grid.columns, 4):
        own = {
            segment: lane_at(grid, row, left + column) for segment, (row, column) in SEGMENT_PLACES.items()
        }
        found = {segment: lane_id for segment, lane_id in own.items() if lane_id is not None}
        if len(found) != len(SEGMENTS):
            return None
        displays.append(found)
    return displays if len(grid.lanes) == len(SEGMENTS) * len(displays) else None
