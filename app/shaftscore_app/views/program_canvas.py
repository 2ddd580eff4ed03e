"""The frames of the Program maker with mouse and keys.

A click or a drag paints with the brush, with the right button back to rest; a stroke is one step. Keys:
arrows go by cell and on into the next frame, 1 to 9 paint by rank, Space repeats, Backspace and Del are rest,
Ctrl+Left and Right choose a frame, Alt+Left and Right move it, M mirrors, S then an arrow shifts (with Shift
it wraps), Ctrl+C, X, V and D work on the whole frame, F2 names it.
"""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QFrame, QLineEdit, QScrollArea, QSizePolicy, QWidget

from shaftscore.program.frames import mirrored, shifted
from shaftscore.program.pictures import art_of
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.program_painting import paint_ground, paint_level, paint_rest
from shaftscore_app.views.program_places import Cell, FramePlaces, frame_places
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import cell_text, frame_name, visits_texts

Keys = Qt.Key
ARROWS = {Keys.Key_Left: (0, -1), Keys.Key_Right: (0, 1), Keys.Key_Up: (-1, 0), Keys.Key_Down: (1, 0)}
"""Rows down and columns right of each arrow."""

OWN_KEYS = (
    QKeySequence.StandardKey.Copy,
    QKeySequence.StandardKey.Cut,
    QKeySequence.StandardKey.Paste,
    QKeySequence.StandardKey.Delete,
)
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier


class FramesCanvas(QWidget):
    """The drawing of all frames. Over 300 lines, since mouse and every key of it arrive here.

    Signals: copied(text), pasted() when frames go over the clipboard; seen(rect) when a place shall be
    scrolled to.
    """

    copied = Signal(str)
    pasted = Signal()
    seen = Signal(object)

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Draw the frames of a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self._look = DiagramStyle(theme)
        self._room = QSize(600, 400)
        self._stroke: Qt.MouseButton | None = None
        self._shifting = False
        self._said = ""
        self._remarks: tuple[object, tuple[str, ...]] = (None, ())
        self.name = QLineEdit(self)
        self.name.setAccessibleName("Name of the frame")
        self.name.hide()
        self.name.editingFinished.connect(self._end_name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Frames")
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        EventWatch(self, self._on_event)
        session.changed.connect(self._follow)
        theme.changed.connect(self._restyle)

    @property
    def places(self) -> FramePlaces:
        """Where frames and cells are."""
        grid, count = self._session.draft.grid, len(self._session.draft.frames)
        room = QRectF(0.0, 0.0, float(self._room.width()), float(self._room.height()))
        return frame_places(count, grid.rows, grid.columns, room=room, u=self._theme.u)

    def take_room(self, room: QSize) -> None:
        """Lay the frames into a room that is seen at once; what does not fit is scrolled."""
        self._room = room
        self._resize()

    def _resize(self) -> None:
        self.setMinimumHeight(round(self.places.height))
        self.update()

    def _follow(self) -> None:
        """Show what has changed, and describe it to those who do not see it."""
        self._resize()
        said = cell_text(self._session)
        self.setAccessibleDescription(said)
        self.seen.emit(self.places.cell(self._session.frame, self._session.cell))
        if self.hasFocus() and said != self._said:
            self.say(said)
        self._said = said

    def say(self, text: str) -> None:
        """Let screen readers hear a sentence."""
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    def _restyle(self) -> None:
        self._look.forget()
        self.name.setFont(self._theme.font(12, 600))
        self._resize()

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(120), self._theme.px(80))

    # Mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose a frame, or begin to paint."""
        places, button = self.places, event.button()
        frame = places.frame_at(event.position())
        if frame is None or button not in (Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton):
            return
        cell = places.cell_at(frame, event.position())
        if cell is None:
            self._session.choose_frame(frame)
            return
        self._session.choose_cell(frame, cell)
        self._session.begin_stroke()
        self._stroke = button
        self._paint_at(cell)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Paint on within the frame."""
        if self._stroke is None:
            return
        cell = self.places.cell_at(self._session.frame, event.position())
        if cell is not None and cell != self._session.cell:
            for step in _between(self._session.cell, cell):
                self._session.choose_cell(self._session.frame, step)
                self._paint_at(step)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End the stroke."""
        if event.button() is self._stroke:
            self._stroke = None
            self._session.end_stroke()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Name a frame whose head is double-clicked; in a cell it is one more press."""
        frame = self.places.frame_at(event.position())
        if frame is not None and self.places.head(frame).contains(event.position()):
            self._session.choose_frame(frame)
            self.begin_name()
        else:
            self.mousePressEvent(event)

    def _paint_at(self, cell: Cell) -> None:
        is_rest = self._stroke is Qt.MouseButton.RightButton
        self._session.paint(None if is_rest else self._session.brush, [cell])

    # Keys

    def _on_event(self, event: QEvent) -> bool:
        """Keep the keys of frames from the window's commands."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return False
        if any(map(event.matches, OWN_KEYS)) or self._action(event) is not None:
            event.accept()
            return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what a key means."""
        action = self._action(event)
        was_shifting, self._shifting = self._shifting, False
        if was_shifting and Keys(event.key()) is Keys.Key_Shift:
            self._shifting = True  # it only says that the picture wraps
        if action is not None:
            action()
        else:
            super().keyPressEvent(event)
        if was_shifting != self._shifting:
            self.update()

    def _action(self, event: QKeyEvent) -> Callable[[], object] | None:
        """Return what a key does; None where it does nothing here."""
        key, session = Keys(event.key()), self._session
        mods = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if key in ARROWS and (mods == NONE or (self._shifting and mods == SHIFT)):
            down, right = ARROWS[key]
            if self._shifting:
                return lambda: self._shift(down, right, wraps=mods == SHIFT)
            return lambda: session.go(down, right)
        for sequence, does in (
            (QKeySequence.StandardKey.Copy, self.copy),
            (QKeySequence.StandardKey.Cut, self.cut),
            (QKeySequence.StandardKey.Paste, self.pasted.emit),
        ):
            if event.matches(sequence):
                return does
        if mods == NONE and Keys.Key_1 <= key <= Keys.Key_9:
            return lambda: self._paint_rank(key - Keys.Key_1)
        return self._plain_actions().get((key, mods))

    def _plain_actions(self) -> dict[tuple[Qt.Key, Qt.KeyboardModifier], Callable[[], object]]:
        session = self._session
        return {
            (Keys.Key_Space, NONE): lambda: session.paint(session.brush),
            (Keys.Key_Backspace, NONE): lambda: session.paint(None),
            (Keys.Key_Delete, NONE): lambda: session.paint(None),
            (Keys.Key_Left, CTRL): lambda: session.choose_frame(session.frame - 1),
            (Keys.Key_Right, CTRL): lambda: session.choose_frame(session.frame + 1),
            (Keys.Key_Left, ALT): lambda: session.move_frame(-1),
            (Keys.Key_Right, ALT): lambda: session.move_frame(1),
            (Keys.Key_D, CTRL): session.duplicate_frame,
            (Keys.Key_M, NONE): self.mirror,
            (Keys.Key_S, NONE): self.begin_shift,
            (Keys.Key_F2, NONE): self.begin_name,
        }

    def _paint_rank(self, rank: int) -> None:
        lane_id = self._session.lane_id
        if lane_id is not None and rank < len(self._session.project.lane(lane_id).levels):
            self._session.set_brush(rank)
            self._session.paint(rank)

    def copy(self) -> None:
        """Copy the chosen frame."""
        session = self._session
        text = art_of(session.project, session.draft, session.chosen)
        session.copy_frame(text)
        self.copied.emit(text)

    def cut(self) -> None:
        """Copy the chosen frame and remove it."""
        self.copy()
        self._session.remove_frame()

    def mirror(self) -> None:
        """Exchange left and right in the chosen frame."""
        session = self._session
        session.change_frame(mirrored(session.project, session.draft.grid, session.chosen))

    def begin_shift(self) -> None:
        """Let the next arrow shift the picture."""
        self._shifting = True
        self.say("Press an arrow to shift the picture, with Shift to wrap it.")
        self.update()

    @property
    def is_shifting(self) -> bool:
        """Whether the next arrow shifts the picture."""
        return self._shifting

    def _shift(self, down: int, right: int, *, wraps: bool) -> None:
        session = self._session
        grid = session.draft.grid
        session.change_frame(shifted(session.project, grid, session.chosen, by=(down, right), wraps=wraps))

    # Names

    def begin_name(self) -> None:
        """Open the line in which the chosen frame is named."""
        head = self.places.head(self._session.frame)
        self.name.setText(self._session.chosen.name)
        self.name.setGeometry(head.toRect())
        self.name.show()
        self.name.selectAll()
        self.name.setFocus(Qt.FocusReason.OtherFocusReason)

    def _end_name(self) -> None:
        if self.name.isVisible():
            had_focus = self.name.hasFocus()
            self.name.hide()
            self._session.rename_frame(self.name.text().strip()[:200])
            if had_focus:
                self.setFocus(Qt.FocusReason.OtherFocusReason)

    # Painting

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frames that are seen."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.color("panel"))
        places = self.places
        for frame in range(places.count):
            if places.box(frame).united(places.head(frame)).intersects(QRectF(event.rect())):
                self._draw_frame(painter, places, frame)

    def _draw_frame(self, painter: QPainter, places: FramePlaces, frame: int) -> None:
        session, look = self._session, self._look
        is_chosen = frame == session.frame
        self._draw_head(painter, places, frame, is_chosen=is_chosen)
        width = (2.0 if is_chosen else 1.0) * look.u
        painter.setPen(QPen(look.color("accent" if is_chosen else "edge"), width))
        painter.setBrush(look.color("panel"))
        painter.drawRoundedRect(places.box(frame), 4.0 * look.u, 4.0 * look.u)
        for row, lanes in enumerate(session.draft.grid.cells):
            for column, lane_id in enumerate(lanes):
                self._draw_cell(painter, places.cell(frame, (row, column)), frame, lane_id)
        if is_chosen and self.hasFocus():
            painter.setPen(QPen(look.color("accent"), 2.0 * look.u))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(places.cell(frame, session.cell), 3.0 * look.u, 3.0 * look.u)

    def _draw_cell(self, painter: QPainter, cell: QRectF, frame: int, lane_id: str | None) -> None:
        session = self._session
        paint_ground(painter, self._look, cell, empty=lane_id is None)
        if lane_id is None:
            return
        project, rest = session.project, session.draft.meanings[lane_id].rest
        level = session.draft.frames[frame].level(lane_id)
        if level is None:
            paint_rest(painter, self._look, cell, project=project, lane_id=lane_id, rest=rest)
        else:
            paint_level(painter, self._look, cell, project=project, lane_id=lane_id, level=level)

    def _remark(self, frame: int) -> str:
        """Return what a frame holds; worked out once for each draft."""
        draft = self._session.draft
        if self._remarks[0] is not draft:
            self._remarks = (draft, visits_texts(self._session.project, draft))
        return self._remarks[1][frame]

    def _draw_head(self, painter: QPainter, places: FramePlaces, frame: int, *, is_chosen: bool) -> None:
        session, theme = self._session, self._theme
        head = places.head(frame)
        right, left = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignLeft
        middle = Qt.AlignmentFlag.AlignVCenter
        shifts = is_chosen and self._shifting
        remark = "arrow shifts" if shifts else self._remark(frame)
        painter.setFont(theme.font(12, 600))
        painter.setPen(theme.color("accent" if is_chosen else "text"))
        metrics = painter.fontMetrics()
        name = frame_name(session.draft, frame)
        painter.setFont(theme.font(11))
        used = painter.fontMetrics().horizontalAdvance(remark)
        room = head.width() - used - theme.px(10)
        shows_remark = room > metrics.horizontalAdvance("00 Mmm")
        painter.setFont(theme.font(12, 600))
        wide = int(room if shows_remark else head.width())
        shown = metrics.elidedText(name, Qt.TextElideMode.ElideRight, wide)
        painter.drawText(head, left | middle, shown)
        if shows_remark:
            painter.setFont(theme.font(11))
            painter.setPen(theme.color("muted"))
            painter.drawText(head, right | middle, remark)


class FramesArea(QScrollArea):
    """The area in which the frames scroll."""

    def __init__(self, canvas: FramesCanvas) -> None:
        """Hold the drawing."""
        super().__init__()
        self._canvas = canvas
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWidget(canvas)
        canvas.seen.connect(self._scroll_to)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the frames fill the area; the bar always has its room, so that nothing flickers."""
        super().resizeEvent(event)
        bar = self.verticalScrollBar()
        wide = self.width() - bar.sizeHint().width()
        self._canvas.take_room(QSize(wide, self.height()))

    def _scroll_to(self, cell: QRectF) -> None:
        middle = cell.center().toPoint()
        self.ensureVisible(middle.x(), middle.y(), 0, round(cell.height()) + 24)


def _between(start: Cell, end: Cell) -> list[Cell]:
    """Return the cells on the line from one to another, the first left out: a quick stroke skips none."""
    steps = max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    return [
        (
            start[0] + round((end[0] - start[0]) * step / steps),
            start[1] + round((end[1] - start[1]) * step / steps),
        )
        for step in range(1, steps + 1)
    ]
