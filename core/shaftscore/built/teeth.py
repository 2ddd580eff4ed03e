"""The outline of spur wheels: involute flanks, and root fillets as a tool of the basic rack makes them.

The tool rolls on the wheel without slip; where its rounded tip (radius 0.38 m) touches the wheel, the common
normal goes through the *pitch point*, in which the two pitch circles touch. So the fillet is known in closed
form for every direction of that normal, and is a true trochoid's parallel curve, not an arc. An external
wheel is cut by the rack. An internal one, which no rack can cut, is cut by a pinion of the basic rack with
as many teeth and the same shift as the pinion that will run in it, so that this clears the fillet wherever
it rolls. The involute begins at the *form radius*: where it joins the fillet smoothly, or, where the
rack cuts under the tooth, where the fillet crosses it.

Outlines run counterclockwise about the wheel's axis, with the middle of a tooth (of an internal wheel, of a
space) on +x. Plane points are complex, x + iy, mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from math import acos, atan2, ceil, cos, pi, sin, sqrt, tan

import numpy as np
import numpy.typing as npt

from shaftscore.built.arrays import Reals
from shaftscore.built.gears import (
    ALPHA,
    DEDENDUM,
    ROOT_RADIUS,
    SpurPair,
    SpurWheel,
    centre_for,
    last_place,
    lowered_to,
    with_tips,
)

PlanePoints = npt.NDArray[np.complex128]
"""Points of the plane, x + iy, mm."""

LOOKED_AT = 400
"""Places of a fillet that are looked at for where it crosses the involute."""


@dataclass(frozen=True)
class RackFillet:
    """The root fillet of an external wheel that the rack cuts, by the direction of the normal.

    The normal, seen from the rack's tip, points down by an angle: 90° at the root circle, 20° where the flank
    of the rack begins. The middle of a space is on +i here.
    """

    wheel: SpurWheel

    @property
    def rounding_mm(self) -> float:
        """Radius of the rack's tip, mm."""
        return ROOT_RADIUS * self.wheel.module_mm

    @property
    def depth_mm(self) -> float:
        """How far the middle of the rounding is below the pitch line, mm; negative above."""
        return (DEDENDUM - ROOT_RADIUS - self.wheel.shift) * self.wheel.module_mm

    @property
    def half_land_mm(self) -> float:
        """Half the width of the flat tip of the rack, to the middle of the rounding, mm."""
        module = self.wheel.module_mm
        below = (DEDENDUM - ROOT_RADIUS) * module
        return pi * module / 4 - below * tan(ALPHA) - self.rounding_mm / cos(ALPHA)

    def at(self, normal_rad: Reals) -> PlanePoints:
        """Return the points of the fillet (n,) whose normals point down by angles (n,) in radians."""
        rolled = self.depth_mm / np.tan(normal_rad)
        x = rolled + self.rounding_mm * np.cos(normal_rad)
        y = self.wheel.reference_mm - self.depth_mm - self.rounding_mm * np.sin(normal_rad)
        turned = (rolled - self.half_land_mm) / self.wheel.reference_mm
        return np.asarray((x + 1j * y) * np.exp(1j * turned))

    @property
    def beyond_base_mm(self) -> float:
        """Where the fillet joins the flank, along the line of action from the base circle, mm.

        Negative where the rack cuts under the tooth.
        """
        return self.wheel.reference_mm * sin(ALPHA) - self.depth_mm / sin(ALPHA) - self.rounding_mm

    def end_rad(self) -> float:
        """Return the direction of the normal at which the involute goes on, radians."""
        if self.beyond_base_mm >= 0:
            return ALPHA
        looked = np.linspace(ALPHA, pi / 2, LOOKED_AT)
        outside = np.array([self._outside(float(angle)) for angle in looked])
        crossed = int(np.argmax(outside < 0))
        low, high = float(looked[max(crossed - 1, 0)]), float(looked[crossed])
        return last_place(lambda angle: self._outside(angle) >= 0, low, high)

    def _outside(self, normal_rad: float) -> float:
        """Return the angle by which the fillet is outside the involute, radians; negative inside."""
        point = complex(self.tooth_side(np.array([normal_rad]))[0])
        return atan2(point.imag, point.real) - self.wheel.half_angle_at(abs(point))

    def tooth_side(self, normal_rad: Reals) -> PlanePoints:
        """Return the points (n,) with the middle of the tooth on +x, on its counterclockwise side.

        normal_rad: directions of the normal (n,) in radians.
        """
        return np.asarray(self.at(normal_rad) / 1j * np.exp(1j * pi / self.wheel.teeth))


