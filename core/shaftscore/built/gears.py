"""Spur gears with involute teeth: wheels, and pairs of wheels at their centre distance.

The *basic rack* is that of ISO 53, profile A: pressure angle 20°, addendum 1 m, dedendum 1.25 m, root
radius 0.38 m, for a module m. The *reference circle* of a wheel of z teeth has the radius m z / 2. A
*profile shift* x moves the rack outward by x m; the tooth is then thicker on the reference circle by
2 x m tan α. A tooth of radius r is involute from its base circle r cos α on; inv α = tan α - α.

A *pair* runs without slip on its *working circles*, whose radii are as the teeth and add up to the centre
distance a; cos αw = m (z1 + z2) cos α / (2 a). *Backlash* is exact on those circles: the working pitch less
the two thicknesses there, 2 a (inv αw - inv α) - 2 m (cos α / cos αw) (x1 + x2) tan α.

The *internal* wheel has its teeth inside. Its spaces are the teeth of an external wheel of the same teeth
and shift, so that all formulas of a pair hold with z2 - z1 and x2 - x1; its backlash has the other sign.

Sources: ISO 53:1998 and ISO 54:1996 (rack, modules); ISO 21771:2007 (geometry), all from memory;
the figures are held against worked examples in the tests.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from math import acos, cos, hypot, pi, radians, sin, sqrt, tan

from shaftscore.built.efficiency import PRESSURE_ANGLE_DEG

ADDENDUM, DEDENDUM, ROOT_RADIUS = 1.0, 1.25, 0.38
"""Heights of the basic rack's tooth about its middle line, and the radius at its root, in modules."""

