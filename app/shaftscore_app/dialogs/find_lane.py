"""Find lane: type a part of a name, go there."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QWidget

from shaftscore.model import Lane
from shaftscore_app.document.words import lane_has
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog


class FindLaneDialog(Dialog):
    """Lists the lanes whose name, code, group or id holds what is typed."""

    def __init__(
        self, parent: QWidget, theme: Theme, lanes: Sequence[Lane], go: Callable[[str], object]
    ) -> None:
        """List lanes; go: is told the id of the chosen one."""
        super().__init__(parent, theme, "Find lane", "Find a lane")
        self._lanes, self._go = lanes, go
        self.text = QLineEdit()
        self.text.setAccessibleName("Name, code or group")
        self.text.setPlaceholderText("Name, code or group")
        self.text.setFont(theme.font(12))
        self.text.textChanged.connect(self._fill)
        self.text.installEventFilter(self)
        self.list = QListWidget()
        self.list.setAccessibleName("Lanes found")
        self.list.setFont(theme.font(12))
        self.list.setMinimumHeight(theme.px(220))
        self.list.itemActivated.connect(lambda _item: self._choose())
        self.body.addWidget(self.text)
        self.body.addWidget(self.list)
        self.set_buttons((Button("Cancel"), Button("Go there", self._choose, default=True, stays=True)))
        self._fill("")
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let Up and Down walk through the list while the name is typed."""
        up_down = (Qt.Key.Key_Up, Qt.Key.Key_Down)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in up_down:
            by = 1 if event.key() == Qt.Key.Key_Down else -1
            self.list.setCurrentRow(min(max(self.list.currentRow() + by, 0), self.list.count() - 1))
            return True
        return super().eventFilter(watched, event)

    def _fill(self, typed: str) -> None:
        self.list.clear()
        for lane in self._lanes:
            if lane_has(lane, typed):
                text = f"{lane.code or ''}  {lane.label}" + (f", {lane.group}" if lane.group else "")
                item = QListWidgetItem(text.strip())
                item.setData(Qt.ItemDataRole.UserRole, lane.id)
                self.list.addItem(item)
        self.list.setCurrentRow(0)
        self.button("Go there").setEnabled(self.list.count() > 0)

    def _choose(self) -> None:
        item = self.list.currentItem()
        if item is not None:
            self.done(Dialog.DialogCode.Accepted)
            self._go(item.data(Qt.ItemDataRole.UserRole))
