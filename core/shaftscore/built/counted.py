"""The shape of a gear with counted teeth and of the wheel that it steps on, as closed forms.

Both wheels have two layers. In one, the driver has some teeth of a full wheel, and the driven wheel all of
its own. In the other, the driver has a *locking disc* almost as large as the root circle of its teeth, and
the driven wheel a *locking plate* with one concave arc for each step, which rests on that disc while no tooth
is in mesh. Between two arcs the plate has a *horn*; it passes the locking disc through a notch.

The last tooth leaves its mate where its contact ends on the line of action, at the end of the step: so the
teeth and their angles follow from (1). An arc is as wide as its corners are seen from the driver's axis, to
either side of the line of centres. Locked, the wheel is held to both sides as soon as the locking disc covers
both corners; the play there is (2), as that of a Geneva wheel.

    front of the last tooth on the working circle at the end of the step: end of contact / base radius   (1)
    delta = clearance / (c sin beta), beta the angle of the corner                                        (2)

Teeth that stand still would be in the way of the first and the last tooth, which enter and leave along a
circle about the driver's axis: there these are cut back, and the horn in the notch carries the wheel through
the last degrees of its step (`shaftscore.make.solids.counted`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import acos, cos, degrees, pi, sin, sqrt, tan

from shaftscore.built.gears import SpurPair, SpurWheel, last_place, shift_for
from shaftscore.built.teeth import meshing_pair

LOCK_CLEARANCE_MM = 0.15
"""By which a concave arc is wider than the locking disc, mm (common practice, no source)."""

LEDGE_MM = 0.2
"""By which the locking disc is smaller than the root circle: walls that nearly meet make no solid, mm."""

LEAST_HORN_MM = 1.2
"""Least width of the tip of a horn: three lines of a usual nozzle (common practice, no source)."""

MOST_PLAY_DEG = 2.0
"""A wheel that its arcs leave freer than this to each side counts as not held."""

CORNER_RAD = 25.0 * pi / 180.0
"""Arcs reach so far beside the line of centres, if there is room: little play, and a small notch."""

LEAST_RATIO = 1.1
"""Least contact ratio at which the teeth hand over without a gap (common practice in gears)."""


@dataclass(frozen=True)
class CountedShape:
    """Sizes of a stage with counted teeth.

    pair: its wheels as if both were full, the driver first. counted: teeth that the driver has.
    least_core_mm: radius about the driver's axis that stays whole in all layers, mm.
    """

    pair: SpurPair
    counted: int
    least_core_mm: float
    clearance_mm: float = LOCK_CLEARANCE_MM

    @property
    def centre_mm(self) -> float:
        """Distance of the axes, mm."""
        return self.pair.centre_mm

    @property
    def arcs(self) -> int:
        """How many arcs the locking plate has: the steps in a turn of the wheel."""
        return self.pair.wheel.teeth // self.counted

    @property
    def engaged_rad(self) -> float:
        """The driver's angle in which the wheel moves, radians."""
        return 2 * pi * self.counted / self.pair.pinion.teeth

    @property
    def lock_mm(self) -> float:
        """Radius of the locking disc, mm: it rises from the root circle, with a ledge around it."""
        return self.pair.pinion.root_mm - LEDGE_MM

    @property
    def arc_mm(self) -> float:
        """Radius of the concave arcs about the driver's axis, mm."""
        return self.lock_mm + self.clearance_mm

    @property
    def neck_mm(self) -> float:
        """Least radius of the locking plate, in the middle of an arc, mm."""
        return self.centre_mm - self.arc_mm

    @cached_property
    def plate_tip_mm(self) -> float:
        """Radius of the tips of the locking plate, mm: by `CORNER_RAD`, or less where there is no room.

        The tips pass the core of the driver, and the horn between two arcs has its width. The radius of the
        neck where there is no room at all.
        """
        c, arc = self.centre_mm, self.arc_mm
        corner = sqrt(c * c + arc * arc - 2 * c * arc * cos(CORNER_RAD))
        most = min(corner, c - self.clearance_mm - self.least_core_mm)
        if most <= self.neck_mm or self._horn_mm(self.neck_mm) < LEAST_HORN_MM:
            return self.neck_mm
        if self._horn_mm(most) >= LEAST_HORN_MM:
            return most
        return last_place(lambda radius: self._horn_mm(radius) >= LEAST_HORN_MM, self.neck_mm, most)

    def _horn_mm(self, radius_mm: float) -> float:
        """Return the width of a horn along a circle of a radius about the wheel's axis, mm."""
        return 2 * radius_mm * (pi / self.arcs - self._opening_rad(radius_mm))

    def _opening_rad(self, radius_mm: float) -> float:
        """Return half the angle of an arc's opening in a circle about the wheel's axis, radians."""
        c, arc = self.centre_mm, self.arc_mm
        cosine = (c * c + radius_mm * radius_mm - arc * arc) / (2 * c * radius_mm)
        return acos(min(1.0, max(-1.0, cosine)))

    @property
    def has_lock(self) -> bool:
        """Whether there is room for arcs that hold the wheel, with horns between them."""
        return self.plate_tip_mm > self.neck_mm and self.locked_play_deg <= MOST_PLAY_DEG

    @property
    def opening_rad(self) -> float:
        """Half the angle of an arc's opening at the tips of the plate, radians."""
        return self._opening_rad(self.plate_tip_mm)

    @property
    def corner_rad(self) -> float:
        """Angle of the corner of an arc from the line of centres, at the driver's axis, radians."""
        c, arc, tip = self.centre_mm, self.arc_mm, self.plate_tip_mm
        return acos(min(1.0, max(-1.0, (c * c + arc * arc - tip * tip) / (2 * c * arc))))

    @property
    def locked_play_deg(self) -> float:
        """How far the locked wheel turns to each side by (2), degrees. The lock must be there."""
        return degrees(self.clearance_mm / (self.centre_mm * sin(self.corner_rad)))

    @property
    def plate_mm(self) -> float:
        """Radius of the driver, mm: that of its tips."""
        return self.pair.pinion.tip_mm

    @property
    def wheel_mm(self) -> float:
        """Radius of the driven wheel, mm: that of its plate or of its teeth."""
        return max(self.plate_tip_mm, self.pair.wheel.tip_mm)

    @property
    def core_mm(self) -> float:
        """Radius about the driver's axis that the tips of the plate leave whole, mm."""
        return self.centre_mm - self.plate_tip_mm - self.clearance_mm

    @property
    def last_tooth_rad(self) -> float:
        """Direction of the middle of the last tooth when the step ends, at the driver's axis, by (1).

        Radians, in the sense in which the driver turns, from the line of centres.
        """
        pair = self.pair
        beyond = pair.path_mm[1] - pair.pinion.base_mm * tan(pair.working_angle)
        return beyond / pair.pinion.base_mm - pair.pinion.half_angle_at(pair.working_radii_mm[0])

    @property
    def pushed_tooth_rad(self) -> float:
        """Direction of the middle of the tooth that the last one pushes, when the step ends.

        At the wheel's axis, radians, in the sense in which the wheel turns, from the line of centres.
        """
        pair = self.pair
        front = self.last_tooth_rad + pair.pinion.half_angle_at(pair.working_radii_mm[0])
        own = front * pair.pinion.teeth / pair.wheel.teeth
        return own + pair.wheel.half_angle_at(pair.working_radii_mm[1])


@lru_cache(maxsize=64)
def counted_shape(
    teeth: tuple[int, int], counted: int, module_mm: float, backlash_mm: float, least_core_mm: float
) -> CountedShape:
    """Return the shape of a stage whose wheels touch at their reference circles.

    teeth: of the full driver and of the wheel. backlash_mm: along the working circles, mm; both wheels give
    half of it. Raises ValueError where the wheels cannot mesh.
    """
    centre = module_mm * sum(teeth) / 2
    driver, wheel = (SpurWheel(module_mm, count) for count in teeth)
    shift = shift_for(driver, wheel, centre, backlash_mm) / 2
    own, other = (SpurWheel(module_mm, count, shift) for count in teeth)
    return CountedShape(meshing_pair(own, other, centre), counted, least_core_mm)