MODULES_MM = (0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Modules of the first series, mm: ISO 54 from 1 on; below 1 those of fine mechanics (from memory)."""

LEAST_TIP = 0.2
"""Least thickness of a tooth at its tip, in modules (common practice, no source)."""

ALPHA = radians(PRESSURE_ANGLE_DEG)
"""Pressure angle of the rack, radians."""

HALVINGS = 80
"""Steps in which a root is enclosed: as many as the digits of a number allow."""


def involute(angle_rad: float) -> float:
    """Return inv of a pressure angle: tan less the angle, radians."""
    return tan(angle_rad) - angle_rad


def angle_of_involute(value_rad: float) -> float:
    """Return the pressure angle that has an involute, radians, 0 to under 90°.

    Raises ValueError for a negative one, which no angle has.
    """
    if value_rad < 0:
        raise ValueError(f"no pressure angle has the involute {value_rad:.6g}")
    return last_place(lambda angle: involute(angle) < value_rad, 0.0, pi / 2)


def last_place(holds: Callable[[float], bool], low: float, high: float) -> float:
    """Return the last place, in their unit, at which what holds at `low`, but not at `high`, still does."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def least_teeth(mate_teeth: float, addendum: float = ADDENDUM) -> float:
    """Return the least number of teeth, not rounded, of a pinion that a wheel does not interfere with.

    mate_teeth: of the wheel; `inf` for a rack. addendum: of the wheel, a factor of the module. No shifts.
    """
    sine = sin(ALPHA) ** 2
    if mate_teeth == float("inf"):
        return 2 * addendum / sine
    # the wheel's tip reaches the pinion's base tangent: (z2/2 + ha)² = (z2/2 cos α)² + ((z1 + z2)/2 sin α)²
    reach = (mate_teeth / 2 + addendum) ** 2 - (mate_teeth / 2 * cos(ALPHA)) ** 2
    return 2 * sqrt(reach) / sin(ALPHA) - mate_teeth


def least_shift(teeth: int) -> float:
    """Return the profile shift from which on the rack does not cut under a tooth, a factor of the module."""
    return ADDENDUM - teeth * sin(ALPHA) ** 2 / 2


@dataclass(frozen=True)
class SpurWheel:
    """One spur wheel.

    module_mm, teeth: its size. shift: of its profile, in modules. internal: its teeth are inside. tip_cut:
    by which its tip is lower than the rack's addendum makes it, in modules.
    """

    module_mm: float
    teeth: int
    shift: float = 0.0
    internal: bool = False
    tip_cut: float = 0.0

    @property
    def reference_mm(self) -> float:
        """Radius of the reference circle, mm."""
        return self.module_mm * self.teeth / 2

    @property
    def base_mm(self) -> float:
        """Radius of the base circle, mm."""
        return self.reference_mm * cos(ALPHA)

    @property
    def tip_mm(self) -> float:
        """Radius of the tip circle, mm; of an internal wheel the smallest radius, never inside the base."""
        if self.internal:
            height = ADDENDUM - self.shift - self.tip_cut
            return max(self.reference_mm - height * self.module_mm, self.base_mm)
        return self.reference_mm + (ADDENDUM + self.shift - self.tip_cut) * self.module_mm

    @property
    def root_mm(self) -> float:
        """Radius of the root circle that the rack makes, mm; that of an internal wheel is its cutter's."""
        return self.reference_mm + (self.shift - DEDENDUM) * self.module_mm

    def pressure_angle_at(self, radius_mm: float) -> float:
        """Return the pressure angle at a radius, radians; 0 on the base circle and inside."""
        return acos(min(self.base_mm / radius_mm, 1.0))

    def half_angle_at(self, radius_mm: float) -> float:
        """Return half the angle that a tooth takes at a radius, radians; of an internal wheel, a space."""
        reference = (pi / 2 + 2 * self.shift * tan(ALPHA)) / self.teeth
        return reference + involute(ALPHA) - involute(self.pressure_angle_at(radius_mm))

    def thickness_mm(self, radius_mm: float) -> float:
        """Return the thickness of a tooth (internal: the width of a space) along a circle of a radius, mm."""
        return 2 * radius_mm * self.half_angle_at(radius_mm)

    def span_teeth(self) -> int:
        """Return over how many teeth the span touches near the middle of the flanks."""
        at = self.pressure_angle_at(self.reference_mm + self.shift * self.module_mm)
        gap = (tan(at) - involute(ALPHA)) * self.teeth / pi - 2 * self.shift * tan(ALPHA) / pi
        return max(round(gap + 0.5), 1)

    def span_mm(self, over: int) -> float:
        """Return the span over some teeth of an external wheel, mm."""
        along = pi * (over - 0.5) + self.teeth * involute(ALPHA)
        return self.module_mm * (cos(ALPHA) * along + 2 * self.shift * sin(ALPHA))

    def over_pins_mm(self, pin_mm: float) -> float:
        """Return the size over two pins of a diameter in opposite spaces, mm; between them, if internal.

        Raises ValueError where the pins are too small to touch both flanks outside the base circle.
        """
        side = -1 if self.internal else 1
        wide = pin_mm / (2 * self.base_mm)
        if self.internal:
            value = self.half_angle_at(self.base_mm) - wide
        else:
            value = wide - (pi / self.teeth - self.half_angle_at(self.base_mm))
        middle = self.base_mm / cos(angle_of_involute(value))
        across = 1.0 if self.teeth % 2 == 0 else cos(pi / 2 / self.teeth)
        return 2 * middle * across + side * pin_mm


@dataclass(frozen=True)
class SpurPair:
    """Two spur wheels that mesh, the driver or the driven one internal; the internal one is `wheel`.

    pinion, wheel: the two. centre_mm: distance of their axes.
    """

    pinion: SpurWheel
    wheel: SpurWheel
    centre_mm: float

    def __post_init__(self) -> None:
        """Refuse wheels that cannot mesh. Raises ValueError."""
        if self.pinion.internal:
            raise ValueError("the internal wheel of a pair goes last")
        if self.wheel.internal and self.wheel.teeth <= self.pinion.teeth:
            teeth = f"{self.wheel.teeth} teeth around {self.pinion.teeth}"
            raise ValueError(f"an internal wheel of {teeth} has no room for its pinion")
        if self.centre_mm <= self._side * self.pinion.base_mm + self.wheel.base_mm:
            raise ValueError(f"at {self.centre_mm:.6g} mm the base circles overlap; the teeth cannot mesh")

    @property
    def _side(self) -> int:
        """1 where the two centres are on either side of the mesh, -1 for an internal wheel."""
        return -1 if self.wheel.internal else 1

    @property
    def reference_centre_mm(self) -> float:
        """Centre distance at which the reference circles touch, mm."""
        return self.wheel.reference_mm + self._side * self.pinion.reference_mm

    @property
    def working_angle(self) -> float:
        """Working pressure angle, radians."""
        return acos(self.reference_centre_mm * cos(ALPHA) / self.centre_mm)

    @property
    def working_radii_mm(self) -> tuple[float, float]:
        """Radii of the working circles of pinion and wheel, mm."""
        larger = cos(ALPHA) / cos(self.working_angle)
        return self.pinion.reference_mm * larger, self.wheel.reference_mm * larger

    @property
    def backlash_mm(self) -> float:
        """Backlash along the working circles, mm; negative where the teeth would overlap."""
        at, other = self.working_radii_mm
        tooth, mate = self.pinion.thickness_mm(at), self.wheel.thickness_mm(other)
        return mate - tooth if self.wheel.internal else 2 * pi * at / self.pinion.teeth - tooth - mate

    @property
    def backlash_pinion_deg(self) -> float:
        """Backlash as a turn of the pinion while the wheel is held, degrees."""
        return self.backlash_mm / self.working_radii_mm[0] * 180 / pi

    @cached_property
    def path_mm(self) -> tuple[float, float]:
        """Start and end of contact along the line of action, from the pinion's base tangent point, mm."""
        line = self.centre_mm * sin(self.working_angle)
        tip = _beyond_base(self.wheel)
        start = tip - line if self.wheel.internal else line - tip
        return start, _beyond_base(self.pinion)

    @property
    def contact_ratio(self) -> float:
        """Contact ratio: length of the path of contact over the base pitch."""
        start, end = self.path_mm
        return (end - start) / (pi * self.pinion.module_mm * cos(ALPHA))

    @property
    def tips_pass(self) -> bool:
        """Whether the tips of an internal pair pass one another beside the mesh; True of an external one.

        The pinion's tip meets the wheel's where their tip circles cross; there the pinion must still be
        within its space: θ1 z1 / z2 + (inv αw - inv αa2) >= θ2, with θ the angles of that point about both
        axes, θ1 with inv αa1 - inv αw more (from memory, as in handbooks of internal gears).
        """
        if not self.wheel.internal:
            return True
        tip, mate, centre = self.pinion.tip_mm, self.wheel.tip_mm, self.centre_mm
        if centre + tip <= mate or abs(mate - tip) >= centre:
            return True
        at = involute(self.working_angle)
        own = acos((mate**2 - tip**2 - centre**2) / (2 * centre * tip))
        own += involute(self.pinion.pressure_angle_at(tip)) - at
        its = acos((centre**2 + mate**2 - tip**2) / (2 * centre * mate))
        share = self.pinion.teeth / self.wheel.teeth
        return own * share + at - involute(self.wheel.pressure_angle_at(mate)) >= its

    def sliding_turn_deg(self) -> float:
        """Return by how much the pinion turns while one pair of teeth is in contact, degrees."""
        start, end = self.path_mm
        return (end - start) / self.pinion.base_mm * 180 / pi


def _beyond_base(wheel: SpurWheel) -> float:
    """Return the length of the tangent from the base circle to the tip circle, mm."""
    return sqrt(max(wheel.tip_mm**2 - wheel.base_mm**2, 0.0))


def shift_for(pinion: SpurWheel, wheel: SpurWheel, centre_mm: float, backlash_mm: float = 0.0) -> float:
    """Return x1 + x2, of an internal wheel x2 - x1, that gives a backlash at a centre distance, a factor.

    The shifts of both wheels are not read. Raises ValueError where their base circles overlap there.
    """
    pair = SpurPair(replace(pinion, shift=0.0), replace(wheel, shift=0.0), centre_mm)
    side = -1 if wheel.internal else 1
    opened = 2 * centre_mm * (involute(pair.working_angle) - involute(ALPHA))
    larger = cos(ALPHA) / cos(pair.working_angle)
    return (opened - side * backlash_mm) / (2 * pinion.module_mm * larger * tan(ALPHA))


def centre_for(pinion: SpurWheel, wheel: SpurWheel, backlash_mm: float = 0.0) -> float:
    """Return the centre distance at which two wheels have a backlash, mm.

    Raises ValueError where no distance gives it.
    """
    side = -1 if wheel.internal else 1
    wanted = wheel.shift + side * pinion.shift
    reference = wheel.reference_mm + side * pinion.reference_mm
    low, high = reference * cos(ALPHA) * (1 + 1e-12), reference * 3
    if (
        not shift_for(pinion, wheel, low, backlash_mm)
        <= wanted
        <= shift_for(pinion, wheel, high, backlash_mm)
    ):
        more = "; their teeth must differ by more" if wheel.internal else ""
        raise ValueError(f"no centre distance gives a backlash of {backlash_mm:.3g} mm{more}")
    return last_place(lambda at: shift_for(pinion, wheel, at, backlash_mm) < wanted, low, high)


def with_tips(pinion: SpurWheel, wheel: SpurWheel, centre_mm: float) -> SpurPair:
    """Return the pair with tips lowered so that both keep the rack's clearance to the mate's root.

    The tips of an external pair are lowered by (x1 + x2 - y) m, where y m is how far the centres are beyond
    the reference distance, and none is left thinner than `LEAST_TIP`. Raises ValueError where the wheels
    cannot mesh.
    """
    pair = SpurPair(pinion, wheel, centre_mm)
    moved = (centre_mm - pair.reference_centre_mm) / pinion.module_mm
    cut = max(pinion.shift + wheel.shift - moved, 0.0) if not wheel.internal else 0.0
    return SpurPair(
        not_pointed(replace(pinion, tip_cut=cut)), not_pointed(replace(wheel, tip_cut=cut)), centre_mm
    )


def not_pointed(wheel: SpurWheel) -> SpurWheel:
    """Return a wheel whose tip is lowered until it is at least `LEAST_TIP` thick; the same if it is."""
    least = LEAST_TIP * wheel.module_mm
    if wheel.internal or wheel.thickness_mm(wheel.tip_mm) >= least:
        return wheel
    inner = max(wheel.base_mm, wheel.root_mm)
    return lowered_to(wheel, last_place(lambda at: wheel.thickness_mm(at) >= least, inner, wheel.tip_mm))


def lowered_to(wheel: SpurWheel, tip_mm: float) -> SpurWheel:
    """Return a wheel with its tip circle at a radius, mm."""
    way = 1 if wheel.internal else -1
    return replace(wheel, tip_cut=wheel.tip_cut + way * (tip_mm - wheel.tip_mm) / wheel.module_mm)


def share_shift(teeth: int, mate_teeth: int, total: float, *, internal: bool) -> tuple[float, float]:
    """Return the shifts of two wheels whose sum is a total, a factor; x2 - x1 where the second is internal.

    Each takes what keeps its teeth from undercut, the smaller one first where there is not enough for both,
    and the rest is shared by halves.
    """
    own, other = (max(least_shift(count), 0.0) for count in (teeth, mate_teeth))
    if internal:
        return own, own + total
    if teeth > mate_teeth:
        second, first = share_shift(mate_teeth, teeth, total, internal=False)
        return first, second
    if total <= own + other:
        first = max(own, total - other) if total >= own else own
        return first, total - first
    extra = (total - own - other) / 2
    return own + extra, other + extra


@dataclass(frozen=True)
class BevelFigures:
    """Dimensions of one wheel of a straight bevel pair: cone angles in degrees, lengths in mm."""

    cone_deg: float
    face_cone_deg: float
    root_cone_deg: float
    distance_mm: float
    reference_mm: float
    tip_mm: float


def bevel_figures(
    module_mm: float, teeth: int, mate_teeth: int, shaft_angle_deg: float = 90.0
) -> BevelFigures:
    """Return the dimensions of a straight bevel wheel at its outer end, for shafts at an angle in degrees.

    tan δ = sin Σ / (i + cos Σ) with i the mate's teeth over its own; radii from the wheel's axis.
    """
    sigma, module = radians(shaft_angle_deg), module_mm
    own = _cone(teeth, mate_teeth, sigma)
    radius = module * teeth / 2
    distance = radius / sin(own)
    face, root = (own + _lean(height * module, distance) for height in (ADDENDUM, -DEDENDUM))
    return BevelFigures(
        cone_deg=own * 180 / pi,
        face_cone_deg=face * 180 / pi,
        root_cone_deg=root * 180 / pi,
        distance_mm=distance,
        reference_mm=radius,
        tip_mm=radius + ADDENDUM * module * cos(own),
    )


def _cone(teeth: int, mate_teeth: int, sigma: float) -> float:
    """Return the pitch cone angle, radians."""
    sideways, along = sin(sigma), mate_teeth / teeth + cos(sigma)
    return acos(along / hypot(sideways, along))


def _lean(height_mm: float, distance_mm: float) -> float:
    """Return the angle of a height at the end of a cone distance, radians, with its sign."""
    angle = acos(distance_mm / hypot(height_mm, distance_mm))
    return angle if height_mm > 0 else -angle


@dataclass(frozen=True)
class WormFigures:
    """Dimensions of a cylindrical worm and its wheel: the lead angle in degrees, radii and centres in mm."""

    lead_angle_deg: float
    worm_reference_mm: float
    worm_tip_mm: float
    worm_root_mm: float
    wheel_reference_mm: float
    wheel_throat_mm: float
    centre_mm: float


def worm_figures(module_mm: float, starts: int, wheel_teeth: int, lead_angle_deg: float) -> WormFigures:
    """Return the dimensions of a worm of an axial module and a lead angle, and of its wheel.

    The reference radius of the worm is m z1 / (2 tan λ). Raises ValueError for a lead angle in degrees that
    is not between 0 and 90.
    """
    if not 0 < lead_angle_deg < 90:
        raise ValueError(f"a lead angle of {lead_angle_deg}° is not between 0 and 90°")
    worm = module_mm * starts / (2 * tan(radians(lead_angle_deg)))
    wheel = module_mm * wheel_teeth / 2
    return WormFigures(
        lead_angle_deg=lead_angle_deg,
        worm_reference_mm=worm,
        worm_tip_mm=worm + ADDENDUM * module_mm,
        worm_root_mm=worm - DEDENDUM * module_mm,
        wheel_reference_mm=wheel,
        wheel_throat_mm=wheel + ADDENDUM * module_mm,
        centre_mm=worm + wheel,
    )
