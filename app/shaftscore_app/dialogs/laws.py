"""Compare laws: all laws on one lane as a table and a plot, and which is recommended."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QLabel, QTableWidget, QTableWidgetItem, QWidget

from shaftscore.base import wording
from shaftscore.judge.loads import LawComparison, LawRow
from shaftscore.model import Lane, LawName
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import mark_over
from shaftscore_app.views.motion_curves import curves_of
from shaftscore_app.widgets.chart import ChartCanvas
from shaftscore_app.widgets.chart_layout import Chart, ChartLine, Mark
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.dialog_body import room_of

WIDE = (900, 660)
"""Size of the dialog, px of the design."""

USE = "Use this law"
NONE = "–"
STEPS = "steps"

HEADS = (
    ("Law", ""),
    ("Velocity", "mm/s"),
    ("Acceleration", "mm/s²"),
    ("Jerk", "mm/s³"),
    ("Base radius", "mm"),
    ("Pressure angle", "°"),
    ("Contact", "% of allowed"),
    ("Torque", "N·m"),
    ("Holds up to", "rev/min"),
)


class Ink(NamedTuple):
    """How a law is drawn."""

    token: str
    width: float
    dashed: bool = False


OTHERS, NOW, CHOSEN = Ink("grid-major", 1.0), Ink("l0-edge", 1.25, dashed=True), Ink("curve", 1.75)


class LawsDialog(Dialog):
    """The table; the chosen law's acceleration is drawn over that of the present one and of all others."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        lane: Lane,
        comparison: LawComparison,
        use: Callable[[LawName], str],
    ) -> None:
        """Show a comparison; use: makes a law the lane's, gives a fault or an empty text."""
        super().__init__(parent, theme, "Compare laws", f"Laws for {lane.label}")
        self._lane, self._comparison, self._use = lane, comparison, use
        self.say(comparison.reason)
        self.table = self._made_table()
        self.body.addWidget(self.table)
        self.plot = ChartCanvas(theme, "Acceleration, mm/s²")
        self.plot.setMinimumHeight(theme.px(150))
        self.caption = self.say("", muted=True)
        self.body.addWidget(self.plot, 1)
        self._fault = QLabel()
        self._fault.setObjectName("fault")
        self._fault.setWordWrap(True)
        self._fault.hide()
        self.body.addWidget(self._fault)
        self.set_buttons(
            (
                Button("Copy as table", self.copy, stays=True),
                Button(USE, self._take, stays=True),
                Button("Close", default=True),
            )
        )
        self.table.itemSelectionChanged.connect(self._show_chosen)
        self.choose(comparison.recommended or lane.law)
        self.resize(theme.px(WIDE[0]), theme.px(WIDE[1]))

    @property
    def chosen(self) -> LawRow:
        """The law that is chosen in the table."""
        return self._comparison.rows[max(0, self.table.currentRow())]

    def choose(self, law: str) -> None:
        """Choose a law; the first one if it is not in the table."""
        names: list[str] = [row.law for row in self._comparison.rows]
        self.table.selectRow(names.index(law) if law in names else 0)
        self._show_chosen()

    def copy(self) -> None:
        """Copy the table: heads with units, a row a law, tabs between."""
        heads = [f"{head}, {unit}" if unit else head for head, unit in HEADS]
        rows = [heads, *([row.title, *cells(row)] for row in self._comparison.rows)]
        QGuiApplication.clipboard().setText("\n".join("\t".join(row) for row in rows))

    # Inside

    def _take(self) -> None:
        fault = self._use(self.chosen.law)
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))
        if not fault:
            self.done(Dialog.DialogCode.Accepted)

    def _made_table(self) -> QTableWidget:
        rows = self._comparison.rows
        table = QTableWidget(len(rows), len(HEADS))
        table.setAccessibleName("Laws")
        table.setFont(self._theme.font(12))
        table.horizontalHeader().setFont(self._theme.font(11, 500))
        table.setHorizontalHeaderLabels([f"{head}\n{unit}" for head, unit in HEADS])
        table.verticalHeader().hide()
        table.verticalHeader().setDefaultSectionSize(self._theme.px(24))
        table.setShowGrid(False)
        table.setTabKeyNavigation(False)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        for number, row in enumerate(rows):
            self._fill(table, number, row)
        header = table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        if header.length() <= self._theme.px(WIDE[0] - 48) and header.length() <= room_of(self).width():
            header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        height = self._theme.px(24) * len(rows) + header.sizeHint().height() + 4
        table.setMinimumHeight(min(height + self._theme.px(14), self._theme.px(340)))
        return table

    def _fill(self, table: QTableWidget, number: int, row: LawRow) -> None:
        title = row.title
        remarks = [
            "best" if row.law == self._comparison.recommended else "",
            "now" if row.law == self._lane.law else "",
        ]
        said = ", ".join(filter(None, remarks))
        first = QTableWidgetItem(f"{title}  ({said})" if said else title)
        if row.law == self._comparison.recommended:
            first.setFont(self._theme.font(12, 600))
        first.setToolTip(row.why_not)
        table.setItem(number, 0, first)
        for column, text in enumerate(cells(row), start=1):
            item = QTableWidgetItem(text)
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            item.setToolTip(_tip(row, column))
            if _is_over(row, column, self._comparison.speed_rpm):
                mark_over(item, self._theme, "over the limit")
            table.setItem(number, column, item)

    def _show_chosen(self) -> None:
        row = self.chosen
        self.plot.set_chart(self._chart(row))
        now = self._comparison.rows
        present = next((other for other in now if other.law == self._lane.law), None)
        beside = f"; dashed: {present.title}, the lane’s now" if present and present is not row else ""
        self.caption.setText(row.why_not or f"Acceleration with {row.title}, mm/s²{beside}; pale: the others")
        if self._buttons:
            self.button(USE).setEnabled(not row.why_not)

    def _chart(self, row: LawRow) -> Chart:
        present = [
            other for other in self._comparison.rows if other.law == self._lane.law and other is not row
        ]
        others = [other for other in self._comparison.rows if other is not row and other not in present]
        drawn = (*((other, OTHERS) for other in others), *((other, NOW) for other in present), (row, CHOSEN))
        lines = [line for other, ink in drawn if (line := _acceleration(other, ink)) is not None]
        summary = f"{row.title}: peak acceleration {cells(row)[1]} mm/s²"
        return Chart("mm/s²", tuple(lines), (), _peak(lines, row), summary)


