"""The Findings view: one row a cause, errors first, with its cure when it is chosen and what follows from it.

A row keeps its place and stays chosen while a block is dragged: rows are known by the finding's key.
`visited` asks whoever shows the diagram to go there.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QPoint,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QStackedLayout,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base.wording import counted
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import RULES, Finding, Severity
from shaftscore.judge.report import AREA_OF
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.selection import FindingKey
from shaftscore_app.document.stale import is_stale
from shaftscore_app.document.ways_out import first_lane
from shaftscore_app.document.words import clean_text
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import SIGNS
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.finding_folds import CauseGroup, FindingRow, Fold, RowKind, first_fold, rows_of
from shaftscore_app.views.finding_rows import FindingRows
from shaftscore_app.widgets.menu import Menu

Index = QModelIndex | QPersistentModelIndex

ROW = Qt.ItemDataRole.UserRole
"""Role under which a `FindingRow` is found in the list."""


class FindingsModel(QAbstractListModel):
    """The rows shown."""

    def __init__(self) -> None:
        """Begin without a row."""
        super().__init__()
        self._rows: tuple[FindingRow, ...] = ()

    @property
    def rows(self) -> tuple[FindingRow, ...]:
        """The rows shown, in order."""
        return self._rows

    def set_rows(self, rows: Sequence[FindingRow]) -> None:
        """Show other rows; the same findings keep their rows."""
        same = [(row.finding.key, row.kind) for row in rows] == [
            (row.finding.key, row.kind) for row in self._rows
        ]
        if same:
            self._rows = tuple(rows)
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self._rows = tuple(rows)
        self.endResetModel()

    def row_of(self, key: FindingKey | None) -> int:
        """Return the row of a finding, -1 where it is not shown."""
        shown = ((i, row) for i, row in enumerate(self._rows) if row.is_finding)
        return next((i for i, row in shown if row.finding.key == key), -1)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Return what can be chosen: findings; lines of folds are opened by a click, or from their cause."""
        if index.isValid() and not self._rows[index.row()].is_finding:
            return Qt.ItemFlag.ItemNeverHasChildren
        return super().flags(index)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Count the rows."""
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a row, or what is read aloud of it."""
        row = self._rows[index.row()]
        if role == ROW:
            return row
        if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.DisplayRole):
            return row.spoken
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{RULES[row.finding.rule].meaning}\n{row.text}"
        return None


