"""Cards: small forms inside the Flow view, over its lower right corner; Esc or Cancel closes them."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.scrolling import upright_scroll

PAD = 14
"""Room inside a card, px of the design."""


class FlowCard(QWidget):
    """A card: a heading with a muted remark, `body`, a sentence, and buttons.

    Signals: closed() when it shall go.
    """

    closed = Signal()

    def __init__(self, theme: Theme, title: str, remark: str = "") -> None:
        """Make an empty card."""
        super().__init__()
        self._theme = theme
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(title)
        self.title, self.remark, self.said = QLabel(title), QLabel(remark), QLabel()
        self.cancel = QPushButton("Cancel")
        self.body = QWidget()
        self._buttons = QHBoxLayout()
        self._does: QPushButton | None = None
        self._build()
        self.cancel.clicked.connect(self.closed)
        theme.changed.connect(self._fit)
        self._fit()

    def say(self, text: str, *, fault: bool = False) -> None:
        """Show a sentence beside the buttons."""
        self.said.setText(text)
        self.said.setObjectName("fault" if fault else "muted")
        self.said.style().polish(self.said)

    def add_button(self, button: QPushButton) -> QPushButton:
        """Add what the card does, at the right of Cancel; Enter presses it from anywhere in the card."""
        button.setObjectName("wanted")
        button.setAutoDefault(False)
        self._buttons.addWidget(button)
        self._does = button
        self._fit()
        return button

    def do(self, make: Callable[[], str]) -> None:
        """Do what the card is for: close it, or say why it cannot be."""
        fault = make()
        if fault:
            self.say(fault, fault=True)
        else:
            self.closed.emit()

    # Inside

    def _build(self) -> None:
        self.remark.setObjectName("muted")
        self.said.setObjectName("muted")
        self.said.setWordWrap(True)
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.remark, 1)
        self._foot = QHBoxLayout()
        self._foot.addWidget(self.said, 1)
        self._buttons.addWidget(self.cancel)
        self._foot.addLayout(self._buttons)
        self.area = upright_scroll(self.body)
        self.area.viewport().setAutoFillBackground(False)  # the card is seen through both
        self.body.setAutoFillBackground(False)
        self._column = QVBoxLayout(self)
        self._column.addLayout(head)
        self._column.addWidget(self.area, 1)
        self._column.addLayout(self._foot)

    def sizeHint(self) -> QSize:
        """Return the size at which all of the body is seen."""
        px, inside = self._theme.px, self.body.sizeHint()
        foot = self._foot.sizeHint().height() + px(8)
        height = self.title.sizeHint().height() + inside.height() + foot + px(2 * PAD + 24)
        return QSize(max(px(470), inside.width() + px(2 * PAD + 12)), height)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close with Esc, do it with Enter."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._does is not None:
            self._does.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the card."""
        theme = self._theme
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.color("edge"), theme.u))
        painter.setBrush(theme.color("raised"))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), theme.px(6), theme.px(6))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(PAD), px(PAD), px(PAD), px(PAD))
        self._column.setSpacing(px(8))
        self._foot.setSpacing(px(8))
        self._buttons.setSpacing(px(8))
        self.title.setFont(theme.font(13, 600))
        for label in (self.remark, self.said):
            label.setFont(theme.font(12))
        for button in self.findChildren(QPushButton):
            button.setFont(theme.font(12, 600 if button is self._does else 400))
        self.updateGeometry()


class CardPlace(QObject):
    """Holds the one card of a view over the lower right corner of its drawing."""

    def __init__(self, over: QWidget, theme: Theme) -> None:
        """Place cards over a widget."""
        super().__init__(over)
        self._over, self._theme = over, theme
        self.card: FlowCard | None = None
        self._back: QWidget | None = None
        EventWatch(over, self._on_event)

    def open(self, card: FlowCard) -> None:
        """Show a card in the place of the one before, and put the keys into it."""
        self._back = self._over.focusWidget() if self.card is None else self._back
        self._drop()
        self.card = card
        card.setParent(self._over)
        card.closed.connect(self.close)
        card.show()
        card.raise_()
        self._lay()
        first = next((one for one in card.body.findChildren(QWidget) if _takes_keys(one)), card)
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def close(self) -> None:
        """Let the card go; the keys go back to where they were."""
        back = self._back if self._back is not None else self._over
        self._drop()
        back.setFocus(Qt.FocusReason.OtherFocusReason)

    def _drop(self) -> None:
        if self.card is not None:
            self.card.hide()
            self.card.deleteLater()
            self.card = None

    def _on_event(self, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.Resize, QEvent.Type.LayoutRequest):
            self._lay()
        return False

    def _lay(self) -> None:
        if self.card is None:
            return
        room, edge = self._over.size(), self._theme.px(12)
        hint = self.card.sizeHint()
        width = min(hint.width(), room.width() - 2 * edge)
        height = min(hint.height(), room.height() - 2 * edge)
        width, height = max(width, self._theme.px(220)), max(height, self._theme.px(120))
        place = (max(0, room.width() - width - edge), max(0, room.height() - height - edge))
        self.card.setGeometry(*place, width, height)
        self.card.raise_()


def _takes_keys(widget: QWidget) -> bool:
    return (
        bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isEnabled() and not widget.isHidden()
    )
