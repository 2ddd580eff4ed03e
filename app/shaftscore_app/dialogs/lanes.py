"""Dialogs about lanes: a new one, and the levels of one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres

USUAL_LEVELS: Mapping[str, float] = {"open": 10.0, "closed": 0.0}
"""Levels that a new lane is offered, mm."""

MOST = 64
"""How many levels a lane may have."""


class LevelRows(QWidget):
    """Rows of levels: name, height, and whether it is guarded."""

    def __init__(self, theme: Theme, levels: Mapping[str, float], guarded: Sequence[str] = ()) -> None:
        """Begin with some levels, highest first."""
        super().__init__()
        self._theme = theme
        self._rows: list[tuple[str | None, QLineEdit, Field[float], QCheckBox]] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(theme.px(8))
        self._grid.setVerticalSpacing(theme.px(4))
        for place, text in enumerate(("Level", "Height", "Guarded")):
            head = QLabel(text)
            head.setObjectName("muted")
            head.setFont(theme.font(11))
            self._grid.addWidget(head, 0, place)
        column.addLayout(self._grid)
        add = QPushButton("Add a level")
        add.setFont(theme.font(12))
        add.clicked.connect(self.add_row)
        row = QHBoxLayout()
        row.addWidget(add)
        row.addStretch(1)
        column.addLayout(row)
        for name, mm in sorted(levels.items(), key=lambda item: -item[1]):
            self.add_row(name, mm, name in guarded)

    def add_row(self, name: str | bool = "", mm: float | None = None, guarded: bool = False) -> None:
        """Add a level, an empty one if nothing is given."""
        if len(self._rows) >= MOST:
            return
        text = name if isinstance(name, str) else ""
        line = QLineEdit(text)
        line.setFont(self._theme.font(12))
        line.setAccessibleName("Level, name")
        line.setPlaceholderText("not there")
        height = Field(self._theme, "Height", millimetres(""))
        height.set_shown(mm)
        height.entered.connect(height.set_shown)
        check = TickBox()
        check.setMinimumWidth(self._theme.px(24))
        check.setAccessibleName("Guarded")
        check.setToolTip("Guarded: no move may sweep through this level")
        check.setChecked(guarded)
        row = len(self._rows) + 1
        for place, widget in enumerate((line, height, check)):
            self._grid.addWidget(widget, row, place)
        self._rows.append((text or None, line, height, check))
        if not text:
            line.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def first(self) -> QLineEdit:
        """The name in the first row."""
        return self._rows[0][1]

    def levels(self) -> dict[str, float]:
        """Return name and height of each named row. Raises ValueError for a name without a height."""
        found: dict[str, float] = {}
        for _, line, height, _ in self._rows:
            name = line.text().strip()
            if not name:
                continue
            if height.shown() is None:
                raise ValueError(f"{name} has no height")
            if name in found:
                raise ValueError(f"{name} is there twice")
            found[name] = float(height.given())
        if not found:
            raise ValueError("A lane has at least one level")
        return found

    def guarded(self) -> tuple[str, ...]:
        """Return the names of the guarded levels."""
        rows = ((line.text().strip(), check.isChecked()) for _, line, _, check in self._rows)
        return tuple(name for name, checked in rows if name and checked)

    def renamed(self) -> dict[str, str]:
        """Return old and new name of the levels that have another name now."""
        rows = ((old, line.text().strip()) for old, line, _, _ in self._rows)
        return {old: new for old, new in rows if old and new and old != new}


class LaneDialog(Dialog):
    """Asks for name, group and levels; `accept` is told them and says why they cannot be."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        title: str,
        heading: str,
        rows: LevelRows,
        make: Callable[[LaneDialog], str],
        named: tuple[str, str] | None = None,
    ) -> None:
        """Ask; named: name and group to begin with, None to ask for levels only."""
        super().__init__(parent, theme, title, heading)
        self.rows = rows
        self._make = make
        self.name, self.group = QLineEdit(), QLineEdit()
        if named is not None:
            self._add_names(named)
        self.body.addWidget(rows)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self._fault.setFixedHeight(theme.px(34))
        self.set_buttons((Button("Cancel"), Button(title, self._try, default=True, stays=True)))
        first = self.name if named is not None else rows.first
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def fault(self) -> str:
        """Why it cannot be made, as shown."""
        return self._fault.text()

    def _add_names(self, named: tuple[str, str]) -> None:
        grid = QGridLayout()
        for row, (label, line, text) in enumerate(
            zip(("Name", "Group"), (self.name, self.group), named, strict=True)
        ):
            head = QLabel(label)
            head.setFont(self._theme.font(12))
            line.setFont(self._theme.font(12))
            line.setText(text)
            line.setAccessibleName(label)
            grid.addWidget(head, row, 0)
            grid.addWidget(line, row, 1)
        self.body.addLayout(grid)

    def _try(self) -> None:
        self.setFocus()  # a field that is being typed in enters its value
        try:
            fault = self._make(self)
        except ValueError as error:
            fault = str(error)
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)