def cells(row: LawRow) -> list[str]:
    """Write a row's figures in the order of the heads, without their units."""
    if row.why_not:
        return [NONE] * (len(HEADS) - 1)
    return [
        _three(row.velocity),
        _three(row.acceleration),
        _three(row.jerk),
        wording.number(row.base_radius_mm, 2),
        wording.number(row.pressure_deg, 1),
        _known(None if row.stress_used is None else 100 * row.stress_used, 0),
        _known(row.torque_nm, 2),
        NONE if row.top_rpm is None else _rpm(row.top_rpm),
    ]


def _known(value: float | None, decimals: int) -> str:
    """Write a figure of the load; what is infinite is that of a follower that its guide locks."""
    if value is None:
        return NONE
    return wording.number(value, decimals) if math.isfinite(value) else "locks"


def _rpm(rpm: float) -> str:
    return "any" if math.isinf(rpm) else wording.number(rpm, 0 if rpm >= 100 else 1)


def _three(value: float) -> str:
    """Write about three significant figures; what is infinite steps."""
    if not math.isfinite(value):
        return STEPS
    return wording.number(value, max(0, 2 - math.floor(math.log10(value))) if value > 0 else 0)


def _tip(row: LawRow, column: int) -> str:
    if row.why_not:
        return row.why_not
    if column == 5:
        return f"{wording.percent(100 * row.pressure_used)} of its limit"
    if column == 4 and row.undercut:
        return "the disc is undercut"
    return "a step in the quantity to the left" if column == 3 and row.steps == 1 else ""


def _is_over(row: LawRow, column: int, speed: float) -> bool:
    """Return whether a figure breaks a limit."""
    if row.why_not:
        return False
    over = {4: row.undercut, 5: row.pressure_used > 1 + 1e-6}
    over[6] = row.stress_used is not None and row.stress_used > 1 + 1e-6
    over[8] = row.top_rpm is not None and row.top_rpm < speed * (1 - 1e-6)
    return over.get(column, False)


def _acceleration(row: LawRow, ink: Ink) -> ChartLine | None:
    """Return the acceleration over one turn of the master shaft."""
    curves = curves_of(row.solved) if row.solved is not None else None
    if curves is None:
        return None
    theta, values = curves.theta_deg, curves.values[2]
    inside = (theta >= 0) & (theta <= 360)
    ends = np.interp([0.0, 360.0], theta, values)
    shown = (
        np.concatenate([[0.0], theta[inside], [360.0]]),
        np.concatenate([ends[:1], values[inside], ends[1:]]),
    )
    return ChartLine(*shown, ink.token, ink.width, dashed=ink.dashed)


def _peak(lines: list[ChartLine], row: LawRow) -> tuple[Mark, ...]:
    if not lines or not math.isfinite(row.acceleration):
        return ()
    line = lines[-1]
    at = int(np.argmax(np.abs(line.values)))
    deg, value = float(line.theta_deg[at]), float(line.values[at])
    return (Mark(deg, value, f"peak {_three(abs(value))} at {wording.degrees(deg)}"),)
