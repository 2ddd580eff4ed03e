"""The Bring-up view: crank and cards, what was seen below them, likely causes at the right.

Where there is no room for all of them, buttons choose one. Keys work wherever the focus is in the view, but
in a field: Enter goes to the next check, Backspace to the one before, A ticks all as expected, arrows go by
lane, 1 to 9 tick a level, X cannot see, M types a measured value, Del clears.
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QFocusEvent,
    QKeyEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.bringup import LikelyCause
from shaftscore_app.document import Document
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.ways_out import first_lane, states_of
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.turns import Later
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.board import LaneBoard
from shaftscore_app.views.bring_up.causes import CausesPanel
from shaftscore_app.views.bring_up.crank import CrankPanel
from shaftscore_app.views.bring_up.items import ItemsPanel
from shaftscore_app.views.bring_up.measuring import MeasuringLine
from shaftscore_app.views.bring_up.ranking import CauseRanker
from shaftscore_app.views.bring_up.seen import SeenTable
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.symptoms import SymptomsPanel
from shaftscore_app.views.bring_up.words import EMPTY, LEGEND, check_text, turn_text
from shaftscore_app.views.calm import CalmRefresh
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.scrolling import upright_scroll

HELD_MS = 150
"""While something is held elsewhere the view follows so much later, ms."""

PAGES = ("Crank", "Lanes", "Seen", "Causes")
FACES = ("Likely causes", "Items", "Symptoms")
FACE_TIPS = (
    "Causes of what was seen, ranked",
    "Count what came to each outlet in the first turns",
    "Every likely fault, grouped by its first visible difference",
)
WIDE, HIGH = 900, 520
"""From this size on all parts are shown at once, px of the design."""

LEFT, RIGHT, LOW = 246, 330, 190
"""Widths of the left and the right column, and height of the lower row, px of the design."""

LOW_SHARE = 0.27
"""Share of the height that the lower row has in a high view."""

Keys = Qt.Key
ARROWS = {Keys.Key_Left: (0, -1), Keys.Key_Right: (0, 1), Keys.Key_Up: (-1, 0), Keys.Key_Down: (1, 0)}
"""Rows down and columns right of each arrow."""

PLAIN = (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)


class BoardArea(QScrollArea):
    """Scrolls the cards up and down, and sideways where a row of the front is wider than the view."""

    def __init__(self, board: LaneBoard) -> None:
        """Hold a board."""
        super().__init__()
        self._board = board
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(board)
        board.seen.connect(self._show)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Pass the width on to the board."""
        super().resizeEvent(event)
        self._board.take_width(self.viewport().width())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let the view have the arrows, which go by lane."""
        event.ignore()

    def _show(self, place: QRectF) -> None:
        middle = place.center().toPoint()
        self.ensureVisible(
            middle.x(), middle.y(), round(place.width() / 2) + 8, round(place.height() / 2) + 8
        )


class BringUpView(TabbedView):
    """The view.

    Signals: status_message(sentence) with why something could not be done; command_wanted(id, lane ids) when
    a command of the window shall help with a cause, and view_wanted(name, lane ids) when a view shall.
    """

    status_message = Signal(str)
    command_wanted = Signal(str, object)
    view_wanted = Signal(str, object)

    def __init__(self, document: Document, theme: Theme, jobs: Jobs | None) -> None:
        """Make the view of a document."""
        super().__init__()
        self._document, self._theme = document, theme
        self.session = BringUpSession(document, jobs, parent=self)
        session = self.session
        self.crank = CrankPanel(session, document, theme)
        self.board = LaneBoard(session, theme)
        self.area = BoardArea(self.board)
        self.measuring = MeasuringLine(session, theme)
        self.table = SeenTable(session, theme, self.board.setFocus)
        self.ranker = CauseRanker(session, jobs)
        self.causes = CausesPanel(session, self.ranker, theme)
        self.items = ItemsPanel(session, jobs, theme)
        self.symptoms = SymptomsPanel(session, jobs, theme)
        self.faces = [QToolButton() for _ in FACES]
        self.pages = [QToolButton() for _ in PAGES]
        self.heading, self.legend = QLabel("What do you see?"), QLabel(LEGEND)
        self.empty = EmptyPage(theme, EMPTY)
        self.on = QPushButton("Next check")
        self.note = QLabel()
        self._page, self._shows_all = 0, True
        self._room = Later(self, self._make_room, 1)
        self._build()
        self._connect()
        self._fit()

    def _show_now(self) -> None:
        """Take up what has changed in the document."""
        self.session.follow()
        self._stack.setCurrentIndex(0 if self.session.stops else 1)

    def show_page(self, number: int) -> None:
        """Show one of the parts where there is no room for all."""
        self._page = number
        self._make_room()

    # Inside

    def _build(self) -> None:
        self.setAccessibleName("Bring-up")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.on.setAutoDefault(False)
        self.on.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.note.setWordWrap(True)
        self.note.hide()
        self.legend.setObjectName("muted")
        self._crank_area = upright_scroll(self.crank)
        self._middle, self._right = QSplitter(Qt.Orientation.Vertical), QSplitter(Qt.Orientation.Horizontal)
        self._upper = QWidget()
        upper = QHBoxLayout(self._upper)
        upper.setContentsMargins(0, 0, 0, 0)
        upper.setSpacing(0)
        upper.addWidget(self._crank_area)
        upper.addWidget(self._cards(), 1)
        self._middle.addWidget(self._upper)
        self._middle.addWidget(self.table)
        self._right.addWidget(self._middle)
        self._right.addWidget(self._faces_part())
        for splitter in (self._middle, self._right):
            splitter.setChildrenCollapsible(False)
            splitter.setStretchFactor(0, 1)
            splitter.setStretchFactor(1, 0)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._right)
        self._stack.addWidget(self.empty)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._page_bar())
        column.addWidget(self._stack, 1)

    def _cards(self) -> QWidget:
        """Return the part with heading, cards and the line of a measured value."""
        self._cards_part = QWidget()
        self._head_row, column = QHBoxLayout(), QVBoxLayout(self._cards_part)
        self._head_row.addWidget(self.heading)
        self._head_row.addWidget(self.legend)
        self._head_row.addStretch(1)
        self._head_row.addWidget(self.on)
        self._head_row.addWidget(self.crank.all)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head_row)
        column.addWidget(self.area, 1)
        column.addWidget(self.note)
        column.addWidget(self.measuring)
        return self._cards_part

    def _faces_part(self) -> QWidget:
        """Return the right column: likely causes, items counted, or what each fault would look like."""
        self._reasons, group = QWidget(), QButtonGroup(self)
        column, self._face_row = QVBoxLayout(self._reasons), QHBoxLayout()
        self._face = QStackedWidget()
        for number, (button, title) in enumerate(zip(self.faces, FACES, strict=True)):
            button.setObjectName("chip")
            button.setText(title)
            button.setCheckable(True)
            button.setToolTip(FACE_TIPS[number])
            group.addButton(button, number)
            self._face_row.addWidget(button)
        self._face_row.addStretch(1)
        for face in (self.causes, self.items, self.symptoms):
            self._face.addWidget(face)
        self.faces[0].setChecked(True)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._face_row)
        column.addWidget(self._face, 1)
        group.idClicked.connect(self.show_face)
        return self._reasons

    def show_face(self, number: int) -> None:
        """Show the likely causes (0), the items counted (1) or the symptoms (2)."""
        self._face.setCurrentIndex(number)
        self.faces[number].setChecked(True)
        self._refresh_faces()

    def _refresh_faces(self) -> None:
        """Let the faces that are worked out only where they are looked at take up what is new."""
        self.items.refresh()
        self.symptoms.refresh()

    def _page_bar(self) -> QWidget:
        """Return the buttons that choose a part where there is no room for all."""
        self._bar, group = QWidget(), QButtonGroup(self)
        self._bar_row = QHBoxLayout(self._bar)
        for number, (button, title) in enumerate(zip(self.pages, PAGES, strict=True)):
            button.setObjectName("chip")
            button.setText(title)
            button.setCheckable(True)
            button.setToolTip(f"Show {title.lower()}")
            group.addButton(button, number)
            self._bar_row.addWidget(button)
        self._bar_row.addStretch(1)
        group.idClicked.connect(self.show_page)
        return self._bar

    def _connect(self) -> None:
        CalmRefresh(self, self._document, self.refresh, HELD_MS)
        self._document.file_changed.connect(self.refresh)
        self._theme.changed.connect(self._fit)
        self.session.status_message.connect(self.status_message)
        self.status_message.connect(self._show_note)
        self.session.changed.connect(self._follow_session)
        for box in (self.crank.power_off, self.crank.springs):
            box.chosen.connect(self._go_on)
        self.on.clicked.connect(lambda: self.session.go_by(1))
        self.items.status_message.connect(self.status_message)
        self.symptoms.status_message.connect(self.status_message)
        self.causes.status_message.connect(self.status_message)
        self.causes.action_wanted.connect(self._act)
        self.causes.stack_wanted.connect(lambda cause: self.view_wanted.emit("stack", cause.lanes))
        self.board.measuring_wanted.connect(self.measuring.begin)
        self.measuring.finished.connect(self.board.setFocus)

    def _way_out(self) -> RowAction | None:
        """Return what gives the machine what there is to look at: lanes, or states of the first one."""
        lanes = self._document.project.lanes
        return states_of(lanes[0]) if lanes else first_lane(self._document)

    def _follow_session(self) -> None:
        session = self.session
        self.note.hide()
        self._stack.setCurrentIndex(0 if session.stops else 1)
        self.empty.say(EMPTY, self._way_out())
        self.heading.setText("What do you see?" if self._shows_all else turn_text(session))
        self.legend.setText(LEGEND if self._shows_all else check_text(session))

    def _show_note(self, sentence: str) -> None:
        """Show a sentence here too, until the next change: the view may be a window of its own."""
        self.note.setText(sentence)
        self.note.setVisible(bool(sentence))
        if sentence:
            QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, sentence))

    def _go_on(self) -> None:
        """Go from the safety ticks to the lanes, once both are set."""
        if self.session.is_ready:
            self.board.setFocus(Qt.FocusReason.OtherFocusReason)

    def _act(self, cause: LikelyCause) -> None:
        """Do what the button of a cause says."""
        action = cause.faults[0].action
        if action == "reverse-motor":
            has_drive = self._document.committed.drive is not None
            self.command_wanted.emit("machine.drive" if has_drive else "machine.shaft", cause.lanes)
        elif action == "reprint-disc":
            self.command_wanted.emit("file.export", cause.lanes)
        elif action == "correct":
            self.command_wanted.emit("lane.as_built", cause.lanes)
        elif action == "line-up-hub":
            self.view_wanted.emit("stack", cause.lanes)

    def _make_room(self) -> None:
        """Show all parts where there is room, else one."""
        theme = self._theme
        self._shows_all = self.width() >= theme.px(WIDE) and self.height() >= theme.px(HIGH)
        low = max(theme.px(LOW), round(self.height() * LOW_SHARE))
        self.crank.take_room(self.height() - (low if self._shows_all else theme.px(40)))
        shown = [self._shows_all or number == self._page for number in range(len(PAGES))]
        self._bar.setVisible(not self._shows_all)
        self.on.setVisible(not self._shows_all)
        self._follow_session()
        self.pages[self._page].setChecked(True)
        self._crank_area.setVisible(shown[0])
        self._cards_part.setVisible(shown[1])
        self._upper.setVisible(shown[0] or shown[1])
        self.table.setVisible(shown[2])
        self._middle.setVisible(any(shown[:3]))
        self._reasons.setVisible(shown[3])
        self._refresh_faces()
        if self._shows_all:
            self._crank_area.setFixedWidth(theme.px(LEFT))
            self._right.setSizes([self.width() - theme.px(RIGHT), theme.px(RIGHT)])
            self._middle.setSizes([self.height() - low, low])
        else:
            self._crank_area.setMinimumWidth(0)
            self._crank_area.setMaximumWidth(16_777_215)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.heading.setFont(theme.font(14, 600))
        self.legend.setFont(theme.font(12))
        self.note.setFont(theme.font(12, 600))
        self.note.setContentsMargins(px(12), px(4), px(12), 0)
        for button in (*self.pages, *self.faces, self.on):
            button.setFont(theme.font(12))
        self._head_row.setContentsMargins(px(12), px(10), px(12), px(4))
        self._head_row.setSpacing(px(8))
        self._bar_row.setContentsMargins(px(10), px(6), px(10), px(4))
        self._bar_row.setSpacing(px(6))
        self._face_row.setContentsMargins(px(10), px(8), px(10), 0)
        self._face_row.setSpacing(px(6))
        self._make_room()

    # Events

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Pass the focus on to the lanes, or to the ticks that come first."""
        super().focusInEvent(event)
        ready = self.session.is_ready
        (self.board if ready and self.board.isVisible() else self.crank.power_off).setFocus(event.reason())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make room for what fits."""
        super().resizeEvent(event)
        self._room.ask()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what a key says; see the module's text."""
        if event.modifiers() not in PLAIN or not self._do(Keys(event.key())):
            super().keyPressEvent(event)

    def _do(self, key: Qt.Key) -> bool:
        """Do what a key says; returns whether it says anything."""
        session = self.session
        if key in (Keys.Key_Return, Keys.Key_Enter):
            session.go_by(1)
        elif key == Keys.Key_Backspace:
            session.go_by(-1)
        elif key == Keys.Key_A:
            session.see_all()
        elif key in ARROWS:
            self.board.choose_beside(*ARROWS[key])
        else:
            return self._tick(key)
        return True

    def _tick(self, key: Qt.Key) -> bool:
        """Write down what a key says of the chosen lane; returns whether it says anything."""
        session, lane_id = self.session, self.session.lane_id
        if lane_id is None:
            return False
        if Keys.Key_1 <= key <= Keys.Key_9:
            session.see_rank(lane_id, key - Keys.Key_1)
        elif key == Keys.Key_X:
            session.see(lane_id, None)
        elif key == Keys.Key_Delete:
            session.clear(lane_id)
        elif key == Keys.Key_M and session.is_ready:
            self.measuring.begin()
        else:
            return False
        return True
