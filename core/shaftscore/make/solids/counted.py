"""The outlines of counted teeth, cut back where the wheel stands in the way, and of their locking disc.

The driver's teeth are those of a full wheel less what the wheel at rest sweeps past them: its teeth stand
still while the first tooth enters and the last one leaves. The notch of the locking disc is what the locking
plate sweeps through it in a step, wider by the clearance: its far edge carries the horn, and so the wheel,
through the last degrees of the step, where the cut teeth no longer reach, and its near edge keeps the wheel
from running ahead at the start.

Own frame of the driver: it turns counterclockwise, the wheel's axis is at +x, and the step begins. Of the
wheel: the driver's axis is at -x, and the step begins.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.built.counted import CountedShape
from shaftscore.built.teeth import wheel_outline
from shaftscore.make.solids.arcs import fit_arcs
from shaftscore.make.solids.part import FINE_MM
from shaftscore.make.solids.trouble import SolidError
from shaftscore.stack import BulgePath

STEP_MM = 0.08
"""How far a rim moves between two places of a sweep, mm: ridges beside a rounding of 0.1 mm are 0.008 mm."""

PASSING_MM = 0.1
"""By which teeth pass the wheel at rest where they are cut back for it, mm."""

NEAR_MM = 1.0
"""Pieces of an outline that are farther than this from the driver are left out of a sweep, mm."""

Reals = npt.NDArray[np.float64]


def teeth_path(shape: CountedShape) -> BulgePath:
    """Return the outline of the driver's counted teeth on their root circle, as true arcs.

    Raises SolidError where a tooth is cut off.
    """
    return fit_arcs(_ring(_cut_teeth(shape), "teeth"))


def lock_path(shape: CountedShape) -> BulgePath:
    """Return the outline of the locking disc with its notch; raises SolidError where that cuts it apart."""
    return fit_arcs(_ring(_notched(shape), "locking disc"))


def wheel_teeth_path(shape: CountedShape) -> BulgePath:
    """Return the outline of the teeth of the wheel, as true arcs."""
    return fit_arcs(wheel_outline(shape.pair.wheel, FINE_MM)).turned(wheel_turn_rad(shape))


def plate_path(shape: CountedShape) -> BulgePath:
    """Return the outline of the locking plate: concave arcs with horns between them."""
    c, arc, tip, half = shape.centre_mm, shape.arc_mm, shape.plate_tip_mm, math.pi / shape.arcs
    beta = shape.corner_rad
    corner = c - arc * np.exp(-1j * beta)
    rim = math.tan((half - shape.opening_rad) / 2)
    vertices: list[complex] = []
    for place in range(shape.arcs):
        turn = np.exp(1j * (math.pi + 2 * half * place))
        vertices += [complex(turn * corner.conjugate()), complex(turn * corner)]
    assert abs(abs(corner) - tip) < 1e-6, "corners are on the tips"
    return BulgePath(tuple(vertices), (-math.tan(beta / 2), rim) * shape.arcs)


def wheel_turn_rad(shape: CountedShape) -> float:
    """Return how far the wheel's teeth are turned from a tooth at +x when a step begins, radians."""
    ratio = shape.pair.pinion.teeth / shape.pair.wheel.teeth
    return math.pi - shape.pushed_tooth_rad + shape.engaged_rad * ratio


def driver_turn_rad(shape: CountedShape) -> float:
    """Return the direction of the driver's last tooth when a step begins, radians."""
    return shape.last_tooth_rad - shape.engaged_rad


def _ring(area: Any, what: str) -> Reals:
    """Return the outline of an area that is in one piece with the axis, (n, 2) mm; raises SolidError."""
    import shapely  # kept off the start-up path
    from shapely.geometry.polygon import orient

    pieces = [one for one in shapely.get_parts(area) if one.contains(shapely.Point(0.0, 0.0))]
    if not pieces:
        raise SolidError(f"nothing is left of the {what} about its bore")
    whole = orient(shapely.remove_repeated_points(pieces[0], FINE_MM / 4))
    return np.asarray(whole.exterior.coords)[:-1]


