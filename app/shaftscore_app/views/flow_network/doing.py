"""What is done to the flow in the network: adding, joining, naming; each is one undo step.

A new part is selected when it is drawn, and its name can be typed at once. Where there is a choice (which
lane a gate is on) a menu asks, at the place where the part was wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from PySide6.QtCore import QObject, QPoint, Qt, Signal
from PySide6.QtWidgets import QMenu

from shaftscore.edits import Edited
from shaftscore.edits.flow_network import (
    add_diverter,
    add_gate,
    add_part,
    can_stand,
    connect_parts,
    fitting_ends,
    new_keys,
    rename_part,
)
from shaftscore.judge.flow.drawn import ElementKey, ElementKind
from shaftscore.model import Diverter, Flow, Lane, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.views.flow_network.canvas import NetworkCanvas
from shaftscore_app.views.flow_network.ports import Port, may_lead_to
from shaftscore_app.views.flow_network.session import NetworkSession
from shaftscore_app.widgets.menu import Menu

MOST_LISTED = 40
"""With more lanes than this they are listed by their groups."""

BEFORE: Mapping[str, str] = {
    "magazine": "supply",
    "gate": "magazine",
    "channel": "channel",
    "outlet": "channel",
}
"""What a line that is drawn back from a part, and dropped on empty ground, can come from."""

Choose = Callable[[Lane, str], object]
"""Takes a lane and one of its levels."""


class NetworkDoing(QObject):
    """Edits of the flow for a canvas.

    Signals: status_message(sentence) with why something could not be done.
    """

    status_message = Signal(str)

    def __init__(self, document: Document, session: NetworkSession, canvas: NetworkCanvas) -> None:
        """Edit the flow of a document."""
        super().__init__(canvas)
        self._document, self._session, self._canvas = document, session, canvas
        canvas.set_fitting(self.fitting)
        canvas.add_wanted.connect(self._add_in)
        canvas.named.connect(self._rename)
        canvas.joined.connect(self.join)
        canvas.dropped.connect(self._offer)
        canvas.pile_wanted.connect(self._list_pile)
        session.arrived.connect(canvas.begin_name)

    @property
    def _project(self) -> Project:
        return self._document.committed

    @property
    def _flow(self) -> Flow:
        return self._project.flow or Flow()

    # Joining

    def fitting(self, port: Port) -> frozenset[ElementKey]:
        """Return the elements that a line from a port may end at."""
        drawn = self._canvas.places.boxes
        if port.side == "out":
            return frozenset(fitting_ends(self._project, port.key) & drawn.keys())
        return frozenset(key for key in drawn if key != port.key and may_lead_to(key, port.key))

    def join(self, port: Port, key: ElementKey) -> None:
        """Lead a line between a port and an element, as it runs."""
        start, end = (port.key, key) if port.side == "out" else (key, port.key)
        self._do(lambda: connect_parts(self._project, start, end, port.way))

    # Adding

    def add(self, kind: ElementKind, at: QPoint | None = None) -> None:
        """Add a part of a kind; at: where a menu asks what else must be known, on the screen."""
        place = at or self._canvas.viewport().mapToGlobal(QPoint(0, self._canvas.viewport().height() // 3))
        if kind is ElementKind.GATE:
            self._ask_magazine(place)
        elif kind is ElementKind.DIVERTER:
            self._ask_channel(place)
        else:
            self._make(kind.value)

    def _add_in(self, column: int) -> None:
        columns, places = self._session.network.columns, self._canvas.places
        head = places.heads[column]
        corner = QPoint(round(head.left) - self._canvas.origin.x(), round(head.height))
        self.add(columns[column].kind, self._canvas.viewport().mapToGlobal(corner))

    def _make(self, kind: str, port: Port | None = None) -> None:
        """Add a part that needs only a name, joined to a port."""
        self._do(lambda: _added(self._project, kind, port), selects=True, asks_name=True)

    def _ask_magazine(self, place: QPoint) -> None:
        """Ask out of which magazine a new gate lets items, unless one is selected; then on which lane."""
        one, magazines = self._session.one, self._flow.magazines
        if not magazines or not self._project.lanes:
            what = "lane" if magazines else "magazine"
            self.status_message.emit(f"A gate lets items out of a magazine on a lane: add a {what} first.")
        elif one is not None and one.kind is ElementKind.MAGAZINE:
            self._ask_gate(one.id, place)
        elif len(magazines) == 1:
            self._ask_gate(magazines[0].id, place)
        else:
            menu = self._menu("Gate")
            for magazine in magazines:
                name = self._name(("magazine", magazine.id))
                self._offer_lanes(menu.addMenu(f"Out of {_plain(name)}"), self._gate_of(magazine.id))
            menu.popup(place)

    def _ask_gate(self, magazine: str, place: QPoint) -> None:
        menu = self._menu("Gate")
        self._offer_lanes(menu, self._gate_of(magazine))
        menu.popup(place)

    def _gate_of(self, magazine: str) -> Choose:
        def choose(lane: Lane, level: str) -> None:
            self._do(lambda: add_gate(self._project, magazine, lane.id, level), selects=True)

        return choose

    def _ask_channel(self, place: QPoint) -> None:
        """Ask which lane decides where a channel leads: the selected one, or any without a diverter."""
        one = self._session.one
        free = [channel.id for channel in self._flow.channels if not isinstance(channel.to, Diverter)]
        if one is not None and one.kind is ElementKind.CHANNEL and one.id in free:
            free = [one.id]
        if not free or not self._project.lanes:
            self.status_message.emit(
                "A diverter is at the end of a channel: add a channel without one first."
            )
            return
        menu = self._menu("Diverter")
        for channel in free:
            name = self._name(("channel", channel))
            holder = menu if len(free) == 1 else menu.addMenu(f"At the end of {_plain(name)}")
            self._offer_diverter(holder, channel)
        menu.popup(place)

    def _offer_diverter(self, menu: QMenu, channel: str) -> None:
        def choose(lane: Lane, _level: str) -> None:
            self._do(lambda: add_diverter(self._project, channel, lane.id), selects=True)

        self._offer_lanes(menu, choose, levels=False)

    # Menus

    def _menu(self, title: str) -> Menu:
        menu = Menu(self._canvas, title)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        return menu

    def _offer_lanes(self, menu: QMenu, choose: Choose, *, levels: bool = True) -> None:
        """Offer the lanes, by groups where there are many; levels: and the levels of each."""

        def fill() -> None:
            if not menu.isEmpty():
                return
            lanes = self._project.lanes
            groups = list(dict.fromkeys(lane.group or "" for lane in lanes))
            if len(lanes) <= MOST_LISTED or len(groups) == 1:
                self._fill(menu, lanes, choose, levels=levels)
                return
            for group in groups:
                own = [lane for lane in lanes if (lane.group or "") == group]
                self._fill(menu.addMenu(_plain(group) or "Lanes without a group"), own, choose, levels=levels)

        menu.aboutToShow.connect(fill)
        if isinstance(menu, Menu):  # at the top: an empty one is not shown
            fill()

    def _fill(self, menu: QMenu, lanes: Iterable[Lane], choose: Choose, *, levels: bool) -> None:
        for lane in lanes:
            name = f"{lane.code or ''} {lane.label}".strip()
            names = tuple(self._project.levels_of(lane))
            if not levels:
                menu.addAction(_plain(name)).triggered.connect(lambda _=False, lane=lane: choose(lane, ""))
                continue
            own = menu.addMenu(_plain(name))
            for level in names:
                action = own.addAction(_plain(level))
                action.triggered.connect(lambda _=False, lane=lane, level=level: choose(lane, level))

    def _offer(self, port: Port, place: QPoint) -> None:
        """Offer what can be where a line was dropped on empty ground."""
        menu = self._menu("New")
        for kind in self._can_be_at(port):
            if kind == "gate":
                self._offer_lanes(menu.addMenu("New gate on"), self._gate_of(port.key[1]))
            elif kind == "diverter":
                self._offer_diverter(menu.addMenu("New diverter moved by"), port.key[1])
            else:
                action = menu.addAction(f"New {kind}")
                action.triggered.connect(lambda _=False, kind=kind: self._make(kind, port))
        if menu.isEmpty():
            menu.deleteLater()
            self.status_message.emit("Nothing new can be connected here.")
        else:
            menu.popup(place)

    def _can_be_at(self, port: Port) -> tuple[str, ...]:
        if port.side == "out":
            return can_stand(self._project, port.key)
        before = BEFORE.get(port.key[0])
        return () if before is None else (before,)

    def _list_pile(self, key: ElementKey, place: QPoint) -> None:
        """Show the gates of a pile as a list; the one that is chosen is selected."""
        pile = self._session.pile(key)
        if pile is None:
            return
        menu = self._menu(pile.name)
        for gate in pile.gates:
            element = self._session.network.by_key[gate]
            action = menu.addAction(_plain(element.name))
            action.triggered.connect(lambda _=False, gate=gate: self._session.select([gate], key))
        menu.popup(place)

    # Names

    def _rename(self, key: ElementKey, name: str) -> None:
        """Change the name of a part, and keep it selected under its new id."""
        self._do(lambda: rename_part(self._project, key, name), selects=True)

    # Inside

    def _name(self, key: ElementKey) -> str:
        element = self._session.network.by_key.get(key)
        return key[1] if element is None else element.name

    def _do(self, make: Callable[[], Edited], *, selects: bool = False, asks_name: bool = False) -> None:
        """Make one undo step, or say why not; selects: what is new in it; asks_name: and its name."""
        before = self._project
        fault = commit(self._document, make)
        if fault:
            self.status_message.emit(fault)
            self._canvas.say(fault)
        elif selects:
            self._session.select_when_there(new_keys(before, self._project), asks_name=asks_name)


def _plain(text: str) -> str:
    """Write a text of the maker so that no letter of it becomes a key of the menu."""
    return text.replace("&", "&&")


def _added(project: Project, kind: str, port: Port | None) -> Edited:
    """Return the edit that adds a part and joins it to a port."""
    made = add_part(project, kind, kind.capitalize())
    if port is None:
        return made
    own = next(key for key in new_keys(project, made.project) if key[0] == kind)
    start, end = (port.key, own) if port.side == "out" else (own, port.key)
    return Edited(connect_parts(made.project, start, end, port.way).project, made.name)
