"""Where the cards of the lanes are drawn: as the lanes sit on the front of the machine, else by group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF

from shaftscore.model import Project

HIGH, GAP, PAD, HEAD = 96.0, 8.0, 12.0, 26.0
"""Height of a card, room between cards, at the edge, and height of a section's heading; px of the design."""

LEAST, MOST = 132.0, 260.0
"""Least and greatest width of a card, px of the design."""


@dataclass(frozen=True)
class CardSection:
    """Cards under one heading (empty: none), row by row; None is a place without a card.

    A section whose rows are `fixed` keeps them; others are filled as wide as there is room.
    """

    title: str
    rows: tuple[tuple[str | None, ...], ...]
    fixed: bool = False


def sections_of(project: Project, lane_ids: Sequence[str]) -> tuple[CardSection, ...]:
    """Return the sections of lanes: the grid of the front, then lanes without a place in it, by group."""
    placed: set[str] = set()
    found: list[CardSection] = []
    known = set(lane_ids)
    if project.grid is not None and known & set(project.grid.lanes):
        rows = tuple(tuple(own if own in known else None for own in row) for row in project.grid.cells)
        found.append(CardSection("", _trimmed(rows), fixed=True))
        placed = set(project.grid.lanes)
    groups: dict[str, list[str]] = {}
    for lane_id in lane_ids:
        if lane_id not in placed:
            groups.setdefault(project.lane(lane_id).group, []).append(lane_id)
    alone = len(groups) == 1 and not found
    for group, own in groups.items():
        found.append(CardSection("" if alone else group or "Lanes without a group", (tuple(own),)))
    return tuple(found)


def _trimmed(rows: tuple[tuple[str | None, ...], ...]) -> tuple[tuple[str | None, ...], ...]:
    """Leave out rows and columns that hold no lane."""
    columns = [n for n in range(len(rows[0])) if any(row[n] is not None for row in rows)]
    return tuple(tuple(row[n] for n in columns) for row in rows if any(cell is not None for cell in row))


@dataclass(frozen=True)
class CardPlaces:
    """The places of all cards and headings, px; order: of the lanes, as they are read."""

    cards: dict[str, QRectF]
    heads: tuple[tuple[str, QRectF], ...]
    order: tuple[str, ...]
    height: float
    width: float

    def at(self, point: QPointF) -> str | None:
        """Return the lane whose card is at a point; None between cards."""
        return next((lane_id for lane_id, card in self.cards.items() if card.contains(point)), None)

    def beside(self, lane_id: str, rows: int, columns: int) -> str:
        """Return the lane so many rows down or columns right of one; itself at the ends."""
        place = self.order.index(lane_id)
        if columns:
            return self.order[max(0, min(len(self.order) - 1, place + columns))]
        here = self.cards[lane_id].center()
        tops = sorted({card.top() for card in self.cards.values()})
        row = tops.index(self.cards[lane_id].top()) + rows
        if not 0 <= row < len(tops):
            return lane_id
        own = [other for other, card in self.cards.items() if card.top() == tops[row]]
        return min(own, key=lambda other: abs(self.cards[other].center().x() - here.x()))


def card_places(sections: Sequence[CardSection], *, width: float, least: float, u: float) -> CardPlaces:
    """Lay cards into a width, px; least: the least width of a card with all its levels, px."""
    cards: dict[str, QRectF] = {}
    heads: list[tuple[str, QRectF]] = []
    pad, gap, high = PAD * u, GAP * u, HIGH * u
    least = min(max(LEAST * u, least), MOST * u)
    top, right = pad / 2, 0.0
    for section in sections:
        if section.title:
            heads.append((section.title, QRectF(pad, top, max(width - 2 * pad, least), HEAD * u)))
            top += HEAD * u
        room = width - 2 * pad
        across = len(section.rows[0]) if section.fixed else max(1, int((room + gap) // (least + gap)))
        across = max(1, across)
        wide = min(max((room + gap) / across - gap, least), MOST * u)
        for row in _wrapped(section, across):
            for column, lane_id in enumerate(row):
                if lane_id is not None:
                    cards[lane_id] = QRectF(pad + column * (wide + gap), top, wide, high)
                    right = max(right, pad + column * (wide + gap) + wide)
            top += high + gap
    return CardPlaces(cards, tuple(heads), tuple(cards), top + pad / 2, right + pad)


def _wrapped(section: CardSection, across: int) -> list[tuple[str | None, ...]]:
    if section.fixed:
        return list(section.rows)
    own = section.rows[0]
    return [own[first : first + across] for first in range(0, len(own), across)]
