"""Laying parts out on build plates: rectangles, as they are or by a quarter turn, within the printer's bed.

The room of a plate is kept as the largest free rectangles in it, which may overlap. A part goes to the first
plate that takes it, into the free rectangle that it fills best along one side. Several orders are tried, with
and without turning; the one with the fewest plates wins, of those one without turned parts, of those the one
that leaves the last plate emptiest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

GAP_MM = 5.0
"""Distance between parts, and of parts from the edge of the bed (common practice, no source)."""

LEAST_MM = 1e-6
"""Free room narrower than this is none."""

ORDERED = 400
"""With more parts than this, one order is tried: the work grows with their square."""

Size = tuple[float, float]
"""Width and height, mm."""


@dataclass(frozen=True)
class Spot:
    """Where a rectangle lies: its plate's number from 0, its lower left corner on it, mm, whether turned.

    A turned one lies a quarter turn counterclockwise: its width runs up the plate.
    """

    plate: int
    x_mm: float
    y_mm: float
    turned: bool = False


@dataclass(frozen=True)
class _Room:
    """A free rectangle of a plate: left, low, right, high, mm."""

    left: float
    low: float
    right: float
    high: float

    def takes(self, size: Size) -> bool:
        """Return whether a rectangle has room in it."""
        return size[0] <= self.right - self.left + LEAST_MM and size[1] <= self.high - self.low + LEAST_MM

    def spare(self, size: Size) -> Size:
        """Return what a rectangle leaves: the lesser, then the greater of both sides."""
        wide, high = self.right - self.left - size[0], self.high - self.low - size[1]
        return min(wide, high), max(wide, high)

    def holds(self, other: _Room) -> bool:
        """Return whether another one lies within it."""
        return (
            self.left <= other.left
            and self.low <= other.low
            and self.right >= other.right
            and self.high >= other.high
        )

    def without(self, taken: _Room) -> Iterator[_Room]:
        """Yield the largest rectangles in it that a taken one leaves."""
        if (
            taken.left >= self.right
            or taken.right <= self.left
            or taken.low >= self.high
            or taken.high <= self.low
        ):
            yield self
            return
        for part in (
            _Room(self.left, self.low, taken.left, self.high),
            _Room(taken.right, self.low, self.right, self.high),
            _Room(self.left, self.low, self.right, taken.low),
            _Room(self.left, taken.high, self.right, self.high),
        ):
            if part.right - part.left > LEAST_MM and part.high - part.low > LEAST_MM:
                yield part


def lay_out(sizes: Sequence[Size], bed: Size) -> list[Spot]:
    """Return a spot for each rectangle (width, height), mm, in the order given.

    A part that leaves less than GAP_MM beside it on the bed lies in the middle of a plate of its own.
    """
    keys = (
        lambda n: (-max(sizes[n]), -min(sizes[n]), n),
        lambda n: (-sizes[n][0] * sizes[n][1], n),
        lambda n: (-min(sizes[n]), -max(sizes[n]), n),
    )
    orders = [sorted(range(len(sizes)), key=key) for key in keys]
    tried = orders[: 1 if len(sizes) > ORDERED else None]
    found = [_laid(sizes, bed, order, turns) for turns in ((False,), (False, True)) for order in tried]
    return min(found, key=lambda spots: _fullness(spots, sizes), default=[])


def _fullness(spots: Sequence[Spot], sizes: Sequence[Size]) -> tuple[int, bool, float]:
    """Return how many plates are used, whether a part is turned, and how much of the last plate is used."""
    last = max((spot.plate for spot in spots), default=-1)
    used = (w * h for spot, (w, h) in zip(spots, sizes, strict=True) if spot.plate == last)
    return last, any(spot.turned for spot in spots), sum(used)


def _laid(sizes: Sequence[Size], bed: Size, order: Sequence[int], turns: Sequence[bool]) -> list[Spot]:
    """Lay rectangles out one after the other; turns: whether each may lie as it is, and turned."""
    plates: list[list[_Room]] = []
    spots: dict[int, Spot] = {}
    for number in order:
        spots[number] = _placed(plates, sizes[number], bed, turns)
    return [spots[number] for number in range(len(sizes))]


def _placed(plates: list[list[_Room]], size: Size, bed: Size, turns: Sequence[bool]) -> Spot:
    """Put a rectangle on the first plate that takes it, on a new one if there is none."""
    whole = _Room(GAP_MM, GAP_MM, bed[0], bed[1])
    for plate, rooms in enumerate([*plates, [whole]]):
        best = _best(rooms, size, turns)
        if best is not None:
            if plate == len(plates):
                plates.append([whole])
            return _taken(plates, plate, *best, size)
    plates.append([])
    turned = not (size[0] <= bed[0] and size[1] <= bed[1]) and size[1] <= bed[0] and size[0] <= bed[1]
    wide, high = size[::-1] if turned else size
    return Spot(len(plates) - 1, (bed[0] - wide) / 2, (bed[1] - high) / 2, turned)


def _best(rooms: Sequence[_Room], size: Size, turns: Sequence[bool]) -> tuple[_Room, bool] | None:
    """Return the free rectangle that a part, with its gap, fills best, and whether it is turned for it."""
    fitting = [
        (room.spare(grown), turned, room.low, room.left, room)
        for turned in turns
        for room in rooms
        if room.takes(grown := _grown(size, turned))
    ]
    if not fitting:
        return None
    best = min(fitting, key=lambda row: row[:4])
    return best[4], best[1]


def _grown(size: Size, turned: bool) -> Size:
    """Return the room that a part takes with the gap beside and above it."""
    wide, high = size[::-1] if turned else size
    return wide + GAP_MM, high + GAP_MM


def _taken(plates: list[list[_Room]], plate: int, room: _Room, turned: bool, size: Size) -> Spot:
    """Put a part into the lower left corner of a free rectangle of a plate."""
    wide, high = _grown(size, turned)
    taken = _Room(room.left, room.low, room.left + wide, room.low + high)
    left = [part for free in plates[plate] for part in free.without(taken)]
    plates[plate] = [
        one
        for place, one in enumerate(left)
        if not any(
            other.holds(one) and (place > at or not one.holds(other))
            for at, other in enumerate(left)
            if at != place
        )
    ]
    return Spot(plate, room.left, room.low, turned)
