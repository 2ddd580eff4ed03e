"""Words beside short blocks: on the height of the block, where neither the curve nor another word is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from shaftscore.base.angles import TURN, Angles
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.bodies import BodyBox
from shaftscore.make.drawing.timing.curves import LaneCurve, travel_of
from shaftscore.make.drawing.timing.strips import Strip

GAP, STEP, FAR = 6.0, 4.0, 90.0
"""Distance of words from their block, by which they move away where something is, and how far at most, px."""

NEARER = 4.0
"""By which words are nearer to their block than to anything else on their height, px."""

HIGH, AIR = 12.0, 1.5
"""Height of words, and the air about them, px."""


def free_place(
    axis: Axis, strip: Strip, curve: LaneCurve | None, body: BodyBox, wide: float, *, taken: Sequence[BodyBox]
) -> BodyBox | None:
    """Return where words of a width, px, have room beside a block, as near as can be; None if nowhere."""
    top = body.top + min(body.height, strip.body) / 2 - HIGH / 2
    left, right = axis.home
    heights = _heights(axis, strip, curve)
    others = [other for other in taken if other != body]
    for start, away in _starts(body, wide):
        words = BodyBox(start, top, wide, HIGH)
        inside = left + AIR <= start and words.right <= right - AIR
        around = _around(words, body, away)
        if inside and not any(_meet(around, other) for other in others) and _is_clear(words, heights):
            return words
    return None


def _starts(body: BodyBox, wide: float) -> Iterator[tuple[float, float]]:
    """Yield where words may begin and how far they then are from their block, px."""
    for away in np.arange(GAP, FAR, STEP).tolist():
        yield body.right + away, away
        yield body.left - away - wide, away


def _around(words: BodyBox, body: BodyBox, away: float) -> BodyBox:
    """Return what must be free: from the block to the words, and as far again beyond them."""
    low, high = min(words.left - away - NEARER, body.right), max(words.right + away + NEARER, body.left)
    left, right = (body.right, high) if words.left > body.left else (low, body.left)
    return BodyBox(left, words.top, right - left, words.height)


def _heights(axis: Axis, strip: Strip, curve: LaneCurve | None) -> Callable[[Angles], Angles] | None:
    """Return the function that says at which y the curve is at some x, px; None without a curve."""
    if curve is None:
        return None
    foot, travel = strip.y(0.0), travel_of(strip)

    def at(x: Angles) -> Angles:
        degs = axis.start_deg + (x - axis.left) / axis.px_per_deg
        return foot - travel * np.interp(degs, curve.theta_deg, curve.output_mm, period=TURN)

    return at


def _is_clear(words: BodyBox, heights: Callable[[Angles], Angles] | None) -> bool:
    """Return whether the curve is above or below some words all along."""
    if heights is None:
        return True
    ys = heights(np.linspace(words.left - AIR, words.right + AIR, 25))
    return bool((ys < words.top - AIR).all() or (ys > words.bottom + AIR).all())


def _meet(one: BodyBox, other: BodyBox) -> bool:
    across = one.left < other.right and other.left < one.right
    return across and one.top < other.bottom and other.top < one.bottom
