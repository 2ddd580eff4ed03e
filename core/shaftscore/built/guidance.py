"""A lever whose output is led along a straight line by two links (Watt's linkage).

Frame of the lever: its pivot at the origin, the lever along +x in the middle of the travel, the output's
line along +y, angles counterclockwise from +x, mm. A coupler stands on the lever's end; its far end is held
by a guide link, whose fixed pivot lies beyond, so that both ends leave the line to opposite sides. The
output is the point of the coupler that divides it as the lengths of guide and lever (textbook rule of
Watt's linkage). `guided_lever` then moves that point, the guide's pivot and the height of the line until
the path meets the line at the four Chebyshev nodes of the travel, which is near the least deviation that
the lengths permit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import asin, ceil, cos, sqrt

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.built.arrays import Reals
from shaftscore.built.linkage import FourBar, LinkageGapError, PlanPoints

STRAIGHT_MM = 0.02
"""Deviation that the tool's own lengths keep where the travel permits it, mm."""

GUIDES = (0.5, 0.6, 0.75, 1.0)
"""Lengths of the guide link that are tried, as shares of the lever's: a short one needs less room."""

COUPLER_MM = 30.0
"""Least length of a coupler that the tool proposes: three joints side by side."""

COUPLER_SHARE = 0.4
"""Its length as a share of the lever's."""

LARGEST_SWING = 0.8
"""Half of the travel over the length of the lever or of the guide, at most."""

NODES = np.cos(np.pi * (np.arange(4) + 0.5) / 4)
"""Chebyshev nodes of four points, in -1 to 1."""

SAMPLES = 201
"""Places of the travel at which the deviation is measured."""

ROUNDS = 30
"""Most steps of the search; it takes three or four."""

MARGIN = 1.05
"""How far the table goes past the travel, so that a level may be moved a little."""

ROWS = 24
"""Stretches of the table over its travel; see `GuidedLever.rows`."""


class GuidanceError(ValueError):
    """Links that cannot guide the output of a lever over its travel."""


@dataclass(frozen=True)
class GuidedLever:
    """A lever with its two links, laid out for a travel; see the module's text for the frame.

    lever_mm: from the pivot to the joint with the coupler. coupler_mm, guide_mm: lengths of the links.
    point_mm: of the output along the coupler from that joint. guide_pivot: of the guide link. line_mm:
    distance of the output's line from the pivot. travel_mm: for which it is laid out, output 0 to the
    highest.
    """

    lever_mm: float
    coupler_mm: float
    guide_mm: float
    point_mm: float
    guide_pivot: complex
    line_mm: float
    travel_mm: float

    @property
    def linkage(self) -> FourBar:
        """The four-bar."""
        return FourBar(0j, self.guide_pivot, self.lever_mm, self.coupler_mm, self.guide_mm, 1)

    @cached_property
    def start_rad(self) -> float:
        """Angle of the lever where the output is 0, radians."""
        return -_half_angle(self.travel_mm, self.lever_mm)

    def joints(self, swing_rad: Reals) -> PlanPoints:
        """Return the lever's end, the output and the guide's end by swing from output 0: (n,) -> (3, n), mm.

        Raises LinkageGapError where the links do not meet.
        """
        near, far = self.linkage.joints(swing_rad + self.start_rad)
        return np.stack([near, near + (far - near) / self.coupler_mm * self.point_mm, far])

    def output_mm(self, swing_rad: Reals) -> Reals:
        """Return the output along its line by swing from output 0: (n,) radians -> (n,) mm.

        Raises LinkageGapError where the links do not meet.
        """
        path = self.joints(np.append(swing_rad, 0.0))[1].imag
        return np.asarray(path[:-1] - path[-1])

    @cached_property
    def swing_rad(self) -> float:
        """Swing of the lever over the travel, radians."""
        return self._swing_at(self.travel_mm)

    @cached_property
    def deviation_mm(self) -> float:
        """How far the output leaves its line over the travel, peak to peak, mm."""
        path = self.joints(np.linspace(0.0, self.swing_rad, SAMPLES))[1]
        return float(np.ptp(path.real))

    def rows(self, arm_mm: float) -> tuple[tuple[float, float], ...]:
        """Return the table of a roller on an arm of arm_mm: its travel along the arc and the output, mm.

        From 0 to a little over the travel. A curve between the rows leaves the linkage's own transfer by less
        than 1 µm (tests/core/built/test_guidance.py).
        """
        swing = np.linspace(0.0, self._swing_at(self.travel_mm * MARGIN), ROWS + 1)
        output = self.output_mm(swing)
        return tuple((float(arm_mm * turn), float(out)) for turn, out in zip(swing, output, strict=True))

    def _swing_at(self, output_mm: float) -> float:
        """Return the swing at an output, by Newton's method from that of a plain lever."""
        swing = output_mm / self.lever_mm
        for _ in range(ROUNDS):
            low, here, high = self.output_mm(np.array([swing - 1e-6, swing, swing + 1e-6]))
            step = (output_mm - here) / ((high - low) / 2e-6)
            swing += float(step)
            if abs(step) < 1e-13:
                break
        return swing


