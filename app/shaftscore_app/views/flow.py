"""The Flow view: what moves through the machine, as a network, as counts over the turns, and as a table.

Below the faces is the count of the selected magazine over the run. While a block is held, or the flow is
being run, the last result stays in `muted` until the new one is there.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from shaftscore.base.errors import ShaftscoreError
from shaftscore.edits.flow_network import PartKey, removal_of, remove_parts_of_flow
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import copy_button
from shaftscore_app.views.flow_canvas import FlowCanvas
from shaftscore_app.views.flow_faces.cards import CardPlace
from shaftscore_app.views.flow_faces.counts_below import MagazineCounts
from shaftscore_app.views.flow_faces.gates_card import GatesCard
from shaftscore_app.views.flow_faces.magazine_run import magazine_of, run_of_magazine
from shaftscore_app.views.flow_faces.part_cards import DuplicateCard, RemoveCard
from shaftscore_app.views.flow_faces.runs import FlowRuns, has_flow
from shaftscore_app.views.flow_faces.switch import FaceSwitch
from shaftscore_app.views.flow_faces.table_face import FlowTable
from shaftscore_app.views.flow_network.face import EMPTY, NetworkFace
from shaftscore_app.views.flow_rows import FlowPicture, picture_of
from shaftscore_app.views.tabbed import TabbedView
from shaftscore_app.widgets.scrolling import upright_scroll

NETWORK, COUNTS, TABLE = "Network", "Counts", "Table"
FACES = (NETWORK, COUNTS, TABLE)

TITLE_WIDE = 190
"""Room that the title has beside the switch, px of the design."""

HIGH = 300
"""From this height on the count of the selected magazine is below the faces, px of the design."""

NO_LANES = "Select lanes in the timing diagram first: their levels become gates."


class FlowView(TabbedView):
    """The view.

    Signals: visited(key) when a failure was clicked: the person wants to see its place.
    status_message(sentence) with why something could not be done.
    """

    visited = Signal(object)
    status_message = Signal(str)

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Make the view of a document's flow."""
        super().__init__()
        self._document, self._theme = document, theme
        self._picture: FlowPicture | None = None
        self.runs = FlowRuns(jobs, self)
        self.network_face = NetworkFace(document, theme, self.runs.network_of(document.report))
        self.canvas = FlowCanvas(theme)
        self.table = FlowTable(document, theme)
        self.below = MagazineCounts(theme)
        self.switch = FaceSwitch(theme, FACES)
        self.title, self.remark, self.empty = QLabel(), QLabel(), QLabel(EMPTY)
        self.empty_gates = QPushButton("Gates for selected lanes…")
        self.copy_button = copy_button("counts and items with their times", self.copy)
        self._pages = QStackedWidget()
        self.cards = CardPlace(self._pages, theme)
        self._face = NETWORK
        self._is_beside: bool | None = None
        self._build()
        self._connect()
        self._fit()

    @property
    def picture(self) -> FlowPicture | None:
        """What the counts show; None where there is nothing to show."""
        return self._picture

    @property
    def face(self) -> str:
        """The name of the face that is shown."""
        return self._face

    def show_face(self, face: str) -> None:
        """Show another face; what is selected goes along."""
        keys = self.selected_keys
        self._face = face
        self.switch.show_face(face)
        self._show_now()
        if face == TABLE:
            self.table.select(keys)
        self.setFocusProxy(self._widgets[face])

    @property
    def selected_keys(self) -> tuple[PartKey, ...]:
        """The parts that are selected in the face shown."""
        return self.table.keys if self._face == TABLE else self.network_face.session.part_keys

    def copy(self) -> None:
        """Copy counts and items as a table: a row a change, tabs between columns."""
        if self._picture is not None:
            QGuiApplication.clipboard().setText(self._picture.table)

    # Cards

    def ask_gates(self) -> None:
        """Ask about the gates of the selected lanes."""
        lanes = self._document.selection.lane_ids
        if lanes:
            order = self._document.committed.lane_index
            card = GatesCard(self._document, self._theme, sorted(lanes, key=order.__getitem__))
            self.cards.open(card)
        else:
            self.status_message.emit(NO_LANES)

    def ask_duplicate(self, keys: Sequence[PartKey]) -> None:
        """Ask onto which lanes copies of parts go."""
        select = self.network_face.session.select_when_there
        self.cards.open(DuplicateCard(self._document, self._theme, keys, select))

    def remove(self, keys: Sequence[PartKey]) -> None:
        """Remove parts, at once where nobody else uses them."""
        try:
            plan = removal_of(self._document.committed, keys)
        except ShaftscoreError as error:
            self.status_message.emit(str(error))
            return
        if plan.dependents or plan.cut:
            self.cards.open(RemoveCard(self._document, self._theme, plan))
            return
        fault = commit(self._document, lambda: remove_parts_of_flow(self._document.committed, keys))
        if fault:
            self.status_message.emit(fault)

    # Inside

    def _show_now(self) -> None:
        """Show the flow as it is now."""
        report = self._document.report
        self.runs.follow(report)
        run = self.runs.run_of(report)
        found = picture_of(report, run if self.runs.is_of(report) else None)
        self._picture = found if isinstance(found, FlowPicture) else None
        self._network = self.runs.network_of(report)
        self.network_face.show_network(self._network, None if run is None else run.history)
        self._show_page(found if isinstance(found, str) else "")
        self.copy_button.setEnabled(self._picture is not None)
        self._show_head()
        if self._picture is not None:
            self.canvas.set_picture(self._picture)
            self.canvas.set_cursor(self._document.flow_deg)
        self._show_below()
        self.setAccessibleDescription(self._picture.summary if self._picture else self.empty.text())

    def _show_page(self, nothing: str) -> None:
        """Show the page of the face, or why there is nothing on it."""
        is_there = has_flow(self._document.project)
        self.empty.setText(nothing if is_there else EMPTY)
        self.empty_gates.setVisible(not is_there)
        shows = {NETWORK: True, COUNTS: self._picture is not None, TABLE: is_there}
        self._pages.setCurrentWidget(self._page_of[self._face] if shows[self._face] else self._nothing)
        if self._face == TABLE:
            self.table.show_now()

    def _show_below(self) -> None:
        """Show the count of the selected magazine; the Counts have all of them already."""
        run = self.runs.run_of(self._document.report)
        has_room = self._face != COUNTS and self.height() >= self._theme.px(HIGH)
        keys = self.selected_keys if has_room else ()
        magazines = (magazine_of(self._network, key) for key in keys[:1])
        magazine = next((one for one in magazines if one is not None), None)
        drawn = None if magazine is None or run is None else run_of_magazine(magazine, self._network, run)
        self.below.set_run(drawn)
        self.below.setVisible(drawn is not None)
        self.below.set_cursor(self._document.flow_deg)

    def _show_head(self) -> None:
        """Show whether the flow holds; stale words are muted like the rest."""
        picture = self._picture
        self.title.setText(picture.title if picture else "")
        stale = picture is not None and picture.stale
        self.remark.setText(UPDATING if stale else "")
        fails = picture is not None and picture.holds is False
        token = "muted" if stale else "error" if fails else "text"
        self.title.setStyleSheet(f"color: {self._theme.css(token)}")

    def _visit(self, key: object) -> None:
        self._document.select_finding(key)
        self.visited.emit(key)

    def _take_turns(self, turns: int) -> None:
        self.runs.set_turns(turns, self._document.report)
        self.refresh()

    def _build(self) -> None:
        self.canvas.setAccessibleName("Flow")
        for label in (self.remark, self.empty):
            label.setObjectName("muted")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.empty_gates.setObjectName("wanted")
        self._network = self.runs.network_of(self._document.report)
        self._widgets: dict[str, QWidget] = {
            NETWORK: self.network_face,
            COUNTS: self.canvas,
            TABLE: self.table,
        }
        scrolled = upright_scroll(self.canvas)
        self._page_of: dict[str, QWidget] = self._widgets | {COUNTS: scrolled}
        self._nothing = QWidget()
        middle = QVBoxLayout(self._nothing)
        middle.addStretch(1)
        middle.addWidget(self.empty)
        middle.addWidget(self.empty_gates, 0, Qt.AlignmentFlag.AlignHCenter)
        middle.addStretch(1)
        for page in (*self._page_of.values(), self._nothing):
            self._pages.addWidget(page)
        self._head = QGridLayout()
        self.title.setWordWrap(True)  # a long sentence must not make the dock wider
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        column.addWidget(self._pages, 1)
        column.addWidget(self.below)
        self.switch.show_face(self._face)
        self.setFocusProxy(self.network_face)
        self.below.hide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Make room for the switch beside the title or below it, and for counts where there is height."""
        super().resizeEvent(event)
        self._lay_head()
        self._show_below()

    def _lay_head(self) -> None:
        """Lay the head in one row where there is room, else in two."""
        beside = self.width() >= self.switch.wanted_width + self._theme.px(TITLE_WIDE)
        if beside == self._is_beside:
            return
        self._is_beside = beside
        for widget in (self.title, self.remark, self.switch, self.copy_button):
            self._head.removeWidget(widget)
        self._head.addWidget(self.title, 0, 0)
        self._head.addWidget(self.remark, 0, 1)
        self._head.addWidget(self.copy_button, 0, 3)
        self._head.addWidget(self.switch, *((0, 2) if beside else (1, 0, 1, 4)))
        self._head.setColumnStretch(0, 1)
        self._head.setColumnStretch(2, 2 if beside else 0)

    def _connect(self) -> None:
        document, network = self._document, self.network_face
        document.report_changed.connect(self.refresh)
        self.runs.changed.connect(self.refresh)
        document.cursor_changed.connect(lambda _deg: self.canvas.set_cursor(document.flow_deg))
        document.cursor_changed.connect(lambda _deg: self.below.set_cursor(document.flow_deg))
        self.canvas.failure_wanted.connect(self._visit)
        self.switch.chosen.connect(self.show_face)
        self.switch.run_wanted.connect(self._take_turns)
        self.empty_gates.clicked.connect(self.ask_gates)
        network.gates_wanted.connect(self.ask_gates)
        network.duplicate_wanted.connect(self.ask_duplicate)
        network.remove_wanted.connect(self.remove)
        network.finding_wanted.connect(self._visit)
        network.session.changed.connect(self._show_below)
        self.table.selected.connect(lambda _keys: self._show_below())
        for part in (network, self.table):
            part.status_message.connect(self.status_message)
        self.below.cursor_wanted.connect(document.set_cursor)
        self.below.finding_wanted.connect(self._visit)
        self._theme.changed.connect(self._fit)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._head.setContentsMargins(px(12), px(2), px(8), px(2))
        self._head.setSpacing(px(8))
        self.title.setFont(theme.font(12, 600))
        self.remark.setFont(theme.font(12))
        self.empty.setFont(theme.font(12))
        self.empty.setContentsMargins(px(24), 0, px(24), 0)
        self.empty_gates.setFont(theme.font(12, 600))
        self.copy_button.setIcon(theme.icon("copy", 16))
        self.copy_button.setIconSize(QSize(px(16), px(16)))
        self._lay_head()
        self.refresh()
