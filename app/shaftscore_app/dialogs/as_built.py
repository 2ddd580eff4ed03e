"""The dialog Correct from measurements: rows of what was measured, and beside them what they say.

Rows are typed or pasted from a spreadsheet (tabs between columns); the estimates follow each change. One
button writes the rows into the project, the other corrects offsets and play, each as one undo step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base import wording
from shaftscore.edits import set_measured
from shaftscore.make.asbuilt import (
    COLUMNS,
    AsBuilt,
    LaneLag,
    correct_as_built,
    estimate,
    next_rows,
    read_log,
    read_rows,
    sheet_readings,
    threshold_text,
)
from shaftscore.make.asbuilt.correcting import new_offset
from shaftscore.make.asbuilt.expected import MeasurableEdge, measurable_edges, with_measured
from shaftscore.model import Project
from shaftscore.model.project import Measured
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, muted
from shaftscore_app.runtime.clipboard import copied_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.scrolling import upright_scroll

FORWARD = "forward"
"""Sense in which edges are measured unless the person says else."""

EXPLAINED = (
    "Turn the machine slowly to where a lane reaches or leaves a level, and write down the angle of its "
    "own stack, read on the driving side; some edges forward and backward. Rows without an angle are left "
    "out. Or log an encoder and switches while you turn: a table with the columns “angle” and, for each "
    "switch, a lane and its level (“A1 open”), or “A1 mm” for an output. Cut the power and turn by hand: "
    "turning parts pinch."
)
ANGLE, EXPECTED = COLUMNS.index("Angle"), len(COLUMNS)
"""Columns of the angle read and of the angle that the program has."""

SPARE_ROWS = 3
"""Empty rows below what is there."""


class MeasuredTable(QTableWidget):
    """The rows, as text; paste and delete work on whole cells.

    The last column says where the program has the edge of a row; such a row without an angle says nothing.
    """

    def __init__(self, theme: Theme) -> None:
        """Make an empty table."""
        super().__init__(SPARE_ROWS, len(COLUMNS) + 1)
        self.setHorizontalHeaderLabels([*COLUMNS, "Expected"])
        self.setAccessibleName("Measured: lane, level, edge, angle in degrees, sense; expected angle")
        self._theme = theme
        self.setFont(theme.font(12))
        self.setStyleSheet(f"QTableWidget {{ gridline-color: {theme.css('line')}; }}")
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(theme.px(24))
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.ResizeToContents)
        self.horizontalHeader().setMinimumSectionSize(theme.px(64))
        self.setTabKeyNavigation(False)

    def text(self) -> str:
        """Return the rows as a spreadsheet copies them; a line without text for each that says nothing."""
        return "\n".join(self._line(row) for row in range(self.rowCount()))

    def _line(self, row: int) -> str:
        cells = self._cells(row)
        expected = self.item(row, EXPECTED)
        if expected is not None and expected.text() and not cells[ANGLE].strip():
            return ""
        return "\t".join(cells).rstrip("\t")

    def show_expected(self, angles: Sequence[float]) -> None:
        """Show where the program has the edges of the first rows, degrees."""
        with muted(self):
            for row, deg in enumerate(angles):
                item = QTableWidgetItem(wording.degrees(deg))
                item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
                item.setForeground(self._theme.color("muted"))
                self.setItem(row, EXPECTED, item)

    def write(self, lines: Sequence[Sequence[str]], row: int = 0, column: int = 0) -> None:
        """Write cells from a place on; rows are added where they are needed."""
        with muted(self):
            self.setRowCount(max(self.rowCount(), row + len(lines) + SPARE_ROWS))
            for down, cells in enumerate(lines):
                if column < ANGLE:
                    self.setItem(row + down, EXPECTED, QTableWidgetItem(""))  # it may be another edge now
                for right, text in enumerate(cells[: len(COLUMNS) - column]):
                    self.setItem(row + down, column + right, QTableWidgetItem(text.strip()))
        self.cellChanged.emit(row, column)

    def paste(self) -> None:
        """Write what was copied elsewhere, from the current cell on."""
        lines = copied_text().rstrip("\r\n").splitlines()
        if lines:
            at = (max(0, self.currentRow()), max(0, self.currentColumn()))
            self.write([line.split("\t") for line in lines], *at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Paste and delete."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste()
        elif event.key() == Qt.Key.Key_Delete:
            for item in self.selectedItems():
                if item.column() != EXPECTED:
                    item.setText("")
        else:
            super().keyPressEvent(event)

    def _cells(self, row: int) -> list[str]:
        items = [self.item(row, column) for column in range(len(COLUMNS))]
        return ["" if item is None else item.text() for item in items]


class AsBuiltDialog(Dialog):
    """The dialog; `found` is what the rows say, None while they cannot be read."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        open_log: Callable[[Callable[[str], object]], object] | None = None,
    ) -> None:
        """Begin with the project's rows; open_log: asks for a file and passes its text on."""
        super().__init__(parent, theme, "Correct from measurements", "Measured on the machine")
        self._document, self._open_log = document, open_log
        sheets = document.committed.bring_up
        solution = document.report.solution
        self._seen = sheet_readings(solution, sheets[-1]) if sheets else []
        words = f"Include {wording.counted(len(self._seen), 'reading')} from Bring-up"
        self.include = Check(theme, words, words)
        self.include.set_shown(bool(self._seen))
        self.found: AsBuilt | None = None
        self.table, self.estimates = MeasuredTable(theme), QLabel()
        self.say(EXPLAINED, muted=True)
        self._add_body()
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self._fault.setMinimumHeight(theme.px(34))
        self.set_buttons(
            (
                Button("Cancel"),
                Button("Keep the rows", self._keep, stays=True),
                Button("Correct from measurements", self._correct, default=True, stays=True),
            )
        )
        self.table.cellChanged.connect(lambda _row, _column: self.refresh())
        self.include.chosen.connect(lambda _include: self.refresh())
        self._fill()
        self.refresh()
        self.resize(theme.px(880), theme.px(580))
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def fault(self) -> str:
        """Why the rows cannot be used, as shown."""
        return self._fault.text()

    def refresh(self) -> None:
        """Estimate from the rows as they are."""
        self.found, fault = None, ""
        try:
            rows, more = self._rows(), self._seen if self.include.isChecked() else []
            if rows or more:
                self.found = estimate(self._document.report.solution, rows, more)
        except ValueError as error:
            fault = str(error)
        self._fault.setText(fault)
        found = self.found
        shown = "Enter measurements to see the estimates."
        if found:
            advice = [row.sentence for row in next_rows(self._document.report.solution, found)]
            shown = estimate_text(self._document.committed, found, advice)
        self.estimates.setText(shown)
        self.button("Correct from measurements").setEnabled(found is not None)

    # Inside

    def _fill(self) -> None:
        """Write a row for every edge of the program, with what was measured there."""
        project = self._document.committed
        edges = with_measured(measurable_edges(self._document.report.solution), project.measured)
        self.table.write([row_of(project, edge) for edge in edges])
        self.table.show_expected([edge.expected_deg for edge in edges])
        self.table.setCurrentCell(0, ANGLE)

    def _rows(self) -> tuple[Measured, ...]:
        return read_rows(self._document.committed, self.table.text())

    def _add_body(self) -> None:
        px = self._theme.px
        row, side = QHBoxLayout(), QVBoxLayout()
        row.setSpacing(px(16))
        paste = QPushButton("Paste rows")
        paste.setFont(self._theme.font(12))
        paste.setAutoDefault(False)
        paste.clicked.connect(self.table.paste)
        self.estimates.setFont(self._theme.font(12))
        self.estimates.setWordWrap(True)
        self.estimates.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.estimates.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.estimates.setMinimumWidth(px(280))
        self._room = upright_scroll(self.estimates)
        self._room.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        side.addWidget(self._room, 1)
        self.include.setVisible(bool(self._seen))
        side.addWidget(self.include)
        buttons = QHBoxLayout()
        buttons.addWidget(paste)
        if self._open_log is not None:
            self.log = QPushButton("Open a log…")
            self.log.setFont(self._theme.font(12))
            self.log.setAutoDefault(False)
            self.log.setToolTip("Read the edges from a log of an encoder and switches (CSV)")
            self.log.clicked.connect(self._ask_log)
            buttons.addWidget(self.log)
        buttons.addStretch(1)
        side.addLayout(buttons)
        row.addWidget(self.table, 1)
        row.addLayout(side)
        self.body.addLayout(row, 1)

    def _ask_log(self) -> None:
        if self._open_log is not None:
            self._open_log(self.take_log)

    def take_log(self, text: str) -> None:
        """Add the edges that a log tells to the rows, and say where its switches were parted."""
        try:
            log = read_log(self._document.report.solution, text)
        except ValueError as error:
            self._fault.setText(str(error))
            return
        project = self._document.committed
        lines = [
            row_of(project, MeasurableEdge(row.lane, row.level, row.edge, row.angle_deg, row))
            for row in log.rows
        ]
        self.table.write(lines, self.table.rowCount() - SPARE_ROWS)
        self.refresh()
        if not self._fault.text():
            parted = (threshold_text(found) for found in log.thresholds)
            self._fault.setText("; ".join((*parted, *log.notes)))

    def _keep(self) -> None:
        self._finish(commit(self._document, lambda: set_measured(self._document.committed, self._rows())))

    def _correct(self) -> None:
        found = self.found
        if found is not None:
            self._finish(commit(self._document, lambda: correct_as_built(self._document.committed, found)))

    def _finish(self, fault: str) -> None:
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)


