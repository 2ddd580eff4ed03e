"""The three choices of the Follower parts view as cards: a small picture, a ratio, a sentence."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QSizePolicy, QVBoxLayout, QWidget

from shaftscore.edits.followers import MoveKind
from shaftscore_app.theme import Theme
from shaftscore_app.views.follower_parts_words import KINDS, ChoiceCard

WIDE = 216
"""Width of the cards, px of the design."""

PICTURE = 62
"""Height of a card's picture, px of the design."""


TextStyle = tuple[str, int, int]
"""Token of the colour, size in px of the design, weight."""


class ChoiceCardButton(QAbstractButton):
    """One card; checked while the lane is moved this way."""

    def __init__(self, theme: Theme, number: int) -> None:
        """Make the card of a key, 1 to 3."""
        super().__init__()
        self._theme, self._number = theme, number
        self._card: ChoiceCard | None = None
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    @property
    def card(self) -> ChoiceCard | None:
        """What the card shows."""
        return self._card

    def show_card(self, card: ChoiceCard) -> None:
        """Show another text."""
        self._card = card
        self.setEnabled(card.is_possible or self.isChecked())
        self.setAccessibleName(f"{card.title}: {card.ratio}")
        self.setAccessibleDescription(card.detail)
        self.setToolTip(f"{card.detail} (key {self._number})")
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Return the size at which all of the text is seen."""
        width = self._theme.px(WIDE)
        return QSize(width, self.heightForWidth(self.width() if self.width() > 80 else width))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(120), self.sizeHint().height())

    def heightForWidth(self, width: int) -> int:
        """Return the height that the text needs at a width, px."""
        px = self._theme.px
        box = self._detail_box(width)
        return round(px(10) + px(18) + px(PICTURE) + px(18) + box.height() + px(12))

    def _detail_box(self, width: int) -> QRectF:
        metrics = QFontMetricsF(self._theme.font(11))
        room = QRectF(0, 0, max(width - 2 * self._theme.px(12), 40), 1000)
        text = "" if self._card is None else self._card.detail
        return metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, text)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the card."""
        card, theme, px = self._card, self._theme, self._theme.px
        if card is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen, focus = self.isChecked(), self.hasFocus()
        edge = "accent" if chosen or focus else "line"
        fill = "accent-soft" if chosen else "hover" if self.underMouse() and self.isEnabled() else "raised"
        painter.setPen(QPen(theme.color(edge), 2 * theme.u if chosen or focus else theme.u))
        painter.setBrush(theme.color(fill))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), px(5), px(5))
        token = "text" if self.isEnabled() else "disabled"
        inside = QRectF(self.rect()).adjusted(px(12), px(10), -px(12), -px(8))
        title = QRectF(inside.left(), inside.top(), inside.width(), px(18))
        self._write(painter, title, card.title, (token, 12, 600))
        self._write(painter, title, str(self._number), ("muted", 11, 400), at_right=True)
        picture = QRectF(inside.left(), title.bottom(), inside.width(), px(PICTURE))
        CardPicture(painter, theme, picture, enabled=self.isEnabled()).draw(card.kind)
        ratio = QRectF(inside.left(), picture.bottom(), inside.width(), px(18))
        self._write(painter, ratio, card.ratio, (token, 11, 600))
        detail = QRectF(
            inside.left(), ratio.bottom(), inside.width(), inside.bottom() - ratio.bottom() + px(6)
        )
        painter.setFont(theme.font(11))
        painter.setPen(theme.color("muted" if self.isEnabled() else "disabled"))
        painter.drawText(detail, Qt.TextFlag.TextWordWrap, card.detail)

    def _write(
        self, painter: QPainter, box: QRectF, text: str, style: TextStyle, *, at_right: bool = False
    ) -> None:
        token, size, weight = style
        painter.setFont(self._theme.font(size, weight))
        painter.setPen(self._theme.color(token))
        way = Qt.AlignmentFlag.AlignRight if at_right else Qt.AlignmentFlag.AlignLeft
        painter.drawText(box, way | Qt.AlignmentFlag.AlignVCenter, text)


