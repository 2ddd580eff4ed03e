"""Where a printer builds the copies of the parts, against where they should be.

A copy may be moved, never scaled or mirrored. On *plates* it may be turned by a quarter, stands on the bed,
and no two take the same room; an *assembly* has every copy at its own place, as it is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import PROOF_SHAPE_MM
from shaftscore.base.wording import counted, millimetres
from shaftscore.make.proof.compare import ReadPart
from shaftscore.make.proof.faults import FileFault, unreadable
from shaftscore.make.proof.reading.contents import BuiltCopy
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.rim import RimError

TURN_LIMIT = 1e-6
"""Largest difference of an entry of a transform from that of one that only moves: 0.1 µm on 100 mm."""

QUARTER_DEG = 90.0
"""By this angle, counterclockwise, a copy on a plate may be turned."""

Place = tuple[float, ...]
"""Where the origin of a copy is: x, y, z, mm; then, if it is turned, by how many degrees."""


@dataclass(frozen=True)
class ExpectedCopies:
    """How many copies of each part are built, by code, and where each lies; fixed: nowhere else will do."""

    counts: Mapping[str, int]
    places: Mapping[str, Sequence[Place]]
    fixed: bool


def misplaced(
    file: str, copies: Sequence[BuiltCopy], parts: Mapping[str, ReadPart], expected: ExpectedCopies
) -> list[FileFault]:
    """Return what is wrong with the number and the places of the copies in a file."""
    faults = [*_counts(file, copies, expected), *_turned(file, copies, expected)]
    if expected.fixed:
        return [*faults, *_elsewhere(file, copies, expected.places)]
    return [*faults, *_off_the_bed(file, copies), *_on_one_another(file, copies, parts)]


def _counts(file: str, copies: Sequence[BuiltCopy], expected: ExpectedCopies) -> Iterator[FileFault]:
    found = Counter(copy.code for copy in copies)
    for code in dict.fromkeys([*expected.counts, *found]):
        by = found[code] - expected.counts.get(code, 0)
        if by:
            right = expected.counts.get(code, 0)
            what = f"{counted(found[code], 'copy')} of it are built, not {right}"
            yield FileFault(file, code, what, by, 0, "copies")


def turn_of(angle_deg: float) -> npt.NDArray[np.float64]:
    """Return the rows of turning, (3, 3), of a transform by 0° or a quarter turn counterclockwise about z."""
    rows = [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]] if angle_deg == QUARTER_DEG else np.eye(3)
    return np.asarray(rows, np.float64)


def _turned_by(place: Place) -> float:
    """Return by how many degrees a copy in a place is turned."""
    return place[3] if len(place) > 3 else 0.0


def _off_turn(copy: BuiltCopy, angle_deg: float) -> float:
    """Return how far a copy's rows of turning are off those of an angle."""
    return float(np.abs(copy.turn - turn_of(angle_deg)).max())


def _turned(file: str, copies: Sequence[BuiltCopy], expected: ExpectedCopies) -> Iterator[FileFault]:
    """Yield the copies that are turned by an angle that is not theirs, scaled or mirrored."""
    for copy in copies:
        own = {_turned_by(place) for place in expected.places.get(copy.code, ())} or {0.0}
        by = min(_off_turn(copy, angle) for angle in (own if expected.fixed else (0.0, QUARTER_DEG)))
        if not by <= TURN_LIMIT:
            what = f"a copy is turned, scaled or mirrored: its transform is off by {by:.4g}"
            yield FileFault(file, copy.code, what, by, TURN_LIMIT, "1")


def _elsewhere(
    file: str, copies: Sequence[BuiltCopy], places: Mapping[str, Sequence[Place]]
) -> Iterator[FileFault]:
    """Yield the copies for which no place is left that is near enough."""
    free = {code: list(found) for code, found in places.items()}
    for copy in copies:
        left = free.get(copy.code)
        if not left:
            continue
        same = [place for place in left if _off_turn(copy, _turned_by(place)) <= TURN_LIMIT] or left
        apart = [float(np.abs(copy.at - np.array(place[:3])).max()) for place in same]
        nearest = int(np.argmin(apart))
        right = same[nearest]
        left.remove(right)
        if not apart[nearest] <= PROOF_SHAPE_MM:
            by = millimetres(apart[nearest], 3)
            what = f"a copy is at {_at(copy.at)}, not at {_at(right[:3])}: off by {by}"
            yield FileFault(file, copy.code, what, apart[nearest], PROOF_SHAPE_MM, "mm")


def _off_the_bed(file: str, copies: Sequence[BuiltCopy]) -> Iterator[FileFault]:
    for copy in copies:
        by = float(copy.at[2])
        if not abs(by) <= PROOF_SHAPE_MM:
            what = f"a copy is at z = {by:.3f} mm, not on the bed: off by {millimetres(abs(by), 3)}"
            yield FileFault(file, copy.code, what, by, PROOF_SHAPE_MM, "mm")


def _on_one_another(
    file: str, copies: Sequence[BuiltCopy], parts: Mapping[str, ReadPart]
) -> Iterator[FileFault]:
    """Yield pairs of copies that take the same room, going along x."""
    known = [(part, copy) for copy in copies if isinstance(part := parts.get(copy.code), SolidPart)]
    boxes = sorted((*_box(part, copy), copy.code, number) for number, (part, copy) in enumerate(known))
    for place, (_, high, lower, upper, code, number) in enumerate(boxes):
        for left, _, below, above, other, second in boxes[place + 1 :]:
            if left >= high - PROOF_SHAPE_MM:
                break
            if min(upper, above) - max(lower, below) <= PROOF_SHAPE_MM:
                continue
            try:
                by = _shared_mm(_shadow(*known[number]), _shadow(*known[second]))
            except RimError as error:
                yield unreadable(file, error, code)
                return
            if by > PROOF_SHAPE_MM:
                what = f"a copy overlaps one of {other} by {millimetres(by, 2)}"
                yield FileFault(file, code, what, by, 0.0, "mm")
                break


def _shadow(part: SolidPart, copy: BuiltCopy) -> Any:
    """Return what a copy covers in plan view, a polygon of shapely, mm."""
    from shapely.affinity import affine_transform

    (a, b, _), (d, e, _), _ = copy.turn.T.tolist()
    return affine_transform(part.shadow, (a, b, d, e, float(copy.at[0]), float(copy.at[1])))


def _shared_mm(one: Any, other: Any) -> float:
    """Return the mean width of what two polygons of shapely share, mm: twice its area over its edge."""
    shared = one.intersection(other)
    return float(2 * shared.area / shared.length) if shared.area else 0.0


def _box(part: SolidPart, copy: BuiltCopy) -> tuple[float, float, float, float]:
    """Return the extent of a copy in plan view: x from, to, y from, to, mm."""
    flat = part.corners.reshape(-1, 3) @ copy.turn
    low, high = flat.min(axis=0) + copy.at, flat.max(axis=0) + copy.at
    return float(low[0]), float(high[0]), float(low[1]), float(high[1])


def _at(place: Place | npt.NDArray[np.float64]) -> str:
    return f"({', '.join(f'{value:.2f}' for value in place)})"
