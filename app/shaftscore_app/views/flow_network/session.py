"""What the person does with the network: which banks are open, what is selected, where the keys are.

It is not part of the project: nothing of it makes an undo step. Selecting gates and diverters selects their
lanes in the document, which scrolls nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QObject, Signal

from shaftscore.judge.flow import FlowHistory
from shaftscore.judge.flow.drawn import (
    DiverterElement,
    ElementKey,
    ElementKind,
    FlowElement,
    FlowNetwork,
    GateElement,
    PileElement,
)
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.views.flow_network.moment import RunMoment, RunMoments, TurnCounter
from shaftscore_app.views.flow_network.paths import is_bank

FOLDED_ABOVE = 60
"""With more gates than this a pile opens as a list, and no bank is unfolded."""


class NetworkSession(QObject):
    """The state of the face.

    Signals: changed() when what is shown or selected is another; laid() when elements may be elsewhere;
    moved() when only the moment of the run is another; arrived(key) when a new part whose name is
    to be asked is there.
    """

    changed = Signal()
    laid = Signal()
    moved = Signal()
    arrived = Signal(object)

    def __init__(self, document: Document, network: FlowNetwork, parent: QObject | None = None) -> None:
        """Begin with a network; what was open and selected before is not known."""
        super().__init__(parent)
        self.document = document
        self.network = network
        self.open_banks = network.starts_open
        self.selected: tuple[ElementKey, ...] = ()
        self.current: ElementKey | None = None
        self.column: int | None = None
        self._known_banks = frozenset(bank.key for bank in network.banks)
        self._is_settled = False
        self._turns = TurnCounter()
        self._kept = KeptThings()
        self._awaited: tuple[ElementKey, ...] = ()
        self._asks_name = False
        self._moments: RunMoments | None = None

    # The network

    def take(self, network: FlowNetwork, history: FlowHistory | None, *, fresh: bool = False) -> None:
        """Show another network.

        history: of the run that its figures are from. fresh: it is of another file. Banks open by themselves
        only until the first figures of a file are there, or where they are new.
        """
        self._moments = None if history is None else RunMoments(history)
        known = frozenset(bank.key for bank in network.banks)
        new = network.starts_open - self._known_banks
        waits = fresh or not self._is_settled
        self.open_banks = network.starts_open if waits else frozenset((self.open_banks & known) | new)
        self.open_banks |= {bank.key for bank in network.banks if not bank.title}  # it cannot be opened
        self._is_settled = not waits or (bool(network.turns) and not network.is_stale)
        self._known_banks = known
        self.network = network
        there = network.by_key.keys() | self._piles.keys()
        self.selected = tuple(key for key in self.selected if key in there)
        if self.current is not None and not is_bank(self.current) and self.current not in there:
            self.current = self.selected[-1] if self.selected else None
        self.laid.emit()
        self._select_awaited()
        self.changed.emit()

    def select_when_there(self, keys: Iterable[ElementKey], *, asks_name: bool = False) -> None:
        """Select new parts, at once or when they are there; asks_name: `arrived` then says so."""
        self._awaited, self._asks_name = tuple(keys), asks_name
        self._select_awaited()

    def _select_awaited(self) -> None:
        keys = self._awaited
        if keys and all(key in self.network.by_key for key in keys):
            self._awaited = ()
            self.select(keys, current=keys[-1])
            if self._asks_name:
                self.arrived.emit(keys[-1])

    @property
    def gate_count(self) -> int:
        """How many gates there are."""
        return sum(isinstance(element, GateElement) for element in self.network.elements)

    @property
    def may_unfold(self) -> bool:
        """Whether banks can be opened: not with too many gates to draw each as a row."""
        return self.gate_count <= FOLDED_ABOVE

    def set_open(self, bank: str, *, is_open: bool) -> bool:
        """Open or fold a bank; returns whether that changed anything."""
        titled = any(one.key == bank and one.title for one in self.network.banks)
        if not titled or is_open == (bank in self.open_banks) or (is_open and not self.may_unfold):
            return False
        self.open_banks = self.open_banks | {bank} if is_open else self.open_banks - {bank}
        self._is_settled = True
        if self.current is not None and not is_bank(self.current):
            self.current = self.shown_for(self.current)
        self.laid.emit()
        self.changed.emit()
        return True

    def shown_for(self, key: ElementKey) -> ElementKey:
        """Return the key under which an element is drawn: that of its pile where its bank is folded."""
        return self._piled.get(key, key)

    @property
    def _piled(self) -> Mapping[ElementKey, ElementKey]:
        """By gate of a folded bank, the pile in which it lies."""
        return self._kept.get("piled", "", (self.network,), self.open_banks, self._made_piled)

    def _made_piled(self) -> dict[ElementKey, ElementKey]:
        folded = (bank for bank in self.network.banks if bank.key not in self.open_banks)
        return {gate: pile.key for bank in folded for pile in bank.piles for gate in pile.gates}

    @property
    def _piles(self) -> Mapping[ElementKey, PileElement]:
        """All piles by key, those of open banks too."""
        return self._kept.get("piles", "", (self.network,), None, self._made_piles)

    def _made_piles(self) -> dict[ElementKey, PileElement]:
        return {pile.key: pile for bank in self.network.banks for pile in bank.piles}

    def drawn(self, key: ElementKey | None) -> FlowElement | None:
        """Return the element that is drawn under a key: a pile, or a part of the flow."""
        return None if key is None else self.network.by_key.get(key) or self._piles.get(key)

    # Selection

    def select(self, keys: Iterable[ElementKey], current: ElementKey | None = None) -> None:
        """Select elements, and nothing else; current: where the keys go on from, the last one if None."""
        self.selected = tuple(dict.fromkeys(keys))
        self.current = current or (self.selected[-1] if self.selected else self.current)
        self._select_lanes()
        self.changed.emit()

    def toggle(self, key: ElementKey) -> None:
        """Add an element to the selection, or leave it out of it."""
        rest = [other for other in self.selected if other != key]
        self.select(rest if key in self.selected else [*rest, key], current=key)

    def go(self, stop: ElementKey) -> None:
        """Go to the heading of a bank; the selection stays."""
        self.current = stop
        self.changed.emit()

    @property
    def elements(self) -> tuple[FlowElement, ...]:
        """The selected elements, those of piles in their place."""
        known = self.network.by_key
        return tuple(known[key] for key in self.part_keys if key in known)

    @property
    def part_keys(self) -> tuple[ElementKey, ...]:
        """The keys of the parts of the flow that are selected: a pile stands for its gates."""
        piles = self._piles
        keys = [gate for key in self.selected for gate in (piles[key].gates if key in piles else (key,))]
        return tuple(dict.fromkeys(keys))

    @property
    def one(self) -> FlowElement | None:
        """The element that is selected alone."""
        elements = self.elements
        return elements[0] if len(elements) == 1 else None

    def pile(self, key: ElementKey | None) -> PileElement | None:
        """Return the pile of a key."""
        return None if key is None else self._piles.get(key)

    def _select_lanes(self) -> None:
        lanes = [e.lane for e in self.elements if isinstance(e, GateElement | DiverterElement)]
        known = tuple(lane for lane in dict.fromkeys(lanes) if lane in self.document.project.lane_index)
        if known and set(known) != set(self.document.selection.lane_ids):
            self.document.select(Selection.of_lanes(known, self.document.selection.finding))

    # The run

    def follow_cursor(self, deg: float) -> None:
        """Take the cursor's next angle."""
        self._turns.follow(deg if self.document.report.cycles == 1 else self.document.flow_deg)
        self.moved.emit()

    @property
    def moment(self) -> RunMoment | None:
        """What the run is at where the shaft is; None where nothing was run for the project shown."""
        moments = self._moments
        if moments is None or self.network.is_stale or not self.network.turns:
            return None
        history = moments.history
        self._turns.keep_within(history.first_turn, history.last_turn)
        return moments.at(self._turns.turn, self.document.flow_deg)


