"""The angle axis: from angles to px and back, for any zoom, starting anywhere, for ever round.

The *view* is what the axis shows, from `start_deg` (unwrapped) on. A stretch of the circle is seen in
*pieces*: one for each copy of the turn that reaches into the view. The *home turn* is the copy of the
turn that holds the middle of the view; what lies outside it is the same turn again, under a veil.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Angles, ahead, wrap

WHOLE_START_DEG = -10.0
"""Where the view of the whole turn begins."""

WHOLE_LENGTH_DEG = 380.0
"""What the view of the whole turn shows: -10 to 370 degrees."""

ZOOM_LIMITS = (0.5, 80.0)
"""Least and greatest scale, px per degree."""


@dataclass(frozen=True)
class SeenPiece:
    """One seen copy of a stretch: `left` to `right` in the view, `begin` to `end` in truth, px.

    turn_deg: what to add to the stretch's own start to get the unwrapped angle of this copy.
    """

    left: float
    right: float
    begin: float
    end: float
    turn_deg: float

    @property
    def width(self) -> float:
        """Seen width, px."""
        return self.right - self.left

    @property
    def is_cut(self) -> bool:
        """Whether the view (or the bound it was clipped to) cuts this copy."""
        return self.left > self.begin or self.right < self.end

    def clipped(self, left: float, right: float) -> SeenPiece | None:
        """Keep what lies between two bounds, px; None if nothing does."""
        low, high = max(self.left, left), min(self.right, right)
        return replace(self, left=low, right=high) if high > low else None


@dataclass(frozen=True)
class Axis:
    """Degrees along a stretch of the screen: from px `left` on for `width` px."""

    left: float
    width: float
    start_deg: float
    px_per_deg: float

    @staticmethod
    def whole(left: float, width: float) -> Axis:
        """Show the whole turn, from -10 to 370 degrees."""
        return Axis(left, width, WHOLE_START_DEG, width / WHOLE_LENGTH_DEG)

    @property
    def right(self) -> float:
        """Right end, px."""
        return self.left + self.width

    @property
    def length_deg(self) -> float:
        """Degrees shown; more than 360 where some angles are seen twice."""
        return self.width / self.px_per_deg

    @property
    def end_deg(self) -> float:
        """Unwrapped angle at the right end."""
        return self.start_deg + self.length_deg

    @cached_property
    def home_deg(self) -> float:
        """Unwrapped angle at which the home turn begins: a multiple of 360."""
        middle = self.start_deg + self.length_deg / 2
        return middle - wrap(middle)

    @cached_property
    def home(self) -> tuple[float, float]:
        """Both ends of the home turn within the view, px."""
        begin = self.x(self.home_deg)
        return max(self.left, begin), min(self.right, begin + TURN * self.px_per_deg)

    def x(self, deg: float) -> float:
        """Place of an unwrapped angle, px; may lie outside the view."""
        return self.left + (deg - self.start_deg) * self.px_per_deg

    def deg(self, x: float) -> float:
        """Unwrapped angle, degrees, at a place, px."""
        return self.start_deg + (x - self.left) / self.px_per_deg

    def px(self, degrees: float) -> float:
        """Width of a stretch of so many degrees, px."""
        return degrees * self.px_per_deg

    def places(self, deg: float) -> tuple[float, ...]:
        """Every place in the view at which an angle is seen, px, from the left."""
        return tuple(piece.begin for piece in self.pieces(deg, 0.0))

    def pieces(self, start_deg: float, length_deg: float) -> Iterator[SeenPiece]:
        """Yield every seen copy of a stretch, from the left."""
        lead = ahead(self.start_deg, start_deg) - TURN
        while lead < self.length_deg or (lead == self.length_deg and not length_deg):
            if lead + length_deg >= 0.0 and (lead + length_deg > 0.0 or not length_deg):
                begin = self.left + lead * self.px_per_deg
                end = begin + length_deg * self.px_per_deg
                turn = self.start_deg + lead - start_deg
                yield SeenPiece(max(begin, self.left), min(end, self.right), begin, end, turn)
            lead += TURN

    def seen_copies(self, start_deg: Angles, length_deg: Angles) -> tuple[npt.NDArray[np.intp], Angles]:
        """Return every seen copy of n stretches, as `pieces` yields them one by one.

        start_deg, length_deg: shape (n,). Returns the place of the stretch in these and the px at which its
        copy begins, shape (m,) each, in the order of the stretches and from the left.
        """
        first = ahead(self.start_deg, start_deg) - TURN
        lead = first[:, np.newaxis] + TURN * np.arange(int(self.length_deg // TURN) + 3)
        length = length_deg[:, np.newaxis]
        at_end = (lead == self.length_deg) & (length == 0.0)
        at_start = (lead + length == 0.0) & (length == 0.0)
        seen = ((lead < self.length_deg) | at_end) & ((lead + length > 0.0) | at_start)
        place, _ = np.nonzero(seen)
        return place, self.left + lead[seen] * self.px_per_deg

    def zoomed(self, factor: float, at_x: float) -> Axis:
        """Zoom by `factor`, keeping the angle at `at_x` where it is."""
        low, high = ZOOM_LIMITS
        scale = min(high, max(low, self.px_per_deg * factor))
        held = self.deg(at_x)
        return replace(self, px_per_deg=scale, start_deg=held - (at_x - self.left) / scale)

    def scrolled(self, px: float) -> Axis:
        """Move the view forward by `px`."""
        return replace(self, start_deg=self.start_deg + px / self.px_per_deg)

    def resized(self, left: float, width: float) -> Axis:
        """Return the axis at another place: the whole turn stays whole, any other view keeps its start."""
        if self.is_whole:
            return Axis.whole(left, width)
        return replace(self, left=left, width=width)

    def settled(self) -> Axis:
        """Bring the start of the view back near 0 without changing what is seen."""
        return replace(self, start_deg=self.start_deg - self.home_deg)

    @property
    def is_whole(self) -> bool:
        """Whether this is the view of the whole turn."""
        return abs(self.start_deg - WHOLE_START_DEG) < 1e-9 and abs(self.length_deg - WHOLE_LENGTH_DEG) < 1e-6

    def showing(self, deg: float, margin_px: float) -> Axis:
        """Scroll just so far that an angle, degrees, is seen `margin_px` from the ends; the shorter way."""
        margin = min(margin_px, self.width / 2)
        inner = replace(self, left=self.left + margin, width=self.width - 2 * margin)
        inner = replace(inner, start_deg=self.deg(inner.left))
        if inner.places(deg):
            return self
        forward = ahead(inner.end_deg, deg)
        back = ahead(deg, inner.start_deg)
        return self.scrolled(self.px(forward if forward <= back else -back))


EDGE_PX = 24.0
EDGE_SPEEDS = (60.0, 600.0)
"""Within this many px of an end a held thing makes the view scroll, at so many px a second."""


def edge_speed(place: float, low: float, high: float, u: float = 1.0) -> float:
    """Return the speed at which the view scrolls for a held thing at `place` between two ends, px a second.

    Negative towards `low`, 0 in the middle; it grows with the square of the depth in the margin.
    """
    margin = EDGE_PX * u
    depth = max(margin - (place - low), margin - (high - place), 0.0) / margin
    if depth <= 0.0 or high - low < 2 * margin:
        return 0.0
    slow, fast = EDGE_SPEEDS
    speed = u * (slow + (fast - slow) * min(1.0, depth) ** 2)
    return -speed if place - low < high - place else speed
