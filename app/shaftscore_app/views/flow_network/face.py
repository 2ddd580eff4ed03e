"""The Network face of the Flow view: what can be done above the drawing, and fields beside it.

The Flow view computes the network and hands it in (`show_network`); cards are its matter too: the face says
which one is wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.judge.flow import FlowHistory
from shaftscore.judge.flow.drawn import ElementKind, FlowNetwork
from shaftscore_app.document import Document
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.views.flow_network.canvas import NetworkCanvas
from shaftscore_app.views.flow_network.doing import NetworkDoing
from shaftscore_app.views.flow_network.fields import FieldsPanel
from shaftscore_app.views.flow_network.session import NetworkSession
from shaftscore_app.widgets.chooser import ViewChooser

EMPTY = "What moves through the machine? Start with Gates for selected lanes, or add a supply."

WIDE = 1500
"""From this width on the fields are beside the drawing, px of the design."""

ADDED = (ElementKind.SUPPLY, ElementKind.MAGAZINE, ElementKind.CHANNEL, ElementKind.OUTLET)
"""What has a button of its own where there is room."""


class NetworkFace(QWidget):
    """The face.

    Signals: gates_wanted(), duplicate_wanted(keys), remove_wanted(keys) for what a card asks about;
    finding_wanted(key) to show a finding; status_message(sentence).
    """

    gates_wanted = Signal()
    duplicate_wanted = Signal(object)
    remove_wanted = Signal(object)
    finding_wanted = Signal(object)
    status_message = Signal(str)

    def __init__(self, document: Document, theme: Theme, network: FlowNetwork) -> None:
        """Show a network."""
        super().__init__()
        self._document, self._theme = document, theme
        self.session = NetworkSession(document, network, self)
        self.canvas = NetworkCanvas(self.session, theme)
        self.fields = FieldsPanel(document, theme)
        self.doing = NetworkDoing(document, self.session, self.canvas)
        self.add = ViewChooser("Add", "Add a part of the flow")
        self.more = ViewChooser("Edit the flow", "Add, duplicate or remove parts of the flow")
        self.adders = {kind: QPushButton(f"Add {kind.value}") for kind in ADDED}
        self.gates = QPushButton("Gates for selected lanes…")
        self.duplicate, self.remove = QPushButton("Duplicate"), QPushButton("Remove")
        self.show_fields = QToolButton()
        self.empty = QLabel(EMPTY)
        self.tools = QHBoxLayout()
        self._fields_wanted: bool | None = None
        self._opened = document.opened
        self._build()
        self._connect()
        self._fit()

    # From outside

    def show_network(self, network: FlowNetwork, history: FlowHistory | None = None) -> None:
        """Show another network; history: of the run that its figures are from."""
        fresh = self._opened != self._document.opened
        self._opened = self._document.opened
        self.session.take(network, history, fresh=fresh)
        self.empty.setVisible(not network.elements)
        self._place_over()

    # Inside

    def _build(self) -> None:
        self.setFocusProxy(self.canvas)
        self.gates.setObjectName("wanted")
        self.duplicate.setToolTip(
            "Duplicate (Ctrl+D): copy the selected elements with their lines, on other lanes"
        )
        self.remove.setToolTip("Remove (Del): remove the selected elements")
        for kind, button in self.adders.items():
            button.setToolTip(f"Add {_article(kind)}; its name can be typed at once (Insert in its column)")
        self.show_fields.setText("Fields")
        self.show_fields.setCheckable(True)
        self.show_fields.setToolTip("Fields: show those of the selected element (Enter)")
        self.add.setText("Add")
        self.more.setText("Edit")
        self.empty.setParent(self.canvas)
        self.empty.setObjectName("muted")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.empty.setWordWrap(True)
        self.empty.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        for widget in (self.more, self.add, *self.adders.values(), self.gates, self.duplicate, self.remove):
            self.tools.addWidget(widget)
        self.tools.addStretch(1)
        self.tools.addWidget(self.show_fields)
        row = QHBoxLayout()
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self.canvas, 1)
        row.addWidget(self.fields)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        bar = QWidget()
        bar.setLayout(self.tools)
        bar.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)  # buttons make no view wide
        column.addWidget(bar)
        column.addLayout(row, 1)
        EventWatch(self.canvas, self._on_canvas)

    def _connect(self) -> None:
        session, canvas, doing = self.session, self.canvas, self.doing
        session.changed.connect(self._follow)
        self._document.cursor_changed.connect(session.follow_cursor)
        self._document.selection_changed.connect(self._show_tools)
        for kind, button in self.adders.items():
            button.clicked.connect(lambda _checked=False, kind=kind: doing.add(kind))
        self.add.clicked.connect(lambda: self.add.offer(self._choices()))
        self.more.clicked.connect(lambda: self.more.offer([*self._choices(), *self._other_choices()]))
        self.gates.clicked.connect(self.gates_wanted)
        self.duplicate.clicked.connect(self._ask_duplicate)
        self.remove.clicked.connect(self._ask_remove)
        canvas.duplicate_wanted.connect(self._ask_duplicate)
        canvas.remove_wanted.connect(self._ask_remove)
        canvas.gates_wanted.connect(self.gates_wanted)
        canvas.entered.connect(self._enter)
        self.show_fields.clicked.connect(self._choose_fields)
        self.fields.finding_wanted.connect(self.finding_wanted)
        self.fields.left.connect(self.canvas.setFocus)
        doing.status_message.connect(self.status_message)
        self._theme.changed.connect(self._fit)

    def _choices(self) -> Sequence[tuple[str, Callable[[], object]]]:
        """Return what can be added."""
        return [(f"Add {kind.value}", partial(self.doing.add, kind)) for kind in ADDED]

    def _other_choices(self) -> Sequence[tuple[str, Callable[[], object]]]:
        """Return what else can be done now."""
        buttons = (self.gates, self.duplicate, self.remove)
        return [(button.text(), button.click) for button in buttons if button.isEnabled()]

    def _ask_duplicate(self) -> None:
        keys = self.session.part_keys
        if keys:
            self.duplicate_wanted.emit(keys)

    def _ask_remove(self) -> None:
        keys = self.session.part_keys
        if keys:
            self.remove_wanted.emit(keys)

    def _follow(self) -> None:
        count = len(self.session.part_keys)
        self.fields.show_element(self.session.one, count)
        self._show_tools()

    def _show_tools(self) -> None:
        has_some = bool(self.session.part_keys)
        self.duplicate.setEnabled(has_some)
        self.remove.setEnabled(has_some)
        lanes = len(self._document.selection.lane_ids)
        self.gates.setEnabled(lanes > 0)
        self.gates.setText(f"Gates for selected lanes ({lanes})…" if lanes else "Gates for selected lanes…")
        self.gates.setToolTip(
            "Make or update the gates of the lanes selected in the diagram, all in one step (Ctrl+Shift+E)"
            if lanes
            else "Select lanes in the diagram first (Ctrl+Shift+E)"
        )

    # Fields

    @property
    def _is_wide(self) -> bool:
        return self.width() >= self._theme.px(WIDE)

    def _choose_fields(self, shown: bool) -> None:
        self._fields_wanted = shown
        self._show_panel()

    def _show_panel(self) -> None:
        shown = self._is_wide if self._fields_wanted is None else self._fields_wanted
        self.show_fields.setChecked(shown)
        self.fields.setVisible(shown)

    def _enter(self) -> None:
        """Go to the first field of what is selected."""
        if self.session.one is None:
            return
        if not self.fields.isVisible():
            self._choose_fields(True)
        self.fields.go_to_first()

    # Sizes

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as many buttons as there is room for."""
        super().resizeEvent(event)
        self._fit_tools()
        self._show_panel()

    def _fit_tools(self) -> None:
        """Show all buttons, or those that add as one, or all of them as one, whichever there is room for."""
        adders, others = [*self.adders.values()], [self.gates, self.duplicate, self.remove]
        for buttons, shown in ((adders, (0,)), (others, (0, 1)), ([self.add], (1,)), ([self.more], (2,))):
            for button in buttons:
                button.setVisible(self._level() in shown)

    def _level(self) -> int:
        """Return 0 for all buttons, 1 for those that add as one, 2 for all as one."""
        own = (*self.adders.values(), self.gates, self.duplicate, self.remove, self.add, self.more)
        rest = sum(self._width(widget) for widget in self._in_tools() if widget not in own)
        edge = self.tools.contentsMargins().left() + self.tools.contentsMargins().right()
        room = self.width() - rest - edge
        others = sum(map(self._width, (self.gates, self.duplicate, self.remove)))
        if others + sum(map(self._width, self.adders.values())) <= room:
            return 0
        return 1 if others + self._width(self.add) <= room else 2

    def _in_tools(self) -> Iterator[QWidget]:
        items = (self.tools.itemAt(index) for index in range(self.tools.count()))
        widgets = (item.widget() for item in items if item is not None)
        return (widget for widget in widgets if widget is not None)

    def _width(self, widget: QWidget) -> int:
        return widget.sizeHint().width() + self.tools.spacing()

    def _on_canvas(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize:
            self._place_over()
        return False

    def _place_over(self) -> None:
        """Put the text of an empty network in the middle of the drawing."""
        px, room = self._theme.px, self.canvas.viewport().size()
        self.empty.setGeometry(px(24), px(40), max(1, room.width() - px(48)), max(1, room.height() - px(40)))

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self.tools.setContentsMargins(px(8), px(4), px(8), px(4))
        self.tools.setSpacing(px(6))
        for button in (*self.adders.values(), self.gates, self.duplicate, self.remove, self.show_fields):
            button.setFont(theme.font(12))
        self.add.fit(theme)
        self.more.fit(theme)
        self.empty.setFont(theme.font(12))
        self.fields.fit()
        self._follow()
        self._fit_tools()
        self._show_panel()


def _article(kind: ElementKind) -> str:
    """Return a kind with its article."""
    return f"{'an' if kind is ElementKind.OUTLET else 'a'} {kind.value}"