def row_of(project: Project, edge: MeasurableEdge) -> tuple[str, ...]:
    """Write a row: the lane by its code, which is unique, and its name; no angle where none was measured."""
    lane, row = project.lane(edge.lane_id), edge.measured
    name = f"{lane.code} {lane.label}" if lane.code else lane.id
    angle, sense = ("", FORWARD) if row is None else (wording.plain(row.angle_deg), row.sense)
    return name, edge.level, edge.edge, angle, sense


def estimate_text(project: Project, found: AsBuilt, advice: Sequence[str] = ()) -> str:
    """Write lags with what becomes of the offsets, slack, play of each train, and what to measure next."""
    lines = ["<br>".join(_lane_lines(project, lag)) for lag in found.lanes]
    for play in found.stacks:
        label = escape(next(stack.label for stack in project.stacks if stack.id == play.stack_id))
        if play.play_deg is None:
            lines.append(f"<b>{label}</b>: play unknown; measure an edge forward and backward")
        else:
            lines.append(f"<b>{label}</b>: play {wording.degrees(play.play_deg, 2)} {_spread(play.half_deg)}")
    lines += [escape(sentence) for sentence in advice]
    lines.append(
        "± holds the true value with 95 %. Correcting removes the rows, since they describe the discs "
        "as they were."
    )
    return "<br><br>".join(lines)


def _lane_lines(project: Project, lag: LaneLag) -> Iterator[str]:
    """Yield what the rows say of a lane, and what its offset becomes."""
    lane = project.lane(lag.lane_id)
    offset = wording.degrees(new_offset(project, lag.lane_id, lag.lag_deg), 2)
    yield f"<b>{escape(lane.label)}</b> comes {_late(lag.lag_deg)} {_spread(lag.half_deg)}"
    yield f"Turned by {wording.degrees(lane.offset_deg, 2)}, then {offset}"
    if lag.slack_deg is not None:
        yield f"Falls come {_late(lag.slack_deg)} {_spread(lag.slack_half_deg)} against rises"
    if lag.shape is not None:
        shape = lag.shape
        yield (
            f"Its edges differ more than repeats do: {escape(shape.edge)} of {escape(shape.level)} is "
            f"{_late(shape.late_deg)} on its own. The disc has another shape; compare it with its file."
        )


def _late(lag_deg: float) -> str:
    return f"{wording.degrees(abs(lag_deg), 2)} {'late' if lag_deg >= 0 else 'early'}"


def _spread(half_deg: float | None) -> str:
    return "(no row to spare for an interval)" if half_deg is None else f"± {wording.degrees(half_deg, 2)}"
