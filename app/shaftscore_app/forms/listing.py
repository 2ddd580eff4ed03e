"""A list of records at the left, the form of the chosen one at the right."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QKeySequence, QShortcut, QTransform
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListWidget,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base.errors import Fault
from shaftscore.edits.drafts import inside
from shaftscore_app.document.binding import muted
from shaftscore_app.forms.draft import ABSENT, Draft, Entry, draft_in, drafts_in, first_step
from shaftscore_app.forms.editors import FieldEditor, Mark
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.menu import Menu


@dataclass(frozen=True)
class ListHabits:
    """How a list of records behaves.

    noun: what one is called. kinds: kind to title, for the menu of Add (one: no menu). starter: a new
    draft of a kind, given those that are there. summary: the line of a draft. refusal: why one may not be
    removed, or an empty text. ordered: whether the order means something, and can be changed.
    """

    noun: str
    kinds: Mapping[str, str]
    starter: Callable[[str, Sequence[Draft]], Draft]
    summary: Callable[[Draft], str]
    refusal: Callable[[Draft], str] = lambda _draft: ""
    ordered: bool = True


class ListEditor(FieldEditor):
    """Edits a tuple of records."""

    def __init__(self, spec: Spec | None, theme: Theme, form: RecordForm, habits: ListHabits) -> None:
        """Begin without records; form: shows the chosen one."""
        super().__init__(spec)
        self._theme, self.form, self._habits = theme, form, habits
        self._drafts: list[Draft] = []
        self._shown = -1
        self.list = QListWidget()
        self.list.setAccessibleName(f"List: {habits.noun}")
        self.list.setFont(theme.font(12))
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._choose_row)
        self._refused = QLabel()
        self._refused.setObjectName("fault")
        self._refused.setFont(theme.font(11))
        self._refused.setWordWrap(True)
        self._refused.hide()
        self._empty = QLabel(f"No {habits.noun} yet.")
        self._empty.setObjectName("muted")
        self._empty.setFont(theme.font(12))
        self._build()
        form.changed.connect(self._take)
        self._add_keys()
        self._show(0)

    # As an editor

    def value(self) -> Entry:
        """Return the drafts; `ABSENT` without any."""
        return tuple(self._drafts) if self._drafts else ABSENT

    def set_value(self, value: Entry) -> None:
        """Show drafts."""
        self._drafts = list(drafts_in(value))
        self._show(min(max(self.list.currentRow(), 0), len(self._drafts) - 1))

    def drafts(self) -> tuple[Draft, ...]:
        """Return the drafts."""
        return tuple(self._drafts)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark the lines of what is at fault, and the form of the chosen one."""
        loose = [fault for fault in faults if not fault.path.startswith("[")]
        for number in range(self.list.count()):
            own = inside(list(faults), f"[{number}]")
            item = self.list.item(number)
            item.setIcon(self._theme.icon("severity-error", 14, "error") if own else QIcon())
            said = [self.form.said(fault) for fault in own]
            item.setToolTip("\n".join(said))
            if number == self.list.currentRow():
                loose += self.form.set_faults(own)
            elif own:
                loose.append(Fault("", f"{self._habits.noun.capitalize()} {number + 1}: {said[0]}"))
        return loose

    def unread(self) -> str:
        """Describe why what is being typed cannot be read."""
        return self.form.unread() if self._drafts else ""

    def field_at(self, path: str) -> QWidget:
        """Choose the record of a path, and return the widget of its field."""
        place, rest = first_step(path)
        if not isinstance(place, int) or place >= len(self._drafts):
            return self
        self.select(place)
        return self.form.field_at(rest)

    def refresh(self) -> None:
        """Offer again what is chosen from lists, and write the lines again."""
        self.form.refresh()
        for number, draft in enumerate(self._drafts):
            self.list.item(number).setText(self._habits.summary(draft))

    def all_marks(self) -> frozenset[Mark]:
        """Return the marks of the form too."""
        return self.marks | self.form.all_marks()

    def select(self, number: int) -> None:
        """Choose a record."""
        self.list.setCurrentRow(number)

    # Building

    def _build(self) -> None:
        theme = self._theme
        row = QHBoxLayout(self)
        top = theme.px(8) if self.spec is None else 0
        row.setContentsMargins(0, top, 0, 0)
        row.setSpacing(theme.px(12))
        left = QVBoxLayout()
        left.setSpacing(theme.px(4))
        left.addWidget(self.list, 1)
        left.addWidget(self._refused)
        left.addLayout(self._buttons())
        row.addLayout(left, 2)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inner = QWidget()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, theme.px(12), 0)
        column.addWidget(self._empty)
        column.addWidget(self.form)
        column.addStretch(1)
        scroll.setWidget(inner)
        row.addWidget(scroll, 3)
        self.list.setMinimumWidth(theme.px(200))
        scroll.setMinimumSize(theme.px(360), theme.px(260))
        self.setFocusProxy(self.list)

    def _buttons(self) -> QHBoxLayout:
        noun = self._habits.noun
        row = QHBoxLayout()
        row.setSpacing(self._theme.px(4))
        self.add = QPushButton(f"Add a {noun}" if noun[0] not in "aeiou" else f"Add an {noun}")
        self.add.setFont(self._theme.font(12))
        self.add.setAutoDefault(False)
        if len(self._habits.kinds) > 1:
            menu = Menu(self.add)
            for kind, title in self._habits.kinds.items():
                menu.addAction(title).triggered.connect(lambda _on=False, k=kind: self._add(k))
            self.add.setMenu(menu)
        else:
            self.add.clicked.connect(lambda: self._add(next(iter(self._habits.kinds), "")))
        row.addWidget(self.add)
        row.addStretch(1)
        self.up = self._tool("chevron-down", f"Move the {noun} up", lambda: self._move(-1), flipped=True)
        self.down = self._tool("chevron-down", f"Move the {noun} down", lambda: self._move(1))
        self.away = self._tool("delete", f"Remove the {noun}", self._remove)
        for tool in (self.up, self.down) if self._habits.ordered else ():
            row.addWidget(tool)
        row.addWidget(self.away)
        return row

    def _add_keys(self) -> None:
        """Let keys do on the list what the buttons do: Del, and Alt with Up or Down."""
        keys: list[tuple[str, QToolButton]] = [("Del", self.away)]
        if self._habits.ordered:
            keys += [("Alt+Up", self.up), ("Alt+Down", self.down)]
        for key, tool in keys:
            shortcut = QShortcut(QKeySequence(key), self.list)
            shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
            shortcut.activated.connect(tool.click)
            tool.setToolTip(f"{tool.accessibleName()} ({key})")

    def _tool(
        self, icon: str, name: str, does: Callable[[], object], *, flipped: bool = False
    ) -> QToolButton:
        tool = QToolButton(self)
        tool.setObjectName("plain")
        size = self._theme.px(16)
        if flipped:
            pixmap = self._theme.pixmap(icon, 16).transformed(QTransform().scale(1, -1))
            tool.setIcon(QIcon(pixmap))
        else:
            tool.setIcon(self._theme.icon(icon, 16))
        tool.setIconSize(QSize(size, size))
        tool.setFixedSize(self._theme.px(24), self._theme.px(24))
        tool.setAccessibleName(name)
        tool.setToolTip(name)
        tool.clicked.connect(lambda _on=False: does())
        tool.setVisible(self._habits.ordered or icon == "delete")
        return tool

    # What happens

    def _show(self, number: int) -> None:
        """Write the list again and choose a line."""
        with muted(self.list):
            self.list.clear()
            self.list.addItems([self._habits.summary(draft) for draft in self._drafts])
            self.list.setCurrentRow(number)
        self._choose(number)

    def _choose_row(self, number: int) -> None:
        """Show a record that was chosen, unless what is being typed in the one before would be lost."""
        if number != self._shown and self._keeps_unread():
            with muted(self.list):
                self.list.setCurrentRow(self._shown)
        else:
            self._choose(number)

    def _keeps_unread(self) -> bool:
        """Return whether something typed cannot be read, which is said; then nothing else is shown."""
        why = self.unread()
        self._say(why)
        return bool(why)

    def _choose(self, number: int) -> None:
        self._shown = number
        there = 0 <= number < len(self._drafts)
        self._say("")
        self._empty.setVisible(not there)
        self.form.setVisible(there)
        if there:
            self.form.set_value(self._drafts[number])
        for tool, can in (
            (self.up, number > 0),
            (self.down, number < len(self._drafts) - 1),
            (self.away, there),
        ):
            tool.setEnabled(there and can)

    def _take(self) -> None:
        number = self.list.currentRow()
        if not 0 <= number < len(self._drafts):
            return
        self._drafts[number] = draft_in(self.form.value())
        self.list.item(number).setText(self._habits.summary(self._drafts[number]))
        self.changed.emit()

    def _add(self, kind: str) -> None:
        if not self._keeps_unread():
            self.append(self._habits.starter(kind, self._drafts))

    def append(self, draft: Draft) -> None:
        """Add a record and choose it, its first field ready to be typed in."""
        self._drafts.append(draft)
        self._show(len(self._drafts) - 1)
        first = next((control for control in self.form.controls() if not control.isHidden()), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)
        self.changed.emit()

    def _remove(self) -> None:
        number = self.list.currentRow()
        why = self._habits.refusal(self._drafts[number])
        if why:
            self._say(why)
            return
        del self._drafts[number]
        self._show(min(number, len(self._drafts) - 1))
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)
        self.changed.emit()

    def _move(self, by: int) -> None:
        if self._keeps_unread():
            return
        number = self.list.currentRow()
        drafts = self._drafts
        drafts[number], drafts[number + by] = drafts[number + by], drafts[number]
        self._show(number + by)
        self.changed.emit()

    def _say(self, text: str) -> None:
        self._refused.setText(text)
        self._refused.setVisible(bool(text))
