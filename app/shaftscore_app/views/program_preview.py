"""The preview: the state table that the draft makes, and the machine's front step by step."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    QTimer,
    Signal,
)
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base import wording
from shaftscore.edits.state_table import filled, read_states
from shaftscore.program.frames import ranked_levels
from shaftscore.program.laying import shown_columns
from shaftscore.program.meaning import starts_of
from shaftscore.program.places import is_programmed
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.program_painting import paint_ground, paint_level, paint_rest
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import frame_name, lane_code
from shaftscore_app.views.state_table_cells import StateHeads

Index = QModelIndex | QPersistentModelIndex
LEAST_MS, MOST_MS = 200, 2000
"""Least and most time for which a step is shown while the preview plays, ms."""


class ProgramTable(QAbstractTableModel):
    """The states of all lanes in each step; lanes without a place keep theirs and are muted.

    It keeps the draft that it was given last: heads and cells are asked for at any time, also between a
    change of the session's draft and `take`.
    """

    def __init__(self, session: ProgramSession) -> None:
        """Show what a session's draft makes."""
        super().__init__()
        self._session = session
        self._draft, self._project = session.draft, session.project
        self.lanes: tuple[str, ...] = ()
        self._columns: dict[str, tuple[str, ...]] = {}
        self.take()

    def take(self) -> None:
        """Take the draft as it is now."""
        self.beginResetModel()
        self._draft, self._project = self._session.draft, self._session.project
        placed, project = self._draft.grid.lanes, self._project
        others = [lane.id for lane in project.lanes if is_programmed(lane) and lane.id not in placed]
        self.lanes = (*placed, *others)
        self._columns = {own: filled(column) for own, column in shown_columns(self._draft).items()}
        for own in others:
            self._columns[own] = filled(read_states(project, project.lane(own)).column)
        self.endResetModel()

    def words(self) -> set[str]:
        """Return every level and every code that is shown."""
        lanes = [self._project.lane(own) for own in self.lanes]
        return {word for lane in lanes for word in (*lane.levels, lane.code or lane.label)}

    def rank(self, lane_id: str, level: str) -> int:
        """Return the rank of a level of a lane, counted from 0."""
        return ranked_levels(self._project, lane_id).index(level)

    def level(self, step: int, lane_id: str) -> str:
        """Return the level of a lane in a step, counted from 0; empty where it has none."""
        column = self._columns.get(lane_id, ())
        return column[step] if step < len(column) else ""

    def is_left_out(self, lane_id: str) -> bool:
        """Return whether a lane has no place, and keeps its program."""
        return lane_id not in self._draft.grid.lanes

    def is_quiet(self, step: int, lane_id: str) -> bool:
        """Return whether a lane is at rest in a step."""
        return (
            lane_id in self._draft.meanings
            and self.level(step, lane_id) == self._draft.meanings[lane_id].rest
        )

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Return the count of steps."""
        return 0 if parent.isValid() else len(self._draft.frames)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's signature
        """Return the count of lanes."""
        return 0 if parent.isValid() else len(self.lanes)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return a level, or what a screen reader says of the cell."""
        lane_id = self.lanes[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return self.level(index.row(), lane_id)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            keeps = ", keeps its program" if self.is_left_out(lane_id) else ""
            step = frame_name(self._draft, index.row())
            code = lane_code(self._project, lane_id)
            return f"{step}, {code}: {self.level(index.row(), lane_id)}{keeps}"
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the code of a lane, or number, name and angle of a step."""
        across = orientation == Qt.Orientation.Horizontal
        count = self.columnCount() if across else self.rowCount()
        if role != Qt.ItemDataRole.DisplayRole or section >= count:
            return None  # while one head is reset the other still has the sections that it had
        if across:
            return lane_code(self._project, self.lanes[section])
        starts = starts_of(self._project, len(self._draft.frames))
        return f"{frame_name(self._draft, section)}   {wording.plain(round(starts[section], 1))}°"


class ProgramCells(QStyledItemDelegate):
    """Paints a cell: a body in the level's look, rest in quiet letters."""

    def __init__(self, theme: Theme, session: ProgramSession, parent: QWidget) -> None:
        """Paint in a theme."""
        super().__init__(parent)
        self._theme, self._session, self.look = theme, session, DiagramStyle(theme)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        model = index.model()
        assert isinstance(model, ProgramTable)
        theme, rect = self._theme, option.rect
        lane_id, level = model.lanes[index.column()], str(index.data() or "")
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = index.row() == self._session.frame
        painter.fillRect(rect, theme.color("accent-soft" if chosen else "strip"))
        quiet = not level or model.is_left_out(lane_id) or model.is_quiet(index.row(), lane_id)
        painter.setFont(theme.font(12, 400 if quiet else 600))
        if not quiet:
            self._paint_body(painter, rect, model.rank(lane_id, level), level)
        else:
            painter.setPen(theme.color("muted"))
        shown = painter.fontMetrics().elidedText(level, Qt.TextElideMode.ElideRight, rect.width() - 6)
        painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, shown)
        painter.restore()

    def _paint_body(self, painter: QPainter, rect: QRect, rank: int, level: str) -> None:
        """Draw a body with its level's look, plain under the letters."""
        look, u = self.look, self._theme.u
        style = look.level(rank)
        body = QRectF(rect).adjusted(3 * u, 2 * u, -3 * u, -2 * u)
        paint_body(painter, look, body, style)
        paint_edge(painter, body, style.edge, 1.25 * u, u)
        wide = painter.fontMetrics().horizontalAdvance(level) + 8 * u
        plain = QRectF(body.center().x() - wide / 2, body.top() + 3 * u, wide, body.height() - 6 * u)
        painter.fillRect(plain.intersected(body), style.fill)
        painter.setPen(style.text)


