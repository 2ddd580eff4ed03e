"""How the card of a lane is painted: what is expected, what was ticked, and its one switch."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from shaftscore.model.bench import Sighting
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.look import DiagramStyle

SWITCH, SIGN = 24.0, 16.0
"""Height of the switch and size of the sign, px of the design."""


@dataclass(frozen=True)
class CardLook:
    """What a card shows.

    code, name: of the lane. expected: in words. levels: lowest first; heights: of the levels as shares of
    the travel, 0 to 1. due: share of the expected output; level: the expected level, empty for none. seen:
    what was ticked, at: its share. is_seen: whether anything is written down. differs, resting: whether it is
    not as expected, and whether it is asked for. ready: whether anything may be entered. chosen: it has the
    keys.
    """

    code: str
    name: str
    expected: str
    levels: tuple[str, ...]
    heights: tuple[float, ...]
    due: float
    level: str
    seen: Sighting
    at: float
    is_seen: bool
    differs: bool
    resting: bool
    ready: bool
    chosen: bool


def switch_rect(card: QRectF, u: float) -> QRectF:
    """Return the place of a card's switch."""
    return QRectF(card.left() + 10 * u, card.bottom() - (SWITCH + 8) * u, card.width() - 20 * u, SWITCH * u)


def segment_rects(card: QRectF, count: int, u: float) -> list[QRectF]:
    """Return the places of the segments of a card's switch."""
    switch = switch_rect(card, u)
    wide = switch.width() / max(1, count)
    return [QRectF(switch.left() + n * wide, switch.top(), wide, switch.height()) for n in range(count)]


def paint_card(
    painter: QPainter, look: DiagramStyle, card: QRectF, shown: CardLook, *, focused: bool
) -> None:
    """Paint a card."""
    u = look.u
    token = "error" if shown.differs else "accent" if shown.chosen and focused else "line"
    wide = 2.0 if shown.chosen and focused else 1.5 if shown.differs else 1.0
    painter.setPen(QPen(look.color(token), wide * u))
    painter.setBrush(look.color("field" if shown.resting else "panel"))
    painter.drawRoundedRect(card.adjusted(1, 1, -1, -1), 5 * u, 5 * u)
    if shown.chosen and focused and shown.differs:
        painter.setPen(QPen(look.color("accent"), 2 * u))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(card.adjusted(4 * u, 4 * u, -4 * u, -4 * u), 4 * u, 4 * u)
    _paint_head(painter, look, card, shown)
    _paint_picture(painter, look, card, shown)
    _paint_switch(painter, look, card, shown)


def _paint_head(painter: QPainter, look: DiagramStyle, card: QRectF, shown: CardLook) -> None:
    u, theme = look.u, look.theme
    left, right = card.left() + 10 * u, card.right() - (SIGN + 14) * u
    row = QRectF(left, card.top() + 6 * u, right - left, 20 * u)
    x = row.left()
    for text, weight, token in (
        (shown.code, 600, "text"),
        ("expected", 400, "muted"),
        (shown.expected, 600, "text" if shown.resting else "muted"),
    ):
        painter.setFont(theme.font(12, weight))
        painter.setPen(look.color(token))
        metrics = painter.fontMetrics()
        told = metrics.elidedText(text, Qt.TextElideMode.ElideRight, max(0, int(row.right() - x)))
        painter.drawText(
            QRectF(x, row.top(), row.right() - x, row.height()), Qt.AlignmentFlag.AlignVCenter, told
        )
        x += metrics.horizontalAdvance(told) + 6 * u
    icon = "severity-error" if shown.differs else "check" if shown.is_seen and shown.seen is not None else ""
    if icon:
        token = "error" if shown.differs else "text"
        place = QPointF(card.right() - (SIGN + 8) * u, card.top() + 8 * u)
        painter.drawPixmap(place.toPoint(), theme.pixmap(icon, SIGN, token))


def _paint_picture(painter: QPainter, look: DiagramStyle, card: QRectF, shown: CardLook) -> None:
    """Paint the travel with a mark a level, where the output should be, and where it was seen."""
    u = look.u
    base = card.bottom() - (SWITCH + 16) * u
    left, wide = card.left() + 22 * u, card.width() - 44 * u
    painter.setPen(QPen(look.color("edge"), 2 * u))
    painter.drawLine(QPointF(left - 8 * u, base), QPointF(left + wide + 8 * u, base))
    painter.setPen(QPen(look.color("edge"), u))
    for height in shown.heights:
        x = left + wide * height
        painter.drawLine(QPointF(x, base), QPointF(x, base - 4 * u))
    if shown.seen is None or shown.differs:
        painter.setPen(look.dashes("edge" if shown.resting else "line", 1.25, 3, 2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(_body(left + wide * shown.due, base, u))
    if shown.is_seen and shown.seen is None:
        painter.setFont(look.theme.font(12))
        painter.setPen(look.color("muted"))
        place = QRectF(card.left(), base - 24 * u, card.width(), 20 * u)
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, "cannot see")
    elif shown.seen is not None:
        body = _body(left + wide * shown.at, base, u)
        rank = shown.levels.index(shown.seen) if shown.seen in shown.levels else 0
        style = look.level(rank)
        paint_body(painter, look, body, style)
        paint_edge(painter, body, style.edge, 1.25 * u, u)


def _body(x: float, base: float, u: float) -> QRectF:
    return QRectF(x - 6.5 * u, base - 21 * u, 13 * u, 20 * u)


def _paint_switch(painter: QPainter, look: DiagramStyle, card: QRectF, shown: CardLook) -> None:
    """Paint a segment a level; one that was ticked is filled, red where it is not the expected one."""
    u, theme = look.u, look.theme
    switch = switch_rect(card, u)
    painter.setPen(QPen(look.color("edge" if shown.ready else "line"), u))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(switch, 5 * u, 5 * u)
    if isinstance(shown.seen, float):
        painter.setFont(theme.font(12, 600))
        painter.setPen(look.color("error" if shown.differs else "text"))
        painter.drawText(switch, Qt.AlignmentFlag.AlignCenter, f"measured {shown.seen:g} mm")
        return
    for place, (level, rect) in enumerate(
        zip(shown.levels, segment_rects(card, len(shown.levels), u), strict=True)
    ):
        ticked = shown.seen == level
        if ticked:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.color("error-soft" if shown.differs else "accent-soft"))
            painter.drawRoundedRect(rect.adjusted(1, 1, -1, -1), 4 * u, 4 * u)
        if place:
            painter.setPen(QPen(look.color("edge" if shown.ready else "line"), u))
            painter.drawLine(rect.topLeft(), rect.bottomLeft())
        painter.setFont(theme.font(12, 600 if ticked else 400))
        plain = "text" if shown.ready else "disabled"
        painter.setPen(look.color("error" if ticked and shown.differs else "accent" if ticked else plain))
        told = painter.fontMetrics().elidedText(level, Qt.TextElideMode.ElideRight, int(rect.width() - 4 * u))
        painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, told)
