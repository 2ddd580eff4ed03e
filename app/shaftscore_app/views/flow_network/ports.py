"""Where lines can be joined: ports of elements, and what each may be joined to; no Qt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from shaftscore.judge.flow.drawn import (
    DiverterElement,
    ElementKey,
    ElementKind,
    FlowElement,
    key_of,
)
from shaftscore_app.views.flow_network.places import Box, NetworkPlaces
from shaftscore_app.views.flow_network.routes import Spot
from shaftscore_app.views.flow_network.sizes import PITCH

Side = Literal["in", "out"]

ENDS = (ElementKind.CHANNEL, ElementKind.OUTLET, ElementKind.MAGAZINE)
"""What a gate, a channel or a way of a diverter may lead to."""

AFTER: Mapping[ElementKind, tuple[ElementKind, ...]] = {
    ElementKind.SUPPLY: (ElementKind.MAGAZINE,),
    ElementKind.MAGAZINE: (ElementKind.GATE,),
    ElementKind.GATE: ENDS,
    ElementKind.CHANNEL: ENDS,
    ElementKind.DIVERTER: ENDS,
}
"""What each kind may lead to."""

_PAIRS = {(start.value, end.value) for start, ends in AFTER.items() for end in ends}


@dataclass(frozen=True)
class Port:
    """A port of an element: its side, its place, and for a diverter the number of the way."""

    key: ElementKey
    side: Side
    spot: Spot
    way: int | None = None

    def is_at(self, x: float, y: float, u: float) -> bool:
        """Return whether a place is in the area of 24 px of the design that belongs to it."""
        reach = PITCH * u / 2
        return abs(x - self.spot[0]) <= reach and abs(y - self.spot[1]) <= reach


def ports_of(places: NetworkPlaces, key: ElementKey) -> tuple[Port, ...]:
    """Return the ports of an element, the one that lines are drawn from first."""
    element, box = places.shown.by_key.get(key), places.boxes.get(key)
    if element is None or box is None or element.kind is ElementKind.PILE:
        return ()
    return tuple(_ports(places, element, box))


def _ports(places: NetworkPlaces, element: FlowElement, box: Box) -> Iterator[Port]:
    if isinstance(element, DiverterElement):
        for number in range(len(element.ways)):
            yield Port(element.key, "out", (box.right, places.way_middle(element, number)), number)
        return
    diverted = key_of(ElementKind.DIVERTER, element.id) in places.boxes
    if element.kind in AFTER and not (element.kind is ElementKind.CHANNEL and diverted):
        yield Port(element.key, "out", (box.right, box.middle))
    if any(element.kind in kinds for kinds in AFTER.values()):
        yield Port(element.key, "in", (box.left, box.middle))


def may_lead_to(start: ElementKey, end: ElementKey) -> bool:
    """Return whether an element of one kind may lead to one of another kind."""
    return (start[0], end[0]) in _PAIRS
