"""Where a lane's follower goes into a neighbour or another disc at one angle, to be hatched in its drawing.

Bodies, heights and pairs are those of the interference check (`judge.bodies`): what overlaps here is what it
finds with a clearance under zero. Areas are of the station frame, as in `follower_drawing`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.judge.bodies import BodyPair, BodyPart, pairs_of
from shaftscore.judge.bodies.parts import Turning
from shaftscore.judge.bodies.shapes import Circle, Shape
from shaftscore.make.drawing.follower import DrawnShape
from shaftscore.model import Stack
from shaftscore.stack.followers import Points

LEAST_MM2 = 0.01
"""Smaller areas are rounding: faces that touch do not overlap."""

MOST_NAMED = 2
"""Pairs that are named; of more, the number is said."""


@dataclass(frozen=True, eq=False)
class Overlap:
    """What two parts share in plan: their names, and each piece as a shape of the drawing."""

    first: str
    second: str
    shapes: tuple[DrawnShape, ...]


def pairs_that_may_overlap(parts: tuple[BodyPart, ...], stack: Stack, lane_id: str) -> tuple[BodyPair, ...]:
    """Return the pairs with a lane's parts that share a height and do not plainly stay apart all round."""
    pairs = pairs_of(parts, stack, lane_id)
    return tuple(pair for pair in pairs if _share_height(pair) and not pair.is_far(0.0))


def _share_height(pair: BodyPair) -> bool:
    one, two = pair.first, pair.second
    return min(one.top_mm, two.top_mm) > max(one.bottom_mm, two.bottom_mm)


def overlaps(
    pairs: Iterable[BodyPair], theta_deg: float, station: complex, drawn: Sequence[DrawnShape]
) -> tuple[Overlap, ...]:
    """Return which pairs overlap at an angle of the stack's turn, degrees, within the box of what is drawn.

    station: unit vector of the station line.
    """
    import shapely  # kept off the start-up path

    corners = np.concatenate([shape.corners for shape in drawn])
    x, y = corners.real, corners.imag
    box = shapely.box(x.min(), y.min(), x.max(), y.max())
    theta, found = np.array([wrap(theta_deg)]), []
    for pair in pairs:
        areas = (_area(part, theta, station) for part in (pair.first, pair.second))
        shapes = tuple(_shapes(shapely.intersection_all([box, *areas])))
        if shapes:
            found.append(Overlap(pair.first.name, pair.second.name, shapes))
    return tuple(found)


def _area(part: BodyPart, theta: Any, station: complex) -> Any:
    """Return a part at an angle, (1,) degrees, as an area of shapely in the station frame."""
    import shapely  # kept off the start-up path

    body = part.body
    if isinstance(body, Turning):
        rim = body.rim
        turn = np.exp(1j * rim.direction * np.radians(theta[0]))
        return shapely.make_valid(shapely.Polygon(_pairs(rim.points * turn / station)))
    return shapely.union_all([_shape_area(shape, station) for shape in body.at(theta)])


def _shape_area(shape: Shape, station: complex) -> Any:
    import shapely  # kept off the start-up path

    if isinstance(shape, Circle):
        at = complex(shape.centre[0]) / station
        return shapely.Point(at.real, at.imag).buffer(shape.radius_mm)
    a, b, c, d = (complex(corner[0]) for corner in shape.corners)
    return shapely.Polygon(_pairs(np.array([a, b, d, c]) / station))


def _pairs(points: Points) -> Any:
    return np.column_stack([points.real, points.imag])


def _shapes(area: Any) -> Iterator[DrawnShape]:
    """Yield each piece of an area that is larger than rounding."""
    import shapely  # kept off the start-up path

    for piece in shapely.get_parts(area):
        if piece.area > LEAST_MM2:
            corners = shapely.get_coordinates(piece.exterior)[:-1] @ np.array([1, 1j])
            yield DrawnShape("touch", corners, name="overlap")


def overlap_text(found: Sequence[Overlap]) -> str:
    """Return what overlaps as one line; empty where nothing does."""
    named = [f"{one.first} and {one.second} overlap" for one in found[:MOST_NAMED]]
    more = len(found) - MOST_NAMED
    return "; ".join([*named, f"{more} more"] if more > 0 else named)
