"""Where the labels of a block stand: its name, and its length in degrees.

A *part* is a seen piece of the block, cut at the view's ends and at the seams. Text is never crossed
by the cursor: it is pushed to the cursor's right, else set to its left, else left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from shaftscore.make.drawing.timing.axis import Axis, SeenPiece
from shaftscore.make.drawing.timing.shapes import BlockShape

Measure = Callable[[str], float]
"""Width of a text, px."""

INSET = 7.0
"""Distance of name and length from the block's ends, px of the design."""

BASELINE = 3.6
"""Baseline under the middle of the body, px of the design."""


@dataclass(frozen=True)
class Label:
    """One text: its left end and width, px; `is_name`: name or letter, else the length.

    lead: room before the text that goes with it (a padlock), px.
    """

    text: str
    left: float
    width: float
    is_name: bool
    part: int
    lead: float = 0.0

    @property
    def begin(self) -> float:
        """Left end with what goes before, px."""
        return self.left - self.lead

    @property
    def right(self) -> float:
        """Right end, px."""
        return self.left + self.width


@dataclass(frozen=True)
class BlockText:
    """What may be written on a block: name, length, and the letter that stands for the name, if any."""

    name: str
    length: str
    letter: str | None


def place_labels(
    parts: Sequence[SeenPiece],
    text: BlockText,
    measure: Measure,
    *,
    cursor_x: float | None = None,
    u: float = 1.0,
    taken: float = 0.0,
) -> tuple[Label, ...]:
    """Place the labels of one block in its parts. taken: room used before the name (a padlock), px."""
    wide = measure(text.name)
    long = measure(text.length)
    labels: list[Label] = []
    for number, part in enumerate(parts):
        room = part.width - taken
        spare = (14.0 if part.is_cut else 4.0) * u
        if room >= wide + long + 40.0 * u:
            labels.append(Label(text.name, part.left + INSET * u + taken, wide, True, number, taken))
            labels.append(Label(text.length, part.right - INSET * u - long, long, False, number))
        elif room >= wide + spare:
            labels.append(Label(text.name, part.left + taken + (room - wide) / 2, wide, True, number, taken))
    if not labels and text.letter:
        labels = _letters(parts, text.letter, measure(text.letter), u, taken)
    return _clear_of_cursor(labels, parts, cursor_x, u)


def _letters(parts: Sequence[SeenPiece], letter: str, width: float, u: float, taken: float) -> list[Label]:
    """Write the letter in the widest part, if that has room."""
    if not parts:
        return []
    number = max(range(len(parts)), key=lambda index: parts[index].width)
    part = parts[number]
    if part.width - taken < 12.0 * u:
        return []
    left = part.left + taken + (part.width - taken - width) / 2
    return [Label(letter, left, width, True, number, taken)]


def _clear_of_cursor(
    labels: list[Label], parts: Sequence[SeenPiece], cursor_x: float | None, u: float
) -> tuple[Label, ...]:
    if cursor_x is None:
        return tuple(labels)
    kept: list[Label] = []
    for label in labels:
        moved = _beside(label, parts[label.part], cursor_x, u)
        if moved is not None:
            kept.append(moved)
    return tuple(kept) if _apart(kept, u) else tuple(label for label in kept if label.is_name)


def _beside(label: Label, part: SeenPiece, x: float, u: float) -> Label | None:
    """Move a label that the cursor would cross to the cursor's right, else left; None without room."""
    if not label.begin - 3.0 * u < x < label.right + 3.0 * u:
        return label
    right = replace(label, left=x + INSET * u + label.lead)
    if right.right <= part.right - 2.0 * u:
        return right
    left = replace(label, left=x - INSET * u - label.width)
    return left if left.begin >= part.left + 2.0 * u else None


def _apart(labels: Sequence[Label], u: float) -> bool:
    """Return whether no two labels of one part touch."""
    rising = sorted(labels, key=lambda label: label.left)
    return all(a.part != b.part or a.right + 6.0 * u <= b.begin for a, b in pairwise(rising))


VEILED_LABELS = 80.0
"""What lies under the veil is labelled too where the veil is at least this wide, px of the design."""

LEAST_LABELLED = 4.0
"""No block is labelled that is narrower than this, px of the design: no text is."""

PADLOCK = 16.0
"""Room for a padlock before the name, px of the design."""


def label_parts(axis: Axis, shape: BlockShape, u: float) -> list[SeenPiece]:
    """Return the parts of a block that may be labelled: its seen pieces, cut at the seams, px."""
    left, right = axis.home
    bounds = [(left, right)]
    if left - axis.left >= VEILED_LABELS * u:
        bounds.append((axis.left, left))
    if axis.right - right >= VEILED_LABELS * u:
        bounds.append((right, axis.right))
    parts = [
        piece.clipped(low, high)
        for piece in axis.pieces(shape.start_deg, shape.length_deg)
        for low, high in bounds
    ]
    return [part for part in parts if part is not None]


def with_room(heights: Sequence[float], least: float) -> frozenset[int]:
    """Choose heights, px, that keep a least distance: the first, the last, then the others in order."""
    order = [0, len(heights) - 1, *range(1, len(heights) - 1)] if heights else []
    chosen: list[int] = []
    for index in order:
        if all(abs(heights[index] - heights[other]) >= least for other in chosen):
            chosen.append(index)
    return frozenset(chosen)