class FindingsView(QWidget):
    """The view.

    Over 300 lines, since severity, area, search and folds decide together which rows are shown.

    Signals: visited(key) when the person chose a finding and wants to see its place.
    """

    visited = Signal(object)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's findings."""
        super().__init__()
        self._document, self._theme = document, theme
        self._filter: Severity | None = None
        self._by_place = False
        self._areas: tuple[str, ...] = ()
        self._folds: dict[FindingKey, Fold] = {}
        self._kept = KeptThings()
        self.model = FindingsModel()
        self.list = _List(self.model, theme)
        self.search = QLineEdit()
        self.empty = EmptyPage(theme)
        self._chips = self._made_chips()
        self._build()
        self.setFocusProxy(self.list)
        self.list.selectionModel().currentChanged.connect(lambda now, _before: self._choose(now))
        self.list.clicked.connect(self._visit)
        self.list.cure_wanted.connect(self.do_cure)
        self._seen_key: FindingKey | None = None
        self.list.fold_wanted.connect(self.set_open)
        for signal in (document.report_changed, document.selection_changed, document.file_changed):
            signal.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    # What can be asked of it

    def refresh(self) -> None:
        """Show the document's findings: causes, each with what follows from it."""
        report = self._document.report
        roots = report.folded.roots
        for severity, chip in self._chips.items():
            count = sum(severity in (None, one.severity) for one in roots)
            chip.setText(f"All {count}" if severity is None else f" {count}")
            chip.setAccessibleName("All findings" if severity is None else f"{severity.value}s, {count}")
        folded = len(report.findings) - len(roots)
        self.folded.setText(f"{counted(folded, 'consequence')} folded in" if folded else "")
        chosen_elsewhere = self._document.selection.finding != self._seen_key
        self._seen_key = self._document.selection.finding
        if chosen_elsewhere:
            self._unfold(self._seen_key)
        rows = list(rows_of(self._groups(), self._fold_of))
        place = self.list.verticalScrollBar().value()
        self.model.set_rows(rows)
        self.list.find_room()
        self._show_chosen()
        self.list.verticalScrollBar().setValue(place)
        if chosen_elsewhere and self.list.currentIndex().isValid():
            self.list.scrollTo(self.list.currentIndex())
        clean = clean_text(self._document) if not report.findings else "None like this."
        self.empty.say(clean, first_lane(self._document))
        self._pages.setCurrentIndex(0 if rows else 1)

    def set_areas(self, areas: Sequence[str]) -> None:
        """Show what was found in some areas of the verdict only, of any severity; all where none is named."""
        self._areas = tuple(areas)
        self.area_chip.setText(f"{' and '.join(self._areas).capitalize()} only")
        self.area_chip.setVisible(bool(self._areas))
        self.area_chip.setChecked(True)
        self.set_filter(None)

    def set_open(self, key: FindingKey, fold: Fold) -> None:
        """Open or fold what follows from a cause."""
        self._folds[key] = fold
        self.refresh()

    def set_filter(self, severity: Severity | None) -> None:
        """Show findings of one severity only, or all."""
        self._filter = severity
        self._chips[severity].setChecked(True)
        self.refresh()

    def set_by_place(self, by_place: bool) -> None:
        """Sort by place in the cycle, or errors first."""
        self._by_place = by_place
        self.sort_button.setChecked(by_place)
        self.refresh()

    def show_search(self, shown: bool) -> None:
        """Show the field to search in, or take it away with what was typed."""
        self.search.setVisible(shown)
        self.search_button.setChecked(shown)
        if shown:
            self.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            self.search.clear()
            self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def step(self, by: int) -> None:
        """Choose the next (1) or previous (-1) cause and go there; round at the ends."""
        causes = [n for n, row in enumerate(self.model.rows) if row.kind is RowKind.CAUSE]
        if not causes:
            return
        row = self.model.row_of(self._document.selection.finding)
        ahead = [n for n in causes if (n > row if by > 0 else 0 <= n < row)]
        round_the_end = causes[0] if by > 0 else causes[-1]
        index = self.model.index((ahead[0] if by > 0 else ahead[-1]) if ahead else round_the_end)
        self.list.setCurrentIndex(index)
        self._visit(index)

    @property
    def chosen(self) -> Finding | None:
        """The finding that is chosen, if it is still found."""
        key = self._document.selection.finding
        return next((f for f in self._document.report.findings if f.key == key), None)

    def do_cure(self) -> str:
        """Apply the fix suggested for the selected finding; give why not, or an empty text."""
        chosen = self.chosen
        if chosen is None or chosen.cure is None or chosen.cure.edit is None:
            return "Choose a finding whose cure is an edit first"
        cure, document = chosen.cure, self._document
        edit = cure.edit or ""
        return commit(document, lambda: apply_edit(document.committed, edit, **cure.arguments))

    def copy(self) -> None:
        """Copy the findings shown as text, a line for each of their lines, folded ones too."""
        groups = self._groups()
        rows = [row for group in groups for row in (group.cause, *group.following)]
        QGuiApplication.clipboard().setText("\n\n".join(row.text for row in rows))

    def copy_chosen(self) -> None:
        """Copy the chosen finding as text; does nothing where none is."""
        row = self.model.row_of(self._document.selection.finding)
        if row >= 0:
            QGuiApplication.clipboard().setText(self.model.rows[row].text)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy the chosen finding, open or fold it, show the search, or leave it with Esc."""
        if event.key() in (Qt.Key.Key_Right, Qt.Key.Key_Left) and not event.modifiers():
            self._open_chosen(event.key() == Qt.Key.Key_Right)
        elif event.matches(QKeySequence.StandardKey.Copy):
            self.copy_chosen()
        elif event.matches(QKeySequence.StandardKey.Find):
            self.show_search(True)
        elif event.key() == Qt.Key.Key_Escape and self.search.isVisible():
            self.show_search(False)
        else:
            super().keyPressEvent(event)

    # Inside

    def _show_menu(self, place: QPoint) -> None:
        """Show what can be done with the finding under the mouse."""
        index = self.list.indexAt(place)
        if not index.isValid():
            return
        self._choose(index)
        menu = Menu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addAction("&Copy this finding", self.copy_chosen)
        menu.addAction("Copy &all shown", self.copy)
        menu.popup(self.list.viewport().mapToGlobal(place))

    def _groups(self) -> list[CauseGroup]:
        """Return the causes shown, in order, with what follows from them."""
        report = self._document.report
        objects = (report.findings, report.project, report.flow, report.flow_project)
        made = self._kept.get("rows", "", objects, self._document.is_late_current, self._made_rows)
        following: dict[int | None, list[FindingRow]] = {}
        for row, cause in zip(made, report.folded.causes, strict=True):
            following.setdefault(cause, []).append(row)
        places = {id(row): place for place, row in enumerate(made)}
        roots = following.get(None, [])
        groups = [CauseGroup(row, tuple(following.get(places[id(row)], ()))) for row in roots]
        groups = [group for group in groups if self._is_wanted(group)]
        return sorted(groups, key=lambda group: group.cause.place) if self._by_place else groups

    def _made_rows(self) -> list[FindingRow]:
        """Return a row for each finding; kept while the report is the same, with the words that were made."""
        report = self._document.report
        flow = set(map(id, report.flow.findings)) if report.flow is not None else set()
        return [self._row(finding, id(finding) in flow) for finding in report.findings]

    def _is_wanted(self, group: CauseGroup) -> bool:
        """Return whether a cause is shown: by severity, area, and what is searched for."""
        rows, sought = (group.cause, *group.following), self.search.text()
        if self._filter not in (None, group.cause.finding.severity) or not self._is_in_areas(*rows):
            return False
        return not sought or any(row.has(sought) for row in rows)

    def _is_in_areas(self, *rows: FindingRow) -> bool:
        return not self._areas or any(AREA_OF.get(row.finding.rule) in self._areas for row in rows)

    def _fold_of(self, key: FindingKey, count: int) -> Fold:
        return self._folds.get(key, first_fold(count))

    def _open_chosen(self, opened: bool) -> None:
        """Open or fold what follows from the chosen cause, or from the cause of the chosen consequence."""
        folded, chosen = self._document.report.folded, self.chosen
        if chosen is None:
            return
        key = folded.keys.get(chosen.key, chosen.key)
        cause = next(one for one in folded.roots if one.key == key)
        if not folded.following(cause):
            return
        if not opened and key != chosen.key:
            self._document.select_finding(key)
        self.set_open(key, "folded" if not opened else "open" if self._is_folded(key) else "all")

    def _unfold(self, key: FindingKey | None) -> None:
        """Open the fold in which a finding is that was chosen in another view."""
        cause = None if key is None else self._document.report.folded.keys.get(key)
        if cause is not None and cause != key and self.model.row_of(key) < 0:
            self._folds[cause] = "all"

    def _is_folded(self, key: FindingKey) -> bool:
        return not any(row.is_open for row in self.model.rows if row.finding.key == key)

    def _row(self, finding: Finding, late: bool) -> FindingRow:
        stale = is_stale(self._document.report, finding)
        project = self._document.report.flow_project if late else None
        return FindingRow(finding, project or self._document.report.project, stale)

    def _show_chosen(self) -> None:
        row = self.model.row_of(self._document.selection.finding)
        index = self.model.index(row) if row >= 0 else QModelIndex()
        if self.list.currentIndex() != index:
            self.list.setCurrentIndex(index)
        self.list.scheduleDelayedItemsLayout()
        self.list.viewport().update()

    def _choose(self, index: QModelIndex) -> None:
        if index.isValid():
            self._document.select_finding(self.model.rows[index.row()].finding.key)

    def _visit(self, index: QModelIndex) -> None:
        if index.isValid():
            self._choose(index)
            self.visited.emit(self.model.rows[index.row()].finding.key)

    def _made_chips(self) -> dict[Severity | None, QToolButton]:
        group = QButtonGroup(self)
        chips: dict[Severity | None, QToolButton] = {}
        for severity in (None, *Severity):
            chip = QToolButton()
            chip.setObjectName("chip")
            chip.setCheckable(True)
            chip.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            chip.setToolTip("Show all findings" if severity is None else f"Show {severity.value}s only")
            chip.clicked.connect(lambda _checked, chosen=severity: self.set_filter(chosen))
            group.addButton(chip)
            chips[severity] = chip
        chips[None].setChecked(True)
        return chips

    def _build(self) -> None:
        self._copy = _plain("Copy the findings", "Copy: the findings shown, as text")
        self._copy.clicked.connect(self.copy)
        self.sort_button = _plain(
            "Sort by place", "Sort by place in the turn; else errors first", checks=True
        )
        self.sort_button.clicked.connect(self.set_by_place)
        self.search_button = _plain(
            "Search", "Search (Ctrl+F in the list): by lane, rule or number", checks=True
        )
        self.search_button.clicked.connect(self.show_search)
        self.search.setPlaceholderText("Lane, rule or number")
        self.search.setAccessibleName("Search the findings")
        self.search.setClearButtonEnabled(True)
        self.search.hide()
        self.search.textChanged.connect(self.refresh)
        self.list.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.list.customContextMenuRequested.connect(self._show_menu)
        self._bar = QHBoxLayout()
        for chip in self._chips.values():
            self._bar.addWidget(chip)
        self.area_chip = QToolButton()
        self.area_chip.setObjectName("chip")
        self.area_chip.setCheckable(True)
        self.area_chip.setToolTip("Show the findings of all areas again")
        self.area_chip.clicked.connect(lambda _checked: self.set_areas(()))
        self.area_chip.hide()
        self.folded = QLabel()
        self.folded.setObjectName("muted")
        self._bar.addWidget(self.area_chip)
        self._bar.addWidget(self.folded)
        self._bar.addStretch(1)
        for button in (self.sort_button, self.search_button, self._copy):
            self._bar.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._bar)
        self._search_row = QHBoxLayout()
        self._search_row.addWidget(self.search)
        column.addLayout(self._search_row)
        self._pages = QStackedLayout()
        self._pages.addWidget(self.list)
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)

    def _fit(self) -> None:
        theme = self._theme
        self._bar.setContentsMargins(theme.px(12), theme.px(6), theme.px(12), theme.px(6))
        self._bar.setSpacing(theme.px(8))
        for severity, chip in self._chips.items():
            chip.setFont(theme.font(12))
            if severity is not None:
                chip.setIcon(theme.icon(SIGNS[severity], 14))
            chip.setIconSize(QSize(theme.px(14), theme.px(14)))
        icons = ((self.sort_button, "crank"), (self.search_button, "search"), (self._copy, "copy"))
        for button, icon in icons:
            button.setIcon(theme.icon(icon, 16, on="accent"))
            button.setIconSize(QSize(theme.px(16), theme.px(16)))
        for label in (self.search, self.area_chip, self.folded):
            label.setFont(theme.font(12))
        self._search_row.setContentsMargins(theme.px(12), 0, theme.px(12), 0)
        self.refresh()


def _plain(name: str, tip: str, *, checks: bool = False) -> QToolButton:
    button = QToolButton()
    button.setObjectName("plain")
    button.setAccessibleName(name)
    button.setToolTip(tip)
    button.setCheckable(checks)
    return button


class _List(QListView):
    """The list of rows; reports when the cure of the chosen one was clicked, or the line of a fold."""

    cure_wanted = Signal()
    fold_wanted = Signal(object, str)

    def __init__(self, model: FindingsModel, theme: Theme) -> None:
        super().__init__()
        self.setModel(model)
        self._rows = FindingRows(theme, self)
        self.setItemDelegate(self._rows)
        self.setObjectName("findings")  # the style sheet draws its focus
        self.setAccessibleName("Findings")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMouseTracking(True)

    def find_room(self) -> None:
        """Show the words of all rows whole where there is room for them."""
        self._rows.find_room(self.model().rowCount())
        self.scheduleDelayedItemsLayout()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Look whether there is room now for all words."""
        super().resizeEvent(event)
        self.find_room()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Do the cure if its words were clicked."""
        super().mouseReleaseEvent(event)
        index = self.indexAt(event.position().toPoint())
        row = index.data(ROW) if index.isValid() else None
        if isinstance(row, FindingRow) and not row.is_finding:
            fold = "all" if row.kind is RowKind.MORE else "folded" if row.is_open else "open"
            self.fold_wanted.emit(row.finding.key, fold)
            return
        if index.isValid() and self._rows.cure_rect(index, self.visualRect(index)).contains(
            event.position().toPoint()
        ):
            self.cure_wanted.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show a hand over the words that do the cure."""
        super().mouseMoveEvent(event)
        index = self.indexAt(event.position().toPoint())
        over = index.isValid() and self._rows.cure_rect(index, self.visualRect(index)).contains(
            event.position().toPoint()
        )
        self.viewport().setCursor(Qt.CursorShape.PointingHandCursor if over else Qt.CursorShape.ArrowCursor)
