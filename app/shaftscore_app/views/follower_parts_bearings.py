"""The chooser of bearings in the Follower parts view: a row a size, with what it would make of the disc."""

from __future__ import annotations

from math import isfinite

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QRadioButton, QWidget

from shaftscore.base import wording
from shaftscore.layout.bearing_choice import BearingChoice
from shaftscore_app.document.binding import muted
from shaftscore_app.theme import Theme

HEADS = ("Size, mm", "Crest, mm", "Pressure", "")
"""Heads of the columns."""


def size_text(choice: BearingChoice) -> str:
    """Return a bearing as its three sizes: "4 × 12 × 4"."""
    size = choice.size
    return " × ".join(wording.plain(value) for value in (size.bore_mm, size.outer_mm, size.width_mm))


def crest_text(choice: BearingChoice) -> str:
    """Return the tightest crest that a disc would have with a bearing."""
    if choice.crest_mm is None:
        return "–"
    return wording.number(choice.crest_mm, 1) if isfinite(choice.crest_mm) else "none"


class BearingRow:
    """The widgets of one bearing."""

    def __init__(self, parent: QWidget) -> None:
        """Make the row."""
        self.button = QRadioButton(parent)
        self.labels = (QLabel(parent), QLabel(parent), QLabel(parent))
        self.choice: BearingChoice | None = None
        for label in self.labels:
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)

    @property
    def widgets(self) -> tuple[QWidget, ...]:
        """All widgets, left to right."""
        return (self.button, *self.labels)

    def show_choice(self, choice: BearingChoice, *, is_read_only: bool) -> None:
        """Show a bearing."""
        self.choice = choice
        pressure = "–" if choice.pressure_deg is None else wording.degrees(choice.pressure_deg)
        for label, text in zip(self.labels, (crest_text(choice), pressure, choice.verdict), strict=True):
            label.setText(text)
            label.setEnabled(choice.works)
        name = f"{size_text(choice)}"
        self.button.setText(name)
        self.button.setChecked(choice.is_chosen)
        self.button.setEnabled((choice.works or choice.is_chosen) and not is_read_only)
        own = " (your own)" if choice.own else ""
        self.button.setToolTip(f"{choice.name}{own}, bore × outside × width in mm: {choice.verdict}")
        self.button.setAccessibleName(f"Bearing {choice.name}, {name} mm: {choice.verdict}")
        for widget in self.widgets:
            widget.show()


class BearingChooser(QWidget):
    """The rows.

    Signals: chosen(BearingChoice) when a person chose another bearing.
    """

    chosen = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Make an empty chooser."""
        super().__init__()
        self._theme = theme
        self.rows: list[BearingRow] = []
        self._group = QButtonGroup(self)
        self._group.setExclusive(False)
        self._grid = QGridLayout(self)
        self._grid.setColumnStretch(0, 1)
        self._heads = [QLabel(text) for text in HEADS]
        for column, head in enumerate(self._heads):
            head.setObjectName("muted")
            way = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
            self._grid.addWidget(head, 0, column, way)
        self.setAccessibleName("Bearing for the roller")
        self.fit()

    def show_choices(self, choices: tuple[BearingChoice, ...], *, is_read_only: bool) -> None:
        """Show the bearings."""
        while len(self.rows) < len(choices):
            self._add()
        with muted(*(row.button for row in self.rows)):
            for row, choice in zip(self.rows, choices, strict=False):
                row.show_choice(choice, is_read_only=is_read_only)
        for row in self.rows[len(choices) :]:
            for widget in row.widgets:
                widget.hide()

    def row(self, name: str) -> BearingRow:
        """Return the row of a bearing; raises StopIteration for one that is not shown."""
        return next(row for row in self.rows if row.choice is not None and row.choice.name == name)

    def _add(self) -> None:
        row = BearingRow(self)
        self.rows.append(row)
        self._group.addButton(row.button)
        for column, widget in enumerate(row.widgets):
            self._grid.addWidget(widget, len(self.rows), column)
        row.button.clicked.connect(lambda _on: self._choose(row))
        self._fit_row(row)

    def _choose(self, row: BearingRow) -> None:
        """Leave the mark where it is until the document says otherwise."""
        assert row.choice is not None
        row.button.setChecked(row.choice.is_chosen)
        if not row.choice.is_chosen:
            self.chosen.emit(row.choice)

    def fit(self) -> None:
        """Take the theme's sizes."""
        px = self._theme.px
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(8))
        self._grid.setVerticalSpacing(px(2))
        for head in self._heads:
            head.setFont(self._theme.font(11))
        for row in self.rows:
            self._fit_row(row)

    def _fit_row(self, row: BearingRow) -> None:
        row.button.setFont(self._theme.font(12, 600))
        for label in row.labels:
            label.setFont(self._theme.font(12))