@lru_cache(maxsize=256)
def guided_lever(
    lever_mm: float, travel_mm: float, coupler_mm: float | None = None, guide_mm: float | None = None
) -> GuidedLever:
    """Return a lever's guidance over a travel, in mm, with the least deviation that its links permit.

    coupler_mm, guide_mm: chosen where they are absent, the guide as short as keeps STRAIGHT_MM. Raises
    GuidanceError where the links cannot guide it.
    """
    if travel_mm <= 0:
        raise GuidanceError(f"a travel of {plain(travel_mm)} mm has no line to keep to")
    coupler = _coupler(lever_mm) if coupler_mm is None else coupler_mm
    if guide_mm is not None:
        return _laid_out(lever_mm, travel_mm, coupler, guide_mm)
    chosen, why = None, GuidanceError(_too_far(travel_mm, lever_mm, "lever"))
    for share in GUIDES:
        try:
            chosen = _laid_out(lever_mm, travel_mm, coupler, float(ceil(share * lever_mm)))
        except GuidanceError as error:
            why = error
            continue
        if chosen.deviation_mm <= STRAIGHT_MM:
            break
    if chosen is None:
        raise why
    return chosen


def _coupler(lever_mm: float) -> float:
    return max(COUPLER_MM, float(ceil(COUPLER_SHARE * lever_mm)))


def _too_far(travel_mm: float, link_mm: float, name: str) -> str:
    told = f"a travel of {plain(travel_mm, 2)} mm is too far for a {name} of {plain(link_mm, 2)} mm"
    return f"{told}: it takes at least {plain(ceil(travel_mm / 2 / LARGEST_SWING * 10) / 10)} mm"


def _half_angle(travel_mm: float, link_mm: float) -> float:
    return asin(travel_mm / 2 / link_mm)


def _laid_out(lever_mm: float, travel_mm: float, coupler_mm: float, guide_mm: float) -> GuidedLever:
    """Find guide pivot, output point and line for given lengths; raises GuidanceError without any."""
    for name, link_mm in (("lever", lever_mm), ("guide link", guide_mm)):
        if travel_mm / 2 > LARGEST_SWING * link_mm:
            raise GuidanceError(_too_far(travel_mm, link_mm, name))
    try:
        found = _search(lever_mm, travel_mm, coupler_mm, guide_mm)
        made = _made(found, lever_mm, travel_mm, coupler_mm, guide_mm)
        made.rows(lever_mm)
    except LinkageGapError as error:
        raise GuidanceError(f"over a travel of {plain(travel_mm, 2)} mm {error}") from error
    if not 0 < made.point_mm < coupler_mm:
        raise GuidanceError(
            f"links of {plain(coupler_mm, 2)} and {plain(guide_mm, 2)} mm have no point that moves straight"
        )
    return made


def _made(found: Reals, lever_mm: float, travel_mm: float, coupler_mm: float, guide_mm: float) -> GuidedLever:
    """Return the layout of a search's answer, rounded to what can be drilled: 0.01 mm."""
    x, y, share, line = (float(value) for value in found)
    return GuidedLever(
        lever_mm=lever_mm,
        coupler_mm=coupler_mm,
        guide_mm=guide_mm,
        point_mm=round(share * coupler_mm, 2),
        guide_pivot=complex(round(x, 2), round(y, 2)),
        line_mm=line,
        travel_mm=travel_mm,
    )


def _search(lever_mm: float, travel_mm: float, coupler_mm: float, guide_mm: float) -> Reals:
    """Return guide pivot x and y, share of the coupler, height of the line, by Newton's method.

    It starts where the line halves the rise of both arcs.
    """
    half = _half_angle(travel_mm, lever_mm)
    line = lever_mm * (1 + cos(half)) / 2
    beyond = guide_mm * (1 + sqrt(1 - (travel_mm / 2 / guide_mm) ** 2)) / 2
    values = np.array([line + beyond, coupler_mm, guide_mm / (lever_mm + guide_mm), line])
    scale = np.array([lever_mm, lever_mm, 1.0, lever_mm])
    nodes = half * NODES

    def left(at: Reals) -> Reals:
        bar = FourBar(0j, complex(at[0], at[1]), lever_mm, coupler_mm, guide_mm, 1)
        return np.asarray(bar.coupler_point(nodes, float(at[2]) * coupler_mm).real - at[3])

    for _ in range(ROUNDS):
        tried = [(left(values + step) - left(values - step)) / 2e-6 for step in 1e-6 * np.diag(scale)]
        move = np.linalg.lstsq(np.stack(tried, axis=1), -left(values), rcond=None)[0]
        values = values + move * scale
        if float(np.abs(move).max()) < 1e-10:
            break
    return values