@dataclass(frozen=True)
class CutterFillet:
    """The root fillet of an internal wheel that a pinion cutter cuts, by the turn of the cutter's rounding.

    cutter: its teeth and shift; its tip is at the dedendum of the rack, or where its flanks meet in a point.
    The middle of a space is on +i.
    """

    wheel: SpurWheel
    cutter: SpurWheel

    @cached_property
    def tip_mm(self) -> float:
        """Radius of the cutter's tip, mm: the tooth of a cutter of few teeth ends before the dedendum."""
        high = self.cutter.reference_mm + (DEDENDUM + self.cutter.shift) * self.cutter.module_mm
        if self.cutter.half_angle_at(high) >= 0:
            return high
        return last_place(lambda at: self.cutter.half_angle_at(at) >= 0, self.cutter.reference_mm, high)

    @cached_property
    def centre_mm(self) -> float:
        """Distance between the axes of cutter and wheel, without backlash, mm."""
        return centre_for(self.cutter, self.wheel)

    @cached_property
    def rounding_mm(self) -> float:
        """Radius of the cutter's tip rounding, mm: that of the rack, or less where its tip is narrow."""
        wanted = ROOT_RADIUS * self.cutter.module_mm
        if self._half_angle(wanted) >= 0:
            return wanted
        return last_place(lambda rounding: self._half_angle(rounding) >= 0, 0.0, wanted)

    def _half_angle(self, rounding_mm: float) -> float:
        """Return the angle of the middle of the rounding from the middle of the cutter's tooth, radians.

        A parallel to an involute is the same involute, turned by the distance over the base radius.
        """
        return self.cutter.half_angle_at(self.tip_mm - rounding_mm) - rounding_mm / self.cutter.base_mm

    @property
    def path_mm(self) -> tuple[float, float]:
        """Where the middle of the rounding and the end of the fillet are on the line of action.

        From the cutter's base tangent point, mm.
        """
        middle = sqrt((self.tip_mm - self.rounding_mm) ** 2 - self.cutter.base_mm**2)
        return middle, middle + self.rounding_mm

    def _angle(self) -> float:
        """Return the working pressure angle of cutter and wheel, radians."""
        return SpurPair(self.cutter, self.wheel, self.centre_mm).working_angle

    def end_rad(self) -> float:
        """Return the turn of the rounding at which the flank goes on, radians, from the line of centres."""
        angle = self._angle()
        along = self.path_mm[0] - self.cutter.base_mm * tan(angle)
        pitch = self.cutter.base_mm / cos(angle)
        return atan2(along * cos(angle), pitch + along * sin(angle))

    def at(self, turned_rad: Reals) -> PlanePoints:
        """Return the points of the fillet (n,) for turns (n,) of the rounding, radians, clockwise from +i."""
        pitch, centre = self.cutter.base_mm / cos(self._angle()), self.centre_mm
        middle = 1j * centre + (self.tip_mm - self.rounding_mm) * 1j * np.exp(-1j * turned_rad)
        away = middle - 1j * (centre + pitch)
        touching = middle + self.rounding_mm * away / np.abs(away)
        own = turned_rad - self._half_angle(self.rounding_mm)
        return np.asarray(touching * np.exp(1j * own * self.cutter.teeth / self.wheel.teeth))

    def space_side(self, turned_rad: Reals) -> PlanePoints:
        """Return the points (n,) with the middle of the space on +x, on its counterclockwise side.

        turned_rad: turns of the rounding (n,) in radians.
        """
        return np.asarray(np.conj(self.at(turned_rad) / 1j))

    @property
    def beyond_base_mm(self) -> float:
        """Where the fillet joins the flank, along the line of action from the wheel's base circle, mm."""
        return self.centre_mm * sin(self._angle()) + self.path_mm[1]


def cutter_for(pinion: SpurWheel) -> SpurWheel:
    """Return the cutter of the internal wheel that a pinion runs in."""
    return replace(pinion, tip_cut=0.0)


def form_beyond_base_mm(wheel: SpurWheel) -> float:
    """Return where the involute of an external wheel starts, as a tangent from its base circle, mm."""
    fillet = RackFillet(wheel)
    if fillet.beyond_base_mm >= 0:
        return fillet.beyond_base_mm
    radius = abs(complex(fillet.at(np.array([fillet.end_rad()]))[0]))
    return sqrt(max(radius**2 - wheel.base_mm**2, 0.0))


def meshing_pair(pinion: SpurWheel, wheel: SpurWheel, centre_mm: float) -> SpurPair:
    """Return a pair whose tips are low enough that each runs on the involute of its mate alone.

    The tips are those of `with_tips`, lowered where they would reach a fillet. Raises ValueError where the
    wheels cannot mesh: base circles that overlap, or tips of an internal pair that do not pass one another.
    """
    pair = with_tips(pinion, wheel, centre_mm)
    line = centre_mm * sin(pair.working_angle)
    own, mate = pair.pinion, pair.wheel
    if mate.internal:
        inner = float(np.hypot(mate.base_mm, line + form_beyond_base_mm(own)))
        pair = SpurPair(own, lowered_to(mate, max(inner, mate.tip_mm)), centre_mm)
        if not pair.tips_pass:
            teeth = f"{mate.teeth} and {own.teeth} teeth"
            raise ValueError(f"the tips of {teeth} meet beside the mesh; the difference must be larger")
        return pair
    return SpurPair(_clear_of(own, mate, line), _clear_of(mate, own, line), centre_mm)