def said_selection(session: NetworkSession) -> str:
    """Describe what is selected, for those who hear it."""
    if is_bank(session.current):
        return said_bank(session, str(session.current[1]) if session.current else "")
    element = session.drawn(session.current)
    if element is None:
        return ""
    others = len(session.part_keys) - 1
    more = f" {len(session.part_keys)} selected." if others > 0 else ""
    return f"{element.spoken}{more}"


def said_bank(session: NetworkSession, key: str) -> str:
    """Describe the heading of a bank."""
    bank = next((one for one in session.network.banks if one.key == key), None)
    if bank is None:
        return ""
    state = "open" if key in session.open_banks else "folded"
    return f"{bank.title}, {bank.text}, {state}."


def tip_of(session: NetworkSession, element: FlowElement) -> str:
    """Describe an element, with what is in it at the moment of the run."""
    moment, lines = session.moment, [element.spoken]
    if moment is not None and element.kind is ElementKind.MAGAZINE and element.id in moment.counts:
        lines.append(f"Now, in turn {moment.turn:,}: {moment.counts[element.id]:,}")
    if moment is not None and element.kind is ElementKind.CHANNEL:
        count = len(moment.under_way.get(element.id, ()))
        lines.append(f"Now, in turn {moment.turn:,}: {count:,} under way")
    return "\n".join(lines)
