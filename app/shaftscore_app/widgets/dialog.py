"""What all dialogs share: a heading, text, and a row of buttons; opened without stopping the window.

No dialog is larger than the screen: its body scrolls there, heading and buttons stay in sight.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore_app.theme import Theme
from shaftscore_app.theme.rescale import rescale
from shaftscore_app.widgets.dialog_body import DialogBody, room_of
from shaftscore_app.widgets.focus import next_by_place


@dataclass(frozen=True)
class Button:
    """A button: its text, what it does after the dialog has closed, and whether Enter presses it.

    stays: the dialog stays open. Esc and the dialog's close box press none.
    """

    text: str
    does: Callable[[], object] | None = None
    default: bool = False
    stays: bool = False


class Dialog(QDialog):
    """A dialog with a heading; subclasses add widgets to `body`."""

    def __init__(self, parent: QWidget, theme: Theme, title: str, heading: str = "") -> None:
        """Make a dialog over `parent`."""
        super().__init__(parent)
        self._theme = theme
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        px = theme.px
        self._whole = QVBoxLayout(self)
        self._whole.setContentsMargins(px(24), px(16), px(24), px(16))
        self._whole.setSpacing(px(12))
        self._heading = QLabel(heading)
        self._heading.setFont(theme.font(15, 600))
        self._heading.setWordWrap(True)
        self._heading.setVisible(bool(heading))
        self._whole.addWidget(self._heading)
        self._inner = QWidget()
        self.body = QVBoxLayout(self._inner)
        self.body.setContentsMargins(0, 0, 0, 0)
        self.body.setSpacing(px(8))
        self._area = DialogBody(self._inner, self._beside_the_body)
        self._whole.addWidget(self._area, 1)
        self._row = QHBoxLayout()
        self._row.setSpacing(px(8))
        self._whole.addLayout(self._row)
        self._upper_row: QHBoxLayout | None = None
        self._buttons: dict[str, QPushButton] = {}
        self.setMinimumWidth(px(420))
        self._u = theme.u
        theme.changed.connect(self._rescale)  # before any part's own: what they say counts

    def say(self, text: str, *, muted: bool = False) -> QLabel:
        """Add a paragraph."""
        label = QLabel(text)
        label.setObjectName("muted" if muted else "")
        label.setFont(self._theme.font(12 if muted else 13))
        label.setWordWrap(True)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.body.addWidget(label)
        return label

    def _rescale(self) -> None:
        """Follow the size of the text while it is open."""
        by, self._u = self._theme.u / self._u, self._theme.u
        if by != 1.0:
            rescale(self, by)
            if self.isVisible():
                self.keep_on_screen()

    def set_buttons(self, buttons: Sequence[Button]) -> None:
        """Add the buttons, right-aligned, in order."""
        self._row.addStretch(1)
        for button in buttons:
            push = self._made(button)
            self._row.addWidget(push)
            if button.default:
                push.setFocus(Qt.FocusReason.OtherFocusReason)

    def button(self, text: str) -> QPushButton:
        """Return a button by its text."""
        return self._buttons[text]

    def needed_height(self) -> int:
        """Return the height that all texts need at the width it has, as far as the screen has room, px."""
        self._area.updateGeometry()
        self._whole.activate()
        needed = max(self._whole.totalHeightForWidth(self.width()), self._whole.minimumSize().height())
        return min(needed, room_of(self).height())

    def sizeHint(self) -> QSize:
        """Return the size of what is in it now."""
        self._area.updateGeometry()
        return super().sizeHint()

    def showEvent(self, event: QShowEvent) -> None:
        """Take no more than the screen has, and stay on it."""
        super().showEvent(event)
        self.keep_on_screen()

    def keep_on_screen(self) -> None:
        """Be no larger than the screen, and leave it nowhere."""
        room, screen = room_of(self), self.screen().availableGeometry()
        self._place_buttons(room.width())
        self._widen(room.width())
        if self.minimumSize().boundedTo(room) != self.minimumSize():
            self.setMinimumSize(self.minimumSize().boundedTo(room))
        if self.size().boundedTo(room) != self.size():
            self.resize(self.size().boundedTo(room))
        place = self.frameGeometry()
        left = max(screen.left(), min(place.left(), screen.right() + 1 - place.width()))
        top = max(screen.top(), min(place.top(), screen.bottom() + 1 - place.height()))
        if (left, top) != (place.left(), place.top()):
            self.move(left, top)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go in the order in which the dialog is read."""
        stop = next_by_place(self, self.focusWidget(), 1 if forward else -1)
        if stop is not None:
            reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
            stop.setFocus(reason)
            if self._area.isAncestorOf(stop):
                self._area.ensureWidgetVisible(stop)
        return stop is not None

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the heading have all lines that it needs at this width: the body gives way."""
        super().resizeEvent(event)
        if not self._heading.isHidden():
            edges = self._whole.contentsMargins()
            room = self.width() - edges.left() - edges.right()
            self._heading.setMinimumHeight(self._heading.heightForWidth(room))

    def _widen(self, width: int) -> None:
        """Be as wide as what is in it needs, as far as the screen has room."""
        edges, bar = self._whole.contentsMargins(), self._area.verticalScrollBar()
        needed = self._inner.minimumSizeHint().width() + edges.left() + edges.right()
        needed += bar.sizeHint().width() if self._area.verticalScrollBar().maximum() > 0 else 0
        self.resize(max(self.width(), min(needed, width)), self.height())

    def _place_buttons(self, width: int) -> None:
        """Make room for the row of buttons; with two rows where the screen has none for all in one."""
        edges, gap = self._whole.contentsMargins(), self._row.spacing()
        items = (self._row.itemAt(place) for place in range(self._row.count()))
        widgets = (item.widget() for item in items if item is not None)
        buttons = [widget for widget in widgets if widget is not None]
        needed = sum(button.sizeHint().width() + gap for button in buttons) + edges.left() + edges.right()
        if needed <= width:
            self.resize(max(self.width(), needed), self.height())
            return
        if self._upper_row is not None:
            return
        self._upper_row = QHBoxLayout()
        self._upper_row.setSpacing(gap)
        self._upper_row.addStretch(1)
        self._whole.insertLayout(self._whole.indexOf(self._row), self._upper_row)
        for button in buttons[: len(buttons) // 2]:
            self._row.removeWidget(button)
            self._upper_row.addWidget(button)

    def _beside_the_body(self, width: int) -> QSize:
        """Return what heading, buttons and gaps take where the body is so wide, px."""
        edges, gap = self._whole.contentsMargins(), self._whole.spacing()
        row = self._row.sizeHint().height()
        high = edges.top() + edges.bottom() + gap + row
        if self._upper_row is not None:
            high += gap + row
        if not self._heading.isHidden():
            high += gap + self._heading.heightForWidth(width)
        return QSize(edges.left() + edges.right(), high)

    def _made(self, button: Button) -> QPushButton:
        push = QPushButton(button.text)
        push.setFont(self._theme.font(13, 600 if button.default else 400))
        push.setAutoDefault(button.default)
        push.setDefault(button.default)
        push.clicked.connect(lambda: self._press(button))
        self._buttons[button.text] = push
        return push

    def _press(self, button: Button) -> None:
        if not button.stays:
            self.done(QDialog.DialogCode.Accepted if button.default else QDialog.DialogCode.Rejected)
        if button.does is not None:
            button.does()
