"""The segments of a lane's motion: dwells at a level, moves between them, and splines.

Angles are degrees of the lane's own stack, in the direction in which the machine runs; outputs are mm.
A segment begins at 0 <= start_deg < 360 and runs forward for length_deg, possibly through 0. All of
them are affine pictures of a curve: s = base + rise * y(x), x = (angle from start) / length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, Angles, ahead
from shaftscore.kinematics.motion.curve import Curve, Floats, Side
from shaftscore.kinematics.motion.law import Law

SAME_DEG = 1e-10
"""Angles closer than this to the end of a segment are that end."""


@dataclass(frozen=True)
class Dwell:
    """A rest at output_mm; length 0 is a momentary stop.

    level: name of the level. blocks: indices of the lane's blocks that make it, in turning order.
    """

    start_deg: float
    length_deg: float
    output_mm: float
    level: str
    blocks: tuple[int, ...]

    @property
    def base_mm(self) -> float:
        """Output at the start, mm."""
        return self.output_mm

    @property
    def rise_mm(self) -> float:
        """No rise."""
        return 0.0

    @property
    def curve(self) -> None:
        """No curve: a dwell is constant."""
        return

    def at(self, theta_deg: Angles, side: Side = "right") -> Floats:  # noqa: ARG002 - as all segments
        """Return output (mm) and its three derivatives: (4, n)."""
        values = np.zeros((4, len(theta_deg)))
        values[0] = self.output_mm
        return values


@dataclass(frozen=True)
class Move:
    """A move along `law` from from_mm to to_mm.

    from_level, to_level: names of the levels. block: index of the block that it leads to. mirrored:
    the law runs mirrored in time.
    """

    start_deg: float
    length_deg: float
    law: Law
    from_mm: float
    to_mm: float
    from_level: str
    to_level: str
    block: int
    mirrored: bool = False

    @property
    def base_mm(self) -> float:
        """Output at the start, mm."""
        return self.from_mm

    @property
    def rise_mm(self) -> float:
        """Travel, mm; negative on a fall."""
        return self.to_mm - self.from_mm

    @property
    def curve(self) -> Curve:
        """The curve of this move: its law, mirrored where the move says so."""
        return self.law.mirrored if self.mirrored else self.law

    def at(self, theta_deg: Angles, side: Side = "right") -> Floats:
        """Return output (mm) and its three derivatives per radian of own angle: (4, n)."""
        return _picture(self, self.curve, theta_deg, side)


@dataclass(frozen=True)
class TurnSpline:
    """A whole turn along a periodic spline, beginning at its first point.

    curve: output in mm over the turn. degree: of its polynomials. fit_error_mm: how far the spline
    through every second point passes by the points left out, at most and in the root mean square (None where
    there are too few points to tell): an estimate on the large side, no proof.
    """

    start_deg: float
    curve: Curve
    degree: int
    fit_error_mm: float | None
    fit_rms_mm: float | None = None

    @property
    def length_deg(self) -> float:
        """The whole turn."""
        return TURN

    @property
    def base_mm(self) -> float:
        """The curve holds the output itself."""
        return 0.0

    @property
    def rise_mm(self) -> float:
        """The curve holds the output itself: unit 1 mm."""
        return 1.0

    @property
    def joints(self) -> tuple[float, ...]:
        """Where its polynomials meet, as shares of the turn from the start."""
        return self.curve.joints

    def at(self, theta_deg: Angles, side: Side = "right") -> Floats:
        """Return output (mm) and its three derivatives per radian of own angle: (4, n)."""
        return _picture(self, self.curve, theta_deg, side)


Segment = Dwell | Move | TurnSpline
"""Any segment of a motion."""


def _picture(segment: Move | TurnSpline, curve: Curve, theta_deg: Angles, side: Side) -> Floats:
    along = ahead(segment.start_deg, theta_deg)
    before = along > TURN - SAME_DEG
    along = np.where(before & (segment.length_deg < TURN - SAME_DEG), 0.0, along)
    if side == "left" and segment.length_deg >= TURN - SAME_DEG:
        along = np.where(along < SAME_DEG, TURN, along)
    return scaled(
        curve.at(np.clip(along / segment.length_deg, 0.0, 1.0), side),
        segment.base_mm,
        segment.rise_mm,
        segment.length_deg,
    )


def scaled(
    values: Floats, base_mm: float | Floats, rise_mm: float | Floats, length_deg: float | Floats
) -> Floats:
    """Bring a curve's values (4, n) to output in mm and its derivatives per radian."""
    per_rad = 1 / np.radians(length_deg)
    result = np.empty_like(values)
    factor = rise_mm
    for order, row in enumerate(values):
        np.multiply(row, factor, out=result[order])
        factor = factor * per_rad
    result[0] += base_mm
    return result
