"""Positions of four-bar linkages, and how far a path is from a straight line.

Frame: a plan view, points complex (x + iy), mm, angles counterclockwise in radians. A four-bar has a fixed
pivot for its input link and one for its output link; the coupler joins their ends. The place of the far
joint is where two circles meet (loop closure), on one side of the line from the input's end to the output's
pivot. Which side that is cannot change while the linkage moves unless the two circles touch (coupler and
output link in one line), so the branch is kept by keeping the side, and a place where they touch or miss
one another is refused: beyond it the linkage cannot be driven by its input.

Source: loop closure by circles, theory-of-machines texts; checked against a textbook's rows in
tests/published/test_linkages.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees
from typing import Literal

import numpy as np
import numpy.typing as npt

from shaftscore.base.wording import plain
from shaftscore.built.arrays import Reals

PlanPoints = npt.NDArray[np.complex128]
"""Points of the plan view, x + iy, mm, any shape."""

Side = Literal[1, -1]
"""+1: on the left of the line from the first point to the second; -1: on its right."""

TOUCHING = 1e-9
"""Two circles count as touching where their common chord is shorter than this share of the radii."""


class LinkageGapError(ValueError):
    """Links that do not meet; index: of the first place at which they do not; apart_mm: of their ends."""

    def __init__(self, index: int, apart_mm: float, reach_mm: tuple[float, float], where: str) -> None:
        """Keep the place; reach_mm: least and most distance that the links span, mm; where: in words."""
        self.index = index
        self.apart_mm = apart_mm
        least, most = (plain(length, 3) for length in reach_mm)
        apart = plain(apart_mm, 3)
        super().__init__(
            f"the links do not meet {where}: their ends are {apart} mm apart, "
            f"the links span {least} to {most} mm"
        )


def circle_meeting(
    first: PlanPoints, first_mm: float, second: PlanPoints | complex, second_mm: float, side: Side
) -> PlanPoints:
    """Return where circles about two points meet: (n,) centres -> (n,), mm.

    first_mm, second_mm: radii. side: of the line from the first to the second. Raises LinkageGapError, with
    the index of the first place, where the circles miss or touch one another.
    """
    between = second - first
    apart = np.abs(between)
    along = (apart**2 + first_mm**2 - second_mm**2) / (2 * np.where(apart > 0, apart, 1.0))
    square = np.where(apart > 0, first_mm**2 - along**2, -1.0)
    missing = square <= (TOUCHING * (first_mm + second_mm)) ** 2
    if missing.any():
        at = int(np.argmax(missing))
        reach = (abs(first_mm - second_mm), first_mm + second_mm)
        raise LinkageGapError(at, float(apart[at]), reach, f"at place {at + 1}")
    return np.asarray(first + between / apart * (along + 1j * side * np.sqrt(square)))


@dataclass(frozen=True)
class FourBar:
    """A four-bar linkage.

    input_pivot, output_pivot: the fixed pivots. input_mm, coupler_mm, output_mm: lengths of the links. side:
    of the line from the input's end to the output's pivot on which the far joint is.
    """

    input_pivot: complex
    output_pivot: complex
    input_mm: float
    coupler_mm: float
    output_mm: float
    side: Side

    def joints(self, input_rad: Reals) -> PlanPoints:
        """Return the ends of the input and of the output link at input angles: (n,) -> (2, n), mm.

        Raises LinkageGapError, which names the first angle, where the links do not meet.
        """
        near = self.input_pivot + self.input_mm * np.exp(1j * input_rad)
        try:
            far = circle_meeting(near, self.coupler_mm, self.output_pivot, self.output_mm, self.side)
        except LinkageGapError as gap:
            reach = (abs(self.coupler_mm - self.output_mm), self.coupler_mm + self.output_mm)
            where = f"where the input is at {plain(degrees(float(input_rad[gap.index])), 1)}°"
            raise LinkageGapError(gap.index, gap.apart_mm, reach, where) from None
        return np.stack([near, far])

    def coupler_point(self, input_rad: Reals, along_mm: float, aside_mm: float = 0.0) -> PlanPoints:
        """Return the path of a point of the coupler: (n,) -> (n,), mm.

        along_mm: from the input's end towards the far joint; aside_mm: to the left of that line. Raises
        LinkageGapError where the links do not meet.
        """
        near, far = self.joints(input_rad)
        return np.asarray(near + (far - near) / self.coupler_mm * (along_mm + 1j * aside_mm))


@dataclass(frozen=True)
class StraightFit:
    """The straight line nearest to a path: a point of it, its direction (of length 1), and the deviation.

    deviation_mm: peak to peak, the width of the narrowest strip that holds the path. length_mm: of the path
    along the line.
    """

    through: complex
    along: complex
    deviation_mm: float
    length_mm: float


def straight_fit(path: PlanPoints) -> StraightFit:
    """Return the straight line that a path (n,) leaves least; it runs from the path's start to its end.

    The narrowest strip about a set of points has one side along an edge of their convex hull. Raises
    ValueError for a path without length.
    """
    hull = _hull(path)
    if len(hull) < 2:
        raise ValueError("a path of one point has no direction")
    edges = np.roll(hull, -1) - hull
    along = edges / np.abs(edges)
    across = (path[None, :] * np.conj(along)[:, None]).imag
    width = np.ptp(across, axis=1)
    best = int(np.argmin(width))
    way = along[best] if ((path[-1] - path[0]) * np.conj(along[best])).real >= 0 else -along[best]
    seen = path * np.conj(way)
    middle = (seen.imag.max() + seen.imag.min()) / 2
    through = complex((seen.real[0] + 1j * middle) * way)
    return StraightFit(through, complex(way), float(width[best]), float(np.ptp(seen.real)))


def _hull(path: PlanPoints) -> PlanPoints:
    """Return the corners of a path's convex hull, counterclockwise (Andrew's monotone chain)."""
    points = sorted({(float(point.real), float(point.imag)) for point in path})
    if len(points) < 3:
        return np.array([complex(*point) for point in points])
    lower, upper = _half_hull(points), _half_hull(points[::-1])
    return np.array([complex(*point) for point in lower[:-1] + upper[:-1]])


def _half_hull(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return one side of a hull of points sorted along x."""
    kept: list[tuple[float, float]] = []
    for x, y in points:
        while len(kept) > 1:
            (ax, ay), (bx, by) = kept[-2:]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                break
            kept.pop()
        kept.append((x, y))
    return kept
