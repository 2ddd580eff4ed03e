"""The drawing of the network with mouse and keys.

A click selects, with Ctrl it adds, on empty ground a drag draws a rectangle; a drag from a port joins. Arrows
go along the lines and in the column, with Shift they add; Left and Right on the heading of a bank fold and
open it. C joins by keys: arrows choose what to join, C the next port, Enter joins. Esc leaves each of these.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleAnnouncementEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QFrame, QToolTip

from shaftscore.judge.flow.drawn import ElementKey, ElementKind
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.flow_network.accessible import make_network_readable
from shaftscore_app.views.flow_network.edge_scroll import EdgeScroll
from shaftscore_app.views.flow_network.joining import Joining
from shaftscore_app.views.flow_network.keys import NetworkKeys
from shaftscore_app.views.flow_network.name_line import NameLine
from shaftscore_app.views.flow_network.painting import HEADING, JoinDrag, NetworkPainting, NetworkScene
from shaftscore_app.views.flow_network.paths import (
    bank_stop,
    box_of,
)
from shaftscore_app.views.flow_network.places import Box, NetworkPlaces, lay_out
from shaftscore_app.views.flow_network.ports import Port, ports_of
from shaftscore_app.views.flow_network.routes import LineRoutes, Spot, routes_of
from shaftscore_app.views.flow_network.session import NetworkSession, said_selection, tip_of

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier

NOTCH = 120
"""What a wheel gives for one notch, in eighths of a degree."""

BY_LANE = (ElementKind.GATE.value, ElementKind.DIVERTER.value)
"""Kinds that have no name of their own."""

DRAG = 4
"""A drag begins after so many px of the design."""


class NetworkCanvas(QAbstractScrollArea):
    """The drawing. Over 300 lines, since mouse and every key of it arrive here.

    Signals, all with what the person asked for: add_wanted(column index), entered() for the first field,
    named(key, text), joined(port, key), dropped(port, place on the screen),
    duplicate_wanted(), remove_wanted(), gates_wanted(), pile_wanted(key, place on the screen).
    """

    add_wanted = Signal(int)
    entered = Signal()
    named = Signal(object, str)
    joined = Signal(object, object)
    dropped = Signal(object, object)
    duplicate_wanted = Signal()
    remove_wanted = Signal()
    gates_wanted = Signal()
    pile_wanted = Signal(object, object)

    def __init__(self, session: NetworkSession, theme: Theme) -> None:
        """Draw the network of a session."""
        super().__init__()
        self.session, self._theme = session, theme
        self._look, self._kept = DiagramStyle(theme), KeptThings()
        self._pressed: QPointF | None = None
        self._press_key: ElementKey | None = None
        self._band: tuple[Spot, Spot] | None = None
        self._hovered: ElementKey | None = None
        self._hot: Box | None = None
        self._key_focus = False
        self.name = NameLine(self.viewport())
        self.joining = Joining(lambda: self.places, self)
        self._keys = NetworkKeys(self, session)
        self._edges = EdgeScroll(self, theme)
        self._build()

    def _build(self) -> None:
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        self.setAccessibleName("Network of the flow")
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        EventWatch(self, self._on_event)
        EventWatch(self.viewport(), self._on_viewport)
        make_network_readable(NetworkCanvas)
        self.name.named.connect(self.named)
        self.name.left.connect(lambda: self.setFocus(Qt.FocusReason.OtherFocusReason))
        self.joining.joined.connect(self.joined)
        self.joining.at.connect(self.see)
        self.joining.said.connect(self.say)
        self._edges.scrolled.connect(self._draw_on)
        self.session.laid.connect(self._lay)
        self.session.changed.connect(self._follow)
        self.session.moved.connect(self.viewport().update)
        self._theme.changed.connect(self._restyle)

    def sizeHint(self) -> QSize:
        """Return a size at which a small machine is seen."""
        return QSize(self._theme.px(640), self._theme.px(320))

    # What is where

    @property
    def places(self) -> NetworkPlaces:
        """Where everything is, px from the corner of the network."""
        session, u = self.session, self._theme.u
        width = self.viewport().width()
        make = partial(lay_out, session.network, session.open_banks, u, width)
        return self._kept.get("places", "", (session.network,), (session.open_banks, u, width), make)

    @property
    def routes(self) -> LineRoutes:
        """How the lines run."""
        places = self.places
        return self._kept.get("routes", "", (places,), None, partial(routes_of, places))

    @property
    def adders(self) -> tuple[Box, ...]:
        """The places of the + beside the headings; the headings stay at the top of what is seen."""
        return tuple(
            self.places.adder(index, self._look.width(column.title, HEADING))
            for index, column in enumerate(self.session.network.columns)
        )

    @property
    def origin(self) -> QPoint:
        """The corner of what is seen, px from the corner of the network."""
        return QPoint(self.horizontalScrollBar().value(), self.verticalScrollBar().value())

    def _lay(self) -> None:
        """Take the size of the network into the scroll bars."""
        places, seen = self.places, self.viewport().size()
        for bar, whole, room in (
            (self.horizontalScrollBar(), places.width, seen.width()),
            (self.verticalScrollBar(), places.height, seen.height()),
        ):
            bar.setRange(0, max(0, round(whole) - room))
            bar.setPageStep(room)
            bar.setSingleStep(self._theme.px(24))
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out for another room."""
        super().resizeEvent(event)
        self._lay()

    def scrollContentsBy(self, dx: int, dy: int) -> None:  # noqa: ARG002 - Qt's signature
        """Paint again: the headings stay."""
        self.name.finish()
        self.viewport().update()

    def _restyle(self) -> None:
        self._look.forget()
        self.name.setFont(self._theme.font(12, 600))
        self._lay()

    def see(self, stop: ElementKey) -> None:
        """Scroll so that a stop is seen."""
        box = box_of(self.places, stop)
        if box is None:
            return
        margin, head = self._theme.px(12), round(self.places.heads[0].height)
        seen, origin = self.viewport().size(), self.origin
        left, right = round(box.left) - margin, round(box.right) + margin
        top, bottom = round(box.top) - margin - head, round(box.bottom) + margin
        if left < origin.x() or right > origin.x() + seen.width():
            self.horizontalScrollBar().setValue(left if left < origin.x() else right - seen.width())
        if top < origin.y() or bottom > origin.y() + seen.height():
            self.verticalScrollBar().setValue(top if top < origin.y() else bottom - seen.height())

    # Following

    def _follow(self) -> None:
        said = said_selection(self.session)
        if said != self.accessibleDescription():
            self.setAccessibleDescription(said)
            if self.hasFocus() and said:
                self.say(said)
        self.viewport().update()

    def say(self, text: str) -> None:
        """Let screen readers hear a sentence."""
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(self, text))

    # Mouse

    def _spot(self, place: QPointF) -> Spot:
        """Return a place of the viewport from the corner of the network."""
        origin = self.origin
        return place.x() + origin.x(), place.y() + origin.y()

    def _adder_at(self, place: QPointF) -> int | None:
        """Return the column whose + is at a place of the viewport."""
        x, y = place.x() + self.origin.x(), place.y()
        found = (index for index, box in enumerate(self.adders) if box.holds(x, y))
        index = next(found, None)
        return None if index is None or self.session.network.columns[index].depth else index

    def _in_head(self, place: QPointF) -> bool:
        return place.y() < self.places.heads[0].height

    def _port_at(self, spot: Spot) -> Port | None:
        """Return the port at a place, of what is under the pointer or selected."""
        ports = (port for key in self._with_ports() for port in ports_of(self.places, key))
        near = [port for port in ports if port.is_at(*spot, self._theme.u)]
        return min(near, key=lambda port: abs(port.spot[0] - spot[0]), default=None)

    def _with_ports(self) -> list[ElementKey]:
        """Return the elements whose ports are shown."""
        alone = self.session.selected if len(self.session.selected) == 1 else ()
        return list(dict.fromkeys(key for key in (*alone, self._hovered) if key in self.places.boxes))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take a port, select, or begin a rectangle."""
        self._key_focus = False
        if event.button() == Qt.MouseButton.RightButton:
            self.cancel()
            return
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self.name.finish()
        place, spot = event.position(), self._spot(event.position())
        if self.joining.by_keys:
            self.cancel()
        if self._in_head(place):
            index = self._adder_at(place)
            if index is not None:
                self.add_wanted.emit(index)
            return
        bank = self.places.bank_at(*spot)
        if bank is not None:
            self.toggle_bank(bank)
            return
        self._pressed = place
        port = self._port_at(spot)
        self._press_key = self.places.element_at(*spot)
        if port is not None and (self._press_key is None or self._is_edge(port, spot)):
            self.joining.begin(port, spot)
        elif self._press_key is not None:
            self._click(self._press_key, event)
        else:
            self._band = (spot, spot)

    def _is_edge(self, port: Port, spot: Spot) -> bool:
        """Return whether a place in a box is so near its port that the port is meant."""
        return abs(port.spot[0] - spot[0]) <= self._theme.px(8)

    def _click(self, key: ElementKey, event: QMouseEvent) -> None:
        if event.modifiers() & CTRL:
            self.session.toggle(key)
        else:
            self.session.select([key])

    def set_fitting(self, fitting: Callable[[Port], frozenset[ElementKey]]) -> None:
        """Let lines from a port end only at some elements."""
        self.joining.fitting = fitting

    def toggle_bank(self, bank: str) -> None:
        """Open a bank, or fold it, and go to its heading."""
        self.session.go(bank_stop(bank))
        is_open = bank in self.session.open_banks
        if not self.session.set_open(bank, is_open=not is_open) and not is_open:
            self.say("Too many gates to unfold; open a pile to see its list.")

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Draw a line or a rectangle on; else show what can be taken."""
        if self.is_busy and self._pressed is not None:
            self._edges.follow(event.position())
            self._draw_on(event.position())
        else:
            self._hover(event.position(), self._spot(event.position()))
        self.viewport().update()

    def _draw_on(self, place: QPointF) -> None:
        """Take the end of what is being drawn to a place of the viewport."""
        if self.joining.line is not None and not self.joining.by_keys:
            self.joining.follow(self._spot(place))
        elif self._band is not None:
            self._band = (self._band[0], self._spot(place))
        self.viewport().update()

    def _hover(self, place: QPointF, spot: Spot) -> None:
        in_head = self._in_head(place)
        index = self._adder_at(place) if in_head else None
        self._hot = None if index is None else self.adders[index]
        near = None if in_head else self.places.element_at(*spot)
        self._hovered = near or (None if in_head else self.places.element_beside(*spot))
        port = None if in_head else self._port_at(spot)
        taken = port is not None and (near is None or self._is_edge(port, spot))
        bank = None if in_head else self.places.bank_at(*spot)
        cross, hand = Qt.CursorShape.CrossCursor, Qt.CursorShape.PointingHandCursor
        points = index is not None or bank is not None
        self.viewport().setCursor(cross if taken else hand if points else Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Join what is under the end of the line, or select what the rectangle touches."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self._edges.stop()
        join, band, pressed = self.joining.line, self._band, self._pressed
        self._pressed = self._band = None
        if join is not None and not self.joining.by_keys:
            self.joining.cancel()
            self._end_join(join, event, pressed)
        elif band is not None and pressed is not None:
            self._end_band(band, event, pressed)
        self.viewport().update()

    def _end_join(self, join: JoinDrag, event: QMouseEvent, pressed: QPointF | None) -> None:
        moved = pressed is not None and _far(pressed, event.position(), self._theme.px(DRAG))
        over = self.places.element_at(*self._spot(event.position()))
        if not moved:
            self.session.select([join.port.key])
        elif join.target is not None:
            self.joined.emit(join.port, join.target)
        elif over is None and not self._in_head(event.position()):
            self.dropped.emit(join.port, event.globalPosition().toPoint())

    def _end_band(self, band: tuple[Spot, Spot], event: QMouseEvent, pressed: QPointF) -> None:
        adds = bool(event.modifiers() & CTRL)
        if _far(pressed, event.position(), self._theme.px(DRAG)):
            found = list(self.places.within(_box_between(*band)))
            self.session.select([*self.session.selected, *found] if adds else found)
        elif not adds:
            self.session.select([])

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Name an element whose name is double-clicked; a pile opens."""
        spot = self._spot(event.position())
        key = None if self._in_head(event.position()) else self.places.element_at(*spot)
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self.cancel()
        if key is None:
            self.mousePressEvent(event)
        elif self.session.pile(key) is not None:
            self._keys.open_pile(key)
        else:
            self.begin_name(key)

    def leaveEvent(self, event: QEvent) -> None:
        """Show no ports of what was under the pointer."""
        self._hovered, self._hot = None, None
        self.viewport().update()
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with Shift sideways."""
        self.name.finish()
        by = event.angleDelta()
        if event.modifiers() & SHIFT and by.y():
            bar = self.horizontalScrollBar()
            bar.setValue(bar.value() - round(by.y() / NOTCH * self._theme.px(72)))
            event.accept()
        else:
            super().wheelEvent(event)

    @property
    def is_busy(self) -> bool:
        """Whether a line or a rectangle is being drawn."""
        return self.joining.line is not None or self._band is not None

    def cancel(self) -> bool:
        """Leave what is being drawn; returns whether there was anything."""
        was = self.is_busy
        self._edges.stop()
        self.joining.cancel()
        self._band = self._pressed = None
        self.viewport().update()
        return was

    # Keys

    def _on_event(self, event: QEvent) -> bool:
        """Keep the keys of the network from the window's commands; show a ring on keyboard focus."""
        if event.type() == QEvent.Type.FocusIn:
            self._key_focus = True
            self.viewport().update()
        elif event.type() == QEvent.Type.FocusOut:
            self.viewport().update()
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return False
        if self._keys.action(event) is not None:
            event.accept()
            return True
        return False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what a key means."""
        action = self._keys.action(event)
        if action is None:
            event.ignore()
            return
        self._key_focus = True
        action()
        self.viewport().update()

    # Names

    def begin_name(self, key: ElementKey) -> None:
        """Open the line in which an element is named; of gates and diverters go to the fields."""
        self.see(key)
        if key[0] in BY_LANE:
            self.say("It is named by its lane and level, which are in its fields.")
            self.entered.emit()
            return
        element, box = self.places.shown.by_key.get(key), self.places.boxes.get(key)
        if element is None or box is None:
            return
        corner = QPoint(round(box.left), round(box.top)) - self.origin
        height = min(round(box.height), self._theme.px(26))
        self.name.begin(key, element.name, QRect(corner, QSize(round(box.width), height)))

    # Hints

    def _on_viewport(self, event: QEvent) -> bool:
        """Show what is pointed at."""
        if isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.tip_at(QPointF(event.pos())), self.viewport())
            return True
        return False

    def tip_at(self, place: QPointF) -> str:
        """Describe what is at a place of the viewport: all that is drawn there."""
        index = self._adder_at(place) if self._in_head(place) else None
        if index is not None:
            return f"Add in the column {self.session.network.columns[index].title} (Insert)"
        key = None if self._in_head(place) else self.places.element_at(*self._spot(place))
        return "" if key is None else tip_of(self.session, self.places.shown.by_key[key])

    # Painting

    def scene(self) -> NetworkScene:
        """Return what is painted."""
        session, places = self.session, self.places
        focused = self.hasFocus() and self._key_focus
        ports = [port for key in self._with_ports() for port in ports_of(places, key)]
        return NetworkScene(
            network=session.network,
            places=places,
            routes=self.routes,
            selected=frozenset(session.shown_for(key) for key in session.selected),
            open_banks=frozenset(session.open_banks),
            ports=ports if self.joining.line is None else (self.joining.line.port,),
            moment=session.moment,
            join=self.joining.line,
            band=None if self._band is None else _box_between(*self._band),
            ring=box_of(places, session.current) if focused else None,
            hot=self._hot,
            adders=self.adders,
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw what is seen."""
        painter = QPainter(self.viewport())
        origin, area = self.origin, event.rect()
        painter.translate(-origin)
        painting = NetworkPainting(painter, self._look, self.scene())
        painting.draw(Box(area.left() + origin.x(), area.top() + origin.y(), area.width(), area.height()))
        painting.draw_heads(origin.y())
        if self.hasFocus() and self._key_focus and self.session.current is None:
            painter.resetTransform()
            painter.setPen(self._look.pen("accent", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.viewport().rect().adjusted(2, 2, -2, -2))


def _far(one: QPointF, other: QPointF, by: float) -> bool:
    return (one - other).manhattanLength() >= min(by, QApplication.startDragDistance())


def _box_between(one: Spot, other: Spot) -> Box:
    left, top = min(one[0], other[0]), min(one[1], other[1])
    return Box(left, top, abs(one[0] - other[0]), abs(one[1] - other[1]))
