"""Dialogs about drafts: looking at one beside the saved file, and dropping one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHeaderView,
    QLabel,
    QSplitter,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base.wording import counted, time_of_day
from shaftscore.model.differences import Difference, differences
from shaftscore.model.project import Project
from shaftscore_app.document import Document
from shaftscore_app.keeping import LeftDraft
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.widgets.dialog import Button, Dialog

HEADS = ("Lane", "What", "Saved file", "Draft")


class LookDialog(Dialog):
    """A draft beside its saved file, to look at only: both diagrams, and a table of what is different."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        draft: LeftDraft,
        saved: Project | None,
        why: str,
        *,
        use: Callable[[], object],
    ) -> None:
        """Show a draft; saved: None where there is no saved file, and `why` then says so."""
        kept = draft.kept
        assert kept.project is not None, "a draft that cannot be read is not shown"
        when = time_of_day(kept.when.astimezone(), datetime.now().astimezone())
        super().__init__(parent, theme, "Draft", f"{kept.head.name}: the draft from {when}")
        self.documents: list[Document] = []
        if why:
            self.say(why)
        found = [] if saved is None else differences(saved, kept.project)
        self.say(summary(found) if saved is not None else "All of the draft is new.")
        self.table = _table(theme, found)
        self.table.setVisible(bool(found))
        self.body.addWidget(self.table, 2)
        self.body.addWidget(self._beside(saved, kept.project), 5)
        self.set_buttons((Button("Close"), Button("Restore", use, default=True)))
        self.resize(theme.px(1180), theme.px(760))

    def _beside(self, saved: Project | None, project: Project) -> QWidget:
        both = QSplitter(Qt.Orientation.Horizontal)
        both.setChildrenCollapsible(False)
        for title, shown in (("Saved file", saved), ("Draft", project)):
            if shown is not None:
                both.addWidget(self._diagram(title, shown))
        return both

    def _diagram(self, title: str, project: Project) -> QWidget:
        column = QWidget()
        rows = QVBoxLayout(column)
        rows.setContentsMargins(0, 0, 0, 0)
        label = QLabel(title)
        label.setFont(self._theme.font(12, 600))
        rows.addWidget(label)
        document = Document(project, still=True, parent=self)
        self.documents.append(document)
        diagram = TimingDiagram(document, self._theme)
        diagram.setAccessibleName(f"{title}, timing diagram, to look at only")
        rows.addWidget(diagram, 1)
        return column


class DiscardDialog(Dialog):
    """Asks before a draft is dropped."""

    def __init__(
        self, parent: QWidget, theme: Theme, name: str, steps: int, drop: Callable[[], object]
    ) -> None:
        """Ask about the draft of `name`; steps: how many would be lost."""
        super().__init__(parent, theme, "Discard", f"Drop the draft of {name}?")
        self.say(f"{counted(steps, 'step')} will be lost; this cannot be undone. The saved file stays.")
        self.set_buttons((Button("Cancel", default=True), Button("Discard", drop)))


def summary(found: Sequence[Difference]) -> str:
    """Write in a sentence which lanes are different."""
    lanes = list(dict.fromkeys(one.lane for one in found if one.lane))
    rest = sum(not one.lane for one in found)
    if not found:
        return "The draft is the same as the saved file."
    parts = [f"{counted(len(lanes), 'lane')} different"] if lanes else []
    parts += [f"{counted(rest, 'thing')} of the whole machine"] if rest else []
    return f"Compared with the saved file: {' and '.join(parts)}."


def _table(theme: Theme, found: Sequence[Difference]) -> QTableWidget:
    table = QTableWidget(len(found), len(HEADS))
    table.setHorizontalHeaderLabels(HEADS)
    table.setAccessibleName("Differences")
    table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
    table.setSelectionBehavior(QTableWidget.SelectionBehavior.SelectRows)
    table.verticalHeader().hide()
    table.setFont(theme.font(12))
    table.setWordWrap(True)
    for row, one in enumerate(found):
        for column, text in enumerate((one.lane or "Whole machine", one.what, one.before, one.after)):
            item = QTableWidgetItem(text)
            item.setToolTip(text)
            table.setItem(row, column, item)
    head = table.horizontalHeader()
    head.setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
    head.setSectionResizeMode(1, QHeaderView.ResizeMode.ResizeToContents)
    head.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
    head.setSectionResizeMode(3, QHeaderView.ResizeMode.Stretch)
    table.resizeRowsToContents()
    return table
