"""The shape of an external Geneva wheel and of its driver, as closed forms.

The driver has a pin, which enters the slots of the wheel one after the other, and a *locking disc*, on which
the concave arcs of the wheel rest while the pin is out of it. The pin enters along the slot, so that the
crank is square to the slot there. With n slots and the distance c of the axes:

    crank radius a = c sin(pi / n), wheel radius R = c cos(pi / n)                              (1)
    the wheel moves over 180 deg - 360 deg / n of the driver's turn and is locked over the rest (2)

The locking disc is cut back to its *core* over the angle of (2), between two radial edges: the pin is in the
middle of this relief. It leaves an arc that holds the wheel exactly while the pin does not. The core is as
large as the wheel's tips leave room for, R + core + clearance = c.

The inner wall of a slot is nearest to the locking disc at its mouth, where a *lip* is left between them:

    locking radius = a - pin / 2 - 2 clearance - lip                                            (3)

In play the wheel turns by delta until one of its corners touches. Locked, the corner at the mouth is on an
arc that is wider than the locking disc by the clearance e; it is seen from the driver's axis at beta from the
line of centres, and comes nearer by c sin(beta) delta. In motion the pin is free by e at a distance r:

    locked: delta = e / (c sin beta), in motion: delta = e / r, r from c - a to R               (4)

Formulas (1) and (2) are those of texts on intermittent mechanisms; the rest follows from the figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, degrees, pi, sin, sqrt

LEAST_LIP_MM = 1.2
"""Least material between slot and locking disc: three lines (common practice, no source)."""

LIP_OF_PIN = 0.5
"""The lip is this share of the pin's diameter where that is more (common practice, no source)."""


EDGE_MM = 2.4
"""Material of the driver's plate outside the hole of the pin: six lines (common practice, no source)."""


@dataclass(frozen=True)
class GenevaShape:
    """Sizes of an external Geneva stage. slots: at least 3. centre_mm: of the axes. pin_mm: its diameter.

    clearance_mm: by which slots and concave arcs are wider than pin and locking disc, to each side, mm.
    """

    slots: int
    centre_mm: float
    pin_mm: float
    clearance_mm: float

    @property
    def half_slot_rad(self) -> float:
        """Half of the angle between two slots, radians."""
        return pi / self.slots

    @property
    def crank_mm(self) -> float:
        """Distance of the pin from the driver's axis."""
        return self.centre_mm * sin(self.half_slot_rad)

    @property
    def wheel_mm(self) -> float:
        """Radius of the wheel's tips, mm: where the pin enters."""
        return self.centre_mm * cos(self.half_slot_rad)

    @property
    def half_moving_rad(self) -> float:
        """Half of the driver's turn in which the wheel moves, radians."""
        return pi / 2 - self.half_slot_rad

    @property
    def half_wide_mm(self) -> float:
        """Half of the width of a slot, mm."""
        return self.pin_mm / 2 + self.clearance_mm

    @property
    def end_mm(self) -> float:
        """Distance of the middle of a slot's round end from the wheel's axis, mm."""
        return self.centre_mm - self.crank_mm

    @property
    def bottom_mm(self) -> float:
        """Least radius of a slot, mm."""
        return self.end_mm - self.half_wide_mm

    @property
    def lip_mm(self) -> float:
        """Least material between a slot and a concave arc, mm."""
        return max(LEAST_LIP_MM, LIP_OF_PIN * self.pin_mm)

    @property
    def lock_mm(self) -> float:
        """Radius of the locking disc by (3), mm; negative where it has no room."""
        return self.arc_mm - self.clearance_mm

    @property
    def arc_mm(self) -> float:
        """Radius of the concave arcs about the driver's axis, mm; negative where there is no room for any."""
        return self.crank_mm - self.half_wide_mm - self.lip_mm

    @property
    def neck_mm(self) -> float:
        """Least radius of the wheel in the middle of a concave arc, mm."""
        return self.centre_mm - self.arc_mm

    @property
    def plate_mm(self) -> float:
        """Radius of the driver's plate, mm."""
        return max(self.crank_mm + self.pin_mm / 2 + EDGE_MM, self.lock_mm)

    @property
    def core_mm(self) -> float:
        """Largest radius about the driver's axis that the wheel's tips leave free in the relief, mm."""
        return self.centre_mm - self.wheel_mm - self.clearance_mm

    @property
    def corner_rad(self) -> float:
        """Angle of the outer corner of a concave arc from the line of centres, at the driver's axis, radians.

        The corner is where the arc meets the circle of the wheel's tips. The arc must be there.
        """
        c, arc, wheel = self.centre_mm, self.arc_mm, self.wheel_mm
        return acos(min(1.0, max(-1.0, (c * c + arc * arc - wheel * wheel) / (2 * c * arc))))

    @property
    def locked_play_deg(self) -> float:
        """How far the locked wheel turns to each side by (4), degrees. The arc must be there."""
        return degrees(self.clearance_mm / (self.centre_mm * sin(self.corner_rad)))

    @property
    def moving_play_deg(self) -> float:
        """How far the wheel turns to each side about the pin at most, in the middle of a step, degrees."""
        return degrees(self.clearance_mm / self.end_mm)

    def pin_arm_mm(self, from_middle_rad: float) -> float:
        """Return the distance of the pin from the wheel's axis, mm; angle of the driver, radians."""
        c, a = self.centre_mm, self.crank_mm
        return sqrt(c * c + a * a - 2 * c * a * cos(from_middle_rad))

    def lip_thick_mm(self, along_mm: float) -> float:
        """Return the material between slot and concave arc at a depth from the mouth along the slot, mm."""
        arc = self.arc_mm
        return self.crank_mm - self.half_wide_mm - sqrt(max(arc * arc - along_mm * along_mm, 0.0))


LIP_STEPS = 40
"""Places along a lip that are looked at."""


def lip_stress_mpa(shape: GenevaShape, force_n: float, thick_mm: float) -> float:
    """Return the largest bending stress in a lip that the pin presses at its mouth, MPa.

    A tapered beam: the force is half a pin inside the mouth, where the pin's middle has just entered. The
    section at x from the force has the width thick_mm of the wheel and the thickness of the lip there:
    sigma = 6 F x / (b h^2).
    """
    start, end = shape.pin_mm / 2, shape.wheel_mm - shape.end_mm
    places = (start + (end - start) * step / LIP_STEPS for step in range(1, LIP_STEPS + 1))
    return max(
        (
            6 * force_n * (at - start) / (thick_mm * shape.lip_thick_mm(at) ** 2)
            for at in places
            if at > start
        ),
        default=0.0,
    )


def pin_stress_mpa(force_n: float, arm_mm: float, pin_mm: float) -> float:
    """Return the bending stress of a pin pressed at an arm from its root, MPa: 32 F l / (pi d^3)."""
    return 32 * force_n * arm_mm / (pi * pin_mm**3)