class DisplayPicture(QWidget):
    """The front of the machine in the chosen step."""

    def __init__(self, session: ProgramSession, theme: Theme, table: ProgramTable) -> None:
        """Draw what the table says."""
        super().__init__()
        self._session, self._theme, self._table = session, theme, table
        self._look = DiagramStyle(theme)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Front of the machine")
        theme.changed.connect(self._look.forget)

    def sizeHint(self) -> QSize:
        """Return the size at which it is easy to read."""
        return QSize(self._theme.px(220), self._theme.px(150))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(120), self._theme.px(70))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the lanes at the levels that they have in the step."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        session, u = self._session, self._theme.u
        grid = session.draft.grid
        size = min((self.width() - 4) / grid.columns, (self.height() - 4) / (grid.rows * 0.92))
        left = (self.width() - size * grid.columns) / 2
        for row, lanes in enumerate(grid.cells):
            for column, lane_id in enumerate(lanes):
                cell = QRectF(left + column * size, 2 + row * size * 0.92, size, size * 0.92)
                self._draw(painter, cell.adjusted(u, u, -u, -u), lane_id)
        painter.setPen(QPen(self._theme.color("edge"), 1.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(
            QRectF(left - 1, 1, size * grid.columns + 2, size * 0.92 * grid.rows + 2), 3 * u, 3 * u
        )

    def _draw(self, painter: QPainter, cell: QRectF, lane_id: str | None) -> None:
        session, table = self._session, self._table
        paint_ground(painter, self._look, cell, empty=lane_id is None)
        if lane_id is None:
            return
        level = table.level(session.frame, lane_id)
        if level not in session.project.lane(lane_id).levels or table.is_quiet(session.frame, lane_id):
            rest = session.draft.meanings[lane_id].rest
            paint_rest(painter, self._look, cell, project=session.project, lane_id=lane_id, rest=rest)
        else:
            paint_level(painter, self._look, cell, project=session.project, lane_id=lane_id, level=level)


class ProgramPreview(QWidget):
    """Table and picture, with buttons that go step by step.

    Signals: stepped() when another step is shown.
    """

    stepped = Signal()

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Show what a session's draft makes."""
        super().__init__()
        self._session, self._theme = session, theme
        self.model = ProgramTable(session)
        self.table = QTableView()
        self.cells = ProgramCells(theme, session, self.table)
        self.picture = DisplayPicture(session, theme, self.model)
        self.title, self.step = QLabel("Preview of the state table"), QLabel()
        self.back, self.play, self.on = QToolButton(), QToolButton(), QToolButton()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self._play_on)
        self._build()
        theme.changed.connect(self._fit)
        self._fit()

    def follow(self) -> None:
        """Show the draft as it is now."""
        self.model.take()
        session = self._session
        starts = starts_of(session.project, len(session.draft.frames))
        count = len(session.draft.frames)
        name = f", {session.chosen.name}" if session.chosen.name else ""
        angle = wording.degrees(starts[session.frame])
        self.step.setText(f"Step {session.frame + 1} of {count}{name}, {angle}")
        self.picture.setAccessibleDescription(self._said())
        self.picture.update()
        self.table.scrollTo(self.model.index(session.frame, 0))
        if self._scaled != self._theme.u or self._lanes != self.model.lanes:
            self._size()

    def _said(self) -> str:
        """Describe the front of the machine in the chosen step."""
        session, model = self._session, self.model
        away = [
            f"{lane_code(session.project, own)} {model.level(session.frame, own)}"
            for own in session.draft.grid.lanes
            if not model.is_quiet(session.frame, own)
        ]
        return f"{self.step.text()}: {', '.join(away) or 'all at rest'}"

    # Step by step

    def go(self, by: int) -> None:
        """Show the step so many on, round and round."""
        count = len(self._session.draft.frames)
        self._session.choose_frame((self._session.frame + by) % count)
        self.stepped.emit()

    @property
    def is_playing(self) -> bool:
        """Whether steps follow one another by themselves."""
        return self._timer.isActive()

    def toggle_play(self) -> None:
        """Let the steps follow one another in the time that the machine takes, or stop."""
        if self.is_playing:
            self.stop()
        else:
            self._wait()
        self._fit_play()

    def stop(self) -> None:
        """Stop playing."""
        self._timer.stop()
        self._fit_play()

    def _wait(self) -> None:
        session = self._session
        starts = starts_of(session.project, len(session.draft.frames))
        following = [*starts[1:], 360.0]
        wide = following[session.frame] - starts[session.frame]
        took = 1000 * wide / (6.0 * session.project.shaft.speed_rpm)
        self._timer.start(round(max(LEAST_MS, min(took, MOST_MS))))

    def _play_on(self) -> None:
        self.go(1)
        self._wait()
        self._fit_play()

    # Building

    def _build(self) -> None:
        self._scaled, self._lanes = 0.0, self.model.lanes
        self.table.setModel(self.model)
        self.table.setItemDelegate(self.cells)
        self.table.setHorizontalHeader(StateHeads(Qt.Orientation.Horizontal, self._theme, self._mark))
        self.table.setVerticalHeader(StateHeads(Qt.Orientation.Vertical, self._theme, self._mark))
        self.table.setFrameShape(QFrame.Shape.NoFrame)
        self.table.setAccessibleName("Preview of the state table")
        self.table.setEditTriggers(QTableView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.setShowGrid(False)
        self.table.clicked.connect(lambda index: self._session.choose_frame(index.row()))
        self.table.selectionModel().currentRowChanged.connect(self._choose_row)
        for button, name, does in (
            (self.back, "Step back", lambda: self.go(-1)),
            (self.play, "Play", self.toggle_play),
            (self.on, "Step forward", lambda: self.go(1)),
        ):
            button.setObjectName("plain")
            button.setAccessibleName(name)
            button.setToolTip(f"{name}: show the front of the machine step by step")
            button.clicked.connect(does)
        bar = QHBoxLayout()
        bar.addWidget(self.title)
        bar.addStretch(1)
        for widget in (self.step, self.back, self.play, self.on):
            bar.addWidget(widget)
        body = QHBoxLayout()
        body.addWidget(self.table, 1)
        body.addWidget(self.picture)
        column = QVBoxLayout(self)
        column.addLayout(bar)
        column.addLayout(body, 1)
        self._bar, self._body, self._column = bar, body, column

    def _mark(self, section: int, is_column: bool) -> str:
        """Return which head is marked: the chosen frame's."""
        return "now" if not is_column and section == self._session.frame else ""

    def _choose_row(self, now: QModelIndex, _before: QModelIndex) -> None:
        if now.isValid() and self.table.hasFocus():
            self._session.choose_frame(now.row())

    def _size(self) -> None:
        px = self._theme.px
        self._scaled, self._lanes = self._theme.u, self.model.lanes
        metrics = self.table.fontMetrics()
        texts = self.model.words()
        wide = max((metrics.horizontalAdvance(text) for text in texts), default=px(40)) + px(20)
        self.table.horizontalHeader().setDefaultSectionSize(min(wide, px(120)))
        self.table.verticalHeader().setDefaultSectionSize(px(24))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.cells.look.forget()
        self._column.setContentsMargins(px(12), px(8), px(12), px(8))
        self._column.setSpacing(px(4))
        self._body.setSpacing(px(12))
        self.title.setFont(theme.font(13, 600))
        self.step.setFont(theme.font(12))
        self.table.setFont(theme.font(12, 600))
        for header in (self.table.horizontalHeader(), self.table.verticalHeader()):
            header.setFont(theme.font(12, 600))
        self.table.verticalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignVCenter)
        for button, icon in ((self.back, "step-back"), (self.on, "step-forward")):
            button.setIcon(theme.icon(icon, 16))
            button.setIconSize(QSize(px(16), px(16)))
        self._fit_play()
        self._size()

    def _fit_play(self) -> None:
        px = self._theme.px
        self.play.setIcon(self._theme.icon("pause" if self.is_playing else "play", 16))
        self.play.setAccessibleName("Pause" if self.is_playing else "Play")
        self.play.setIconSize(QSize(px(16), px(16)))