def _clear_of(one: SpurWheel, mate: SpurWheel, line_mm: float) -> SpurWheel:
    """Return a wheel with its tip low enough to run on the involute of its mate alone.

    line_mm: distance of the two base tangent points on the line of action.
    """
    most = float(np.hypot(one.base_mm, line_mm - form_beyond_base_mm(mate)))
    return lowered_to(one, min(most, one.tip_mm))


def wheel_outline(wheel: SpurWheel, chord_mm: float, pinion: SpurWheel | None = None) -> Reals:
    """Return the outline of a wheel, (n, 2) mm, whose chords keep within a distance of the true curve.

    pinion: that runs in an internal wheel. Raises ValueError for an internal wheel without one.
    """
    if wheel.internal:
        if pinion is None:
            raise ValueError(f"the internal wheel of {wheel.teeth} teeth needs its pinion")
        side = _internal_side(wheel, CutterFillet(wheel, cutter_for(pinion)), chord_mm)
    else:
        side = _external_side(wheel, chord_mm)
    first = np.concatenate([np.conj(side), side[::-1]])  # up one flank, down the other
    whole = _with_arcs(first, wheel.teeth, chord_mm)
    return np.column_stack([whole.real, whole.imag])


def _external_side(wheel: SpurWheel, chord_mm: float) -> PlanePoints:
    """Return one side of a tooth from the root to the tip, (n,)."""
    fillet = RackFillet(wheel)
    end = fillet.end_rad()
    root = _sampled(fillet.tooth_side, pi / 2, end, chord_mm)
    start = sqrt(max(abs(root[-1]) ** 2 - wheel.base_mm**2, 0.0))
    return np.concatenate([root, _flank(wheel, start, chord_mm)[1:]])


def _internal_side(wheel: SpurWheel, fillet: CutterFillet, chord_mm: float) -> PlanePoints:
    """Return one side of a space from the tip to the root, (n,), on its counterclockwise side."""
    root = _sampled(fillet.space_side, 0.0, fillet.end_rad(), chord_mm)
    flank = _flank(wheel, fillet.beyond_base_mm, chord_mm)
    return np.concatenate([root, flank[1:]])[::-1]


def _flank(wheel: SpurWheel, start_mm: float, chord_mm: float) -> PlanePoints:
    """Return the involute from a distance along the tangent from the base circle to the tip, (n,)."""
    tip = sqrt(max(wheel.tip_mm**2 - wheel.base_mm**2, 0.0)) / wheel.base_mm
    half = wheel.half_angle_at(wheel.base_mm)

    def at(roll: Reals) -> PlanePoints:
        return np.asarray(wheel.base_mm * (1 + 1j * roll) * np.exp(1j * (half - roll)))

    return _sampled(at, start_mm / wheel.base_mm, tip, chord_mm)


def _sampled(curve: Callable[[Reals], PlanePoints], start: float, end: float, chord_mm: float) -> PlanePoints:
    """Return points of a smooth curve, ends included, whose chords keep within a distance, (n,)."""
    count = 2
    while True:
        points = curve(np.linspace(start, end, 2 * count + 1))
        chord, middle = points[2::2] - points[:-2:2], points[1::2] - points[:-2:2]
        off = np.abs((middle * np.conj(chord)).imag) / np.maximum(np.abs(chord), 1e-12)
        if float(off.max()) <= chord_mm:
            return np.asarray(points[::2])
        count *= 2


def _with_arcs(first: PlanePoints, teeth: int, chord_mm: float) -> PlanePoints:
    """Return the whole outline from its first tooth or space, with arcs at tips and roots, (n,)."""
    half = len(first) // 2
    pitch = np.exp(2j * np.pi / teeth)
    middle = _arc(first[half - 1], first[half], chord_mm)
    last = _arc(first[-1], first[0] * pitch, chord_mm)
    one = np.concatenate([first[:half], middle, first[half:], last])
    return np.concatenate([one * pitch**tooth for tooth in range(teeth)])


def _arc(start: complex, end: complex, chord_mm: float) -> PlanePoints:
    """Return points between two of a circle about the axis, without them, (n,)."""
    span = atan2((end / start).imag, (end / start).real)
    step = 2 * acos(max(1 - chord_mm / abs(start), 0.0))
    count = max(ceil(abs(span) / step), 1)
    return np.asarray(start * np.exp(1j * span * np.arange(1, count) / count))