class CardPicture:
    """The small picture of a choice: a disc, a roller, and what it moves; a scheme, not to scale."""

    def __init__(self, painter: QPainter, theme: Theme, box: QRectF, *, enabled: bool) -> None:
        """Take the place."""
        self._painter, self._theme = painter, theme
        self._enabled = enabled
        self._unit = min(box.height() / 62, box.width() / 190)
        self._origin = QPointF(box.left() + 30 * self._unit, box.center().y())

    def draw(self, kind: MoveKind) -> None:
        """Draw a kind."""
        self._ring(0, 0, 22, "material")
        self._ring(0, 0, 3, "raised")
        if kind == "slide":
            self._box(62, -9, 104, 9, "panel")
            self._box(28, -4, 128, 4, "raised")
            self._arrow(118, -16, 142, -16)
        elif kind == "lever":
            self._bar(28, 26, 36, -24)
            self._ring(28, 26, 2.5, "text")
        else:
            self._bar(27, 27, 34, -10)
            self._bar(34, -10, 72, -8)
            self._bar(72, -8, 70, -28)
            self._ring(27, 27, 2.5, "text")
            self._ring(70, -28, 2.5, "text")
        self._ring(31, 0, 8, "raised")
        self._ring(31, 0, 2, "text")
        if kind == "lever":
            self._arrow(22, -28, 50, -28)
        if kind == "straight-line":
            self._ring(50, -9, 3, "accent-soft")
            self._arrow(50, 8, 80, 8)

    def _at(self, x: float, y: float) -> QPointF:
        return self._origin + QPointF(x, y) * self._unit

    def _pen(self, token: str = "curve") -> QPen:
        return QPen(self._theme.color(token if self._enabled else "disabled"), 1.25 * self._theme.u)

    def _ring(self, x: float, y: float, radius: float, fill: str) -> None:
        self._painter.setPen(self._pen())
        self._painter.setBrush(self._theme.color(fill))
        self._painter.drawEllipse(self._at(x, y), radius * self._unit, radius * self._unit)

    def _box(self, left: float, top: float, right: float, bottom: float, fill: str) -> None:
        self._painter.setPen(self._pen())
        self._painter.setBrush(self._theme.color(fill))
        self._painter.drawRect(QRectF(self._at(left, top), self._at(right, bottom)))

    def _bar(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Draw a link as a thick line with an edge."""
        for token, wide in (("curve" if self._enabled else "disabled", 7.0), ("raised", 5.0)):
            pen = QPen(self._theme.color(token), wide * self._unit)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            self._painter.setPen(pen)
            self._painter.drawLine(self._at(x0, y0), self._at(x1, y1))

    def _arrow(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Draw an arrow with heads at both ends."""
        self._painter.setPen(
            QPen(self._theme.color("accent" if self._enabled else "disabled"), 1.5 * self._theme.u)
        )
        self._painter.drawLine(self._at(x0, y0), self._at(x1, y1))
        for x, way in ((x0, 1), (x1, -1)):
            for side in (-3, 3):
                self._painter.drawLine(self._at(x, y0), self._at(x + way * 5, y0 + side))


class ChoiceCards(QWidget):
    """The three cards, one above the other.

    Signals: chosen(kind) when a person chose another way.
    """

    chosen = Signal(str)

    def __init__(self, theme: Theme) -> None:
        """Make the cards."""
        super().__init__()
        self._theme = theme
        self.cards = {kind: ChoiceCardButton(theme, number) for number, kind in enumerate(KINDS, start=1)}
        self._group = QButtonGroup(self)
        self._group.setExclusive(False)  # none may be chosen
        self._column = QVBoxLayout(self)
        for kind, card in self.cards.items():
            self._group.addButton(card)
            self._column.addWidget(card)
            card.clicked.connect(lambda _on, kind=kind: self._choose(kind))
        self._column.addStretch(1)
        self.setAccessibleName("How the lane is moved")
        self.fit()

    def show_cards(self, cards: tuple[ChoiceCard, ...], chosen: MoveKind | None) -> None:
        """Show the choices and which of them the lane has."""
        for card in cards:
            self.cards[card.kind].setChecked(card.kind == chosen)
            self.cards[card.kind].show_card(card)

    def _choose(self, kind: MoveKind) -> None:
        """Leave the mark where it is until the document says otherwise."""
        self.cards[kind].setChecked(not self.cards[kind].isChecked())
        self.chosen.emit(kind)

    def fit(self) -> None:
        """Take the theme's sizes."""
        px = self._theme.px
        self._column.setContentsMargins(px(12), px(6), px(8), px(8))
        self._column.setSpacing(px(8))
        for card in self.cards.values():
            card.updateGeometry()
