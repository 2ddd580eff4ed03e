"""A small table of records: one row each, a column a field, rows added and removed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QToolButton, QVBoxLayout, QWidget

from shaftscore.base.errors import Fault
from shaftscore.edits.drafts import inside
from shaftscore_app.forms.draft import ABSENT, Absent, Draft, Entry, Value, draft_in, first_step
from shaftscore_app.forms.editors import ChoiceEditor, FieldEditor
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme

MOST_COLUMNS, LINE = 8, 6
"""A table of more columns breaks each of its rows into lines of so many cells, each under its heading."""

Column = tuple[str, str]
"""Key in the draft ("" where the row is one value) and heading."""


class RowsEditor(FieldEditor):
    """The table.

    cells: makes the editors of a row, given its number, in the order of the columns.
    """

    def __init__(
        self,
        spec: Spec,
        theme: Theme,
        *,
        noun: str,
        columns: Sequence[Column],
        cells: Callable[[int], Sequence[FieldEditor]],
        starter: Callable[[int], Draft],
    ) -> None:
        """Begin without rows; noun: what a row is, starter: the draft of a new row by its number."""
        super().__init__(spec)
        self._theme, self._noun, self._columns, self._cells, self._starter = (
            theme,
            noun,
            columns,
            cells,
            starter,
        )
        self._may_go = spec.empty is not None or spec.default == ()
        self._rows: list[Sequence[FieldEditor]] = []
        # The marks of the cells are those of the table, also while it has no row.
        self.marks |= frozenset().union(*(cell.all_marks() for cell in self._probe()))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(4))
        self._holder = QWidget()
        self._holder_row = QVBoxLayout()
        self._holder_row.setContentsMargins(0, 0, 0, 0)
        self._holder_row.addWidget(self._holder)
        column.addLayout(self._holder_row)
        self.add = QPushButton(f"Add a {noun}")
        self.add.setFont(theme.font(12))
        self.add.setAutoDefault(False)
        self.add.clicked.connect(self._add)
        line = QHBoxLayout()
        line.addWidget(self.add)
        line.addStretch(1)
        self.setFocusProxy(self.add)
        column.addLayout(line)
        self._build(())

    def _probe(self) -> Sequence[FieldEditor]:
        cells = self._cells(0)
        for cell in cells:
            cell.deleteLater()
        return cells

    def value(self) -> Entry:
        """Return a tuple of drafts; `ABSENT` where there may be none and there is none."""
        drafts = tuple(self._row_value(cells) for cells in self._rows)
        return ABSENT if self._may_go and not drafts else drafts

    def set_value(self, value: Entry) -> None:
        """Show rows."""
        self._build(value if isinstance(value, tuple) else ())

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark cells; gives all faults, with the row's number before those of a row."""
        faults = [Fault(fault.path, self._numbered(fault.message)) for fault in faults]
        told = [fault for fault in faults if not fault.path.startswith("[")]
        for number, cells in enumerate(self._rows):
            own = inside(list(faults), f"[{number}]")
            for cell, (key, head) in zip(cells, self._columns, strict=True):
                mine = own if key == "" else inside(own, key)
                cell.set_faults(mine)
                named = f"{self._noun.capitalize()} {number + 1}, {(head or 'value').lower()}"
                told += [Fault("", f"{named}: {fault.message}") for fault in mine]
            told += [
                Fault("", f"{self._noun.capitalize()} {number + 1}: {f.message}") for f in own if not f.path
            ]
        return list(dict.fromkeys(told))

    def _numbered(self, message: str) -> str:
        """Write a message with the rows that it names, such as frictions[0], as rows are counted: case 1."""
        key = self.spec.key if self.spec is not None else ""
        return re.sub(rf"\b{key}\[(\d+)\]", lambda found: f"{self._noun} {int(found[1]) + 1}", message)

    def unread(self) -> str:
        """Describe why what is typed in a cell cannot be read."""
        return next((said for cells in self._rows for cell in cells if (said := cell.unread())), "")

    def left_unread(self) -> str:
        """Describe why what was left in a cell cannot be read."""
        return next((said for cells in self._rows for cell in cells if (said := cell.left_unread())), "")

    def field_at(self, path: str) -> QWidget:
        """Return the cell of a path; for the table itself its first cell, or the button that adds a row."""
        place, rest = first_step(path)
        number = place if isinstance(place, int) else 0
        if number >= len(self._rows):
            return self.add
        key, _ = first_step(rest)
        cells = zip(self._rows[number], self._columns, strict=True)
        return next((cell for cell, (own, _) in cells if own == key), self._rows[number][0])

    def refresh(self) -> None:
        """Offer again what is chosen from lists."""
        for cells in self._rows:
            for cell in cells:
                cell.refresh()

    # Inside

    def _row_value(self, cells: Sequence[FieldEditor]) -> Value:
        found: dict[str, Value] = {}
        for cell, (key, _) in zip(cells, self._columns, strict=True):
            value = cell.value()
            if isinstance(value, Absent):
                continue
            if key == "":
                return value
            found[key] = value
        return found

    def _build(self, drafts: Sequence[Value]) -> None:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self._theme.px(6))
        grid.setVerticalSpacing(self._theme.px(4))
        self._rows = []
        if drafts and not self._is_broken:
            for place, (_, head) in enumerate(self._columns):
                grid.addWidget(self._head(head), 0, place)
        for number, draft in enumerate(drafts):
            self._add_cells(grid, number, draft)
        self._holder_row.replaceWidget(self._holder, holder)
        self._holder.hide()
        self._holder.setParent(None)  # it is not to be found any more
        self._holder.deleteLater()
        self._holder = holder
        holder.show()

    @property
    def _is_broken(self) -> bool:
        """Whether a row takes several lines."""
        return len(self._columns) > MOST_COLUMNS

    def _at(self, number: int, place: int) -> tuple[int, int]:
        """Return line and column of a cell: below one line of headings, or each line below its own."""
        if not self._is_broken:
            return number + 1, place
        lines = -(-len(self._columns) // LINE)
        line = place // LINE
        return 2 * (number * lines + line) + 1, place - LINE * line

    def _head(self, text: str) -> QLabel:
        head = QLabel(text)
        head.setObjectName("muted")
        head.setFont(self._theme.font(11))
        return head

    def _add_cells(self, grid: QGridLayout, number: int, draft: Value) -> None:
        cells = self._cells(number)
        for place, (cell, (key, _)) in enumerate(zip(cells, self._columns, strict=True)):
            cell.set_value(draft if key == "" else draft_in(draft).get(key, ABSENT))
            cell.changed.connect(self.changed)
            line, column = self._at(number, place)
            if self._is_broken:
                head = self._head(self._columns[place][1])
                grid.addWidget(head, line - 1, column, Qt.AlignmentFlag.AlignBottom)
                grid.setColumnStretch(column, 1)
            else:
                grid.setColumnStretch(column, 3 if isinstance(cell, ChoiceEditor) else 2)
            grid.addWidget(cell, line, column)
        if self._is_broken and number:
            grid.setRowMinimumHeight(self._at(number, 0)[0] - 1, self._theme.px(28))
        away = QToolButton()
        away.setObjectName("plain")
        away.setIcon(self._theme.icon("delete", 16))
        away.setIconSize(QSize(self._theme.px(16), self._theme.px(16)))
        away.setAccessibleName(f"Remove {self._noun} {number + 1}")
        away.setToolTip(away.accessibleName())
        away.clicked.connect(lambda _on=False, place=number: self._remove(place))
        grid.addWidget(away, self._at(number, 0)[0], min(len(cells), LINE) if self._is_broken else len(cells))
        self._rows.append(cells)

    def _drafts(self) -> list[Value]:
        return [self._row_value(cells) for cells in self._rows]

    def _add(self) -> None:
        drafts = self._drafts()
        self._build([*drafts, self._starter(len(drafts))])
        first = next(iter(self._rows[-1][0].controls()), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)
        self.changed.emit()

    def _remove(self, place: int) -> None:
        drafts = self._drafts()
        self._build([*drafts[:place], *drafts[place + 1 :]])
        self.add.setFocus(Qt.FocusReason.OtherFocusReason)
        self.changed.emit()
