"""Where the arrow keys lead: along the lines to the left and right, up and down in the column; no Qt.

A *stop* is the key of an element, or ("bank", key) for the heading of a bank.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shaftscore.judge.flow.drawn import ElementKey
from shaftscore_app.views.flow_network.places import Box, NetworkPlaces

BANK = "bank"
"""Kind of a stop that is the heading of a bank."""


def bank_stop(key: str) -> ElementKey:
    """Return the stop of a bank's heading."""
    return BANK, key


def is_bank(stop: ElementKey | None) -> bool:
    """Return whether a stop is the heading of a bank."""
    return stop is not None and stop[0] == BANK


def box_of(places: NetworkPlaces, stop: ElementKey | None) -> Box | None:
    """Return the box of a stop; None where it is not drawn."""
    if stop is None:
        return None
    if is_bank(stop):
        bank = places.banks.get(stop[1])
        return None if bank is None else bank.head
    return places.boxes.get(stop)


def first_stop(places: NetworkPlaces) -> ElementKey | None:
    """Return the stop at which the keys begin: the first element."""
    return next((keys[0] for _, keys in sorted(places.by_column.items()) if keys), None)


def beside(places: NetworkPlaces, stop: ElementKey, *, right: bool) -> ElementKey | None:
    """Return the element that a line leads to (or comes from), nearest in height; else the next column's.

    Lines on which something passes come first.
    """
    box = box_of(places, stop)
    if box is None or is_bank(stop):
        return None
    ends = (places.shown.after if right else places.shown.before).get(stop, ())
    there = [key for key in ends if key in places.boxes]
    busy = [key for key in there if ((stop, key) if right else (key, stop)) not in places.quiet]
    joined = _nearest(places, busy or there, box.middle)
    return joined or _next_column(places, stop, box.middle, right=right)


def _next_column(places: NetworkPlaces, stop: ElementKey, y: float, *, right: bool) -> ElementKey | None:
    """Return the element of the next column that is not empty, nearest in height."""
    own = places.shown.by_key[stop].column
    columns = [column for column in places.by_column if (column > own if right else column < own)]
    if not columns:
        return None
    return _nearest(places, places.by_column[min(columns) if right else max(columns)], y)


def _nearest(places: NetworkPlaces, keys: Iterable[ElementKey], y: float) -> ElementKey | None:
    return min(keys, key=lambda key: abs(places.boxes[key].middle - y), default=None)


def along_column(places: NetworkPlaces, stop: ElementKey, by: int, column: int | None = None) -> ElementKey:
    """Return the stop above (by = -1) or below (1) in the column: an element, or the heading of a bank.

    column: where a heading is left; the first one that the frames hold if None.
    """
    box = box_of(places, stop)
    if box is None:
        return stop
    own = column if is_bank(stop) else places.shown.by_key[stop].column
    stops = _stops(places, 0 if own is None else own)
    middle = box.middle
    on = [one for one, at in stops if (at > middle if by > 0 else at < middle)]
    return stop if not on else on[0 if by > 0 else -1]


def _stops(places: NetworkPlaces, column: int) -> Sequence[tuple[ElementKey, float]]:
    """Return the stops of a column with the heights of their middles, from the top."""
    found = [(key, places.boxes[key].middle) for key in places.by_column.get(column, ())]
    head = places.heads[column]
    for key, bank in places.banks.items():
        if bank.frame.left <= head.left < bank.frame.right:
            found.append((bank_stop(key), bank.head.middle))
    return sorted(found, key=lambda stop: stop[1])


def in_turn(
    places: NetworkPlaces, keys: Iterable[ElementKey], now: ElementKey | None, by: int
) -> ElementKey | None:
    """Return the next of some elements, by column and height, round at the ends."""
    order = sorted(keys, key=lambda key: (places.shown.by_key[key].column, places.boxes[key].top))
    if not order:
        return None
    if now not in order:
        return order[0 if by > 0 else -1]
    return order[(order.index(now) + by) % len(order)]