@lru_cache(maxsize=8)
def _cut_teeth(shape: CountedShape) -> Any:
    """Return the counted teeth on their root circle, cut back, as an area."""
    import shapely  # kept off the start-up path
    from shapely import affinity

    pinion, pitch = shape.pair.pinion, 2 * math.pi / shape.pair.pinion.teeth
    last, far = driver_turn_rad(shape), 2 * pinion.tip_mm
    low, high = last - pitch / 2, last + (shape.counted - 0.5) * pitch
    fan = far * np.exp(1j * np.linspace(low, high, max(4, math.ceil(4 * (high - low)))))
    sector = shapely.Polygon([(0.0, 0.0), *zip(fan.real, fan.imag, strict=True)])
    full = affinity.rotate(shapely.Polygon(wheel_outline(pinion, FINE_MM)), last, (0, 0), use_radians=True)
    root = shapely.Point(0.0, 0.0).buffer(pinion.root_mm, quad_segs=quarters(pinion.root_mm))
    teeth = full.intersection(sector).union(root)
    wheel = _placed(shape, wheel_outline(shape.pair.wheel, CHORD_MM), wheel_turn_rad(shape))
    passing = wheel.buffer(PASSING_MM, quad_segs=8)
    return teeth.difference(shapely.union_all(list(_swept(shape, passing, _standing(shape)))))


@lru_cache(maxsize=8)
def _notched(shape: CountedShape) -> Any:
    """Return the locking disc with its notch, as an area."""
    import shapely  # kept off the start-up path

    disc = shapely.Point(0.0, 0.0).buffer(shape.lock_mm, quad_segs=quarters(shape.lock_mm))
    plate = _placed(shape, plate_path(shape).flattened(FINE_MM), 0.0)
    grown = plate.buffer(shape.clearance_mm, quad_segs=8)
    return disc.difference(shapely.union_all(list(_swept(shape, grown, _turning(shape)))))


def quarters(radius_mm: float) -> int:
    """Return into how many chords a quarter of a circle is cut for a chord error of `FINE_MM`."""
    return math.ceil(math.pi / 4 / math.acos(1 - FINE_MM / radius_mm))


def _placed(shape: CountedShape, ring: Reals, turned_rad: float) -> Any:
    """Return an outline of the wheel at the beginning of a step, the driver's axis at the origin."""
    import shapely  # kept off the start-up path

    points = (ring[:, 0] + 1j * ring[:, 1]) * np.exp(1j * turned_rad) + shape.centre_mm
    return shapely.Polygon(np.column_stack([points.real, points.imag]))


def _turning(shape: CountedShape) -> Iterator[tuple[float, float]]:
    """Yield the places of a step: angles of driver and wheel from its beginning, radians."""
    ratio = shape.pair.pinion.teeth / shape.pair.wheel.teeth
    rim = max(shape.plate_mm, shape.wheel_mm * ratio)
    for angle in np.linspace(0.0, shape.engaged_rad, math.ceil(shape.engaged_rad * rim / STEP_MM) + 1):
        yield float(angle), float(angle) * ratio


def _standing(shape: CountedShape) -> Iterator[tuple[float, float]]:
    """Yield the places of the driver beside a wheel at rest, before and after a step, radians.

    The wheel stands where it should, or off by the backlash towards the flanks that do not drive.
    """
    pair, wheel = shape.pair, shape.pair.wheel
    step = shape.engaged_rad * pair.pinion.teeth / wheel.teeth
    own, mate, c = pair.pinion.tip_mm, wheel.tip_mm, shape.centre_mm
    beside = math.acos((c * c + own * own - mate * mate) / (2 * c * own)) + 2 * math.pi / pair.pinion.teeth
    off = pair.backlash_mm / pair.working_radii_mm[1] / 2
    for past in np.linspace(0.0, beside, math.ceil(beside * own / STEP_MM) + 1):
        for turned in (0.0, off):
            yield -float(past), turned
            yield shape.engaged_rad + float(past), step - turned


def _swept(shape: CountedShape, wheel: Any, places: Iterable[tuple[float, float]]) -> Iterator[Any]:
    """Yield the part of the wheel that is near the driver, in the driver's frame, at places of both."""
    from shapely import Point, affinity  # kept off the start-up path

    centre, near = (shape.centre_mm, 0.0), Point(0.0, 0.0).buffer(shape.plate_mm + NEAR_MM)
    turned_before, local = None, wheel
    for driver, turned in places:
        if turned != turned_before:
            own = affinity.rotate(wheel, -turned, centre, use_radians=True)
            turned_before, local = turned, own.intersection(near)
        yield affinity.rotate(local, -driver, (0.0, 0.0), use_radians=True)
