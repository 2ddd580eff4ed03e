"""Whether a bar that is longer than the bed can be divided: places for keyed joints between its holes.

The joint is that of `make.solids.split`: a key that is three tenths as wide as the bar, and 0.6 of that long.
Widths between two bosses are taken less than they are, so that what is found here is found there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from shaftscore.base.wording import millimetres
from shaftscore.layout.bars import FlatBar
from shaftscore.layout.bed import fits_bed, in_file_mm
from shaftscore.layout.followers import FollowerLayoutError
from shaftscore.model import Print

KEY_MM, KEY_SHARE, LEAST_KEY_MM = 10.0, 0.3, 2.5
"""Most width of a key at its root; its share of the length of the cut; a narrower key breaks, mm."""

DEEP, FREE_MM = 0.6, 3.0
"""Length of a key by its width; from a key or a cut to holes, mm."""

SEEK = 0.3
"""A cut is sought within this share of a piece's length about its best place."""


def joint_faults(printer: Print, bar: FlatBar) -> Iterator[FollowerLayoutError]:
    """Yield that a printed bar has no room on the bed and no place for its joints."""
    low = min(at - radius for at, radius in bar.bosses)
    high = max(at + radius for at, radius in bar.bosses)
    size = (high - low, 2 * bar.half_mm, bar.thickness_mm)
    if fits_bed(printer, in_file_mm(printer, size)) or _has_joints(printer, bar, low, high):
        return
    told = f"{bar.code}: it is {millimetres(high - low, 0)} long, longer than the printer’s bed"
    yield FollowerLayoutError(
        f"{told}, and has no place for a joint; a larger bed or shorter arms are required"
    )


def _has_joints(printer: Print, bar: FlatBar, low_mm: float, high_mm: float) -> bool:
    """Return whether a bar from one place to another, mm, can be cut into pieces that fit."""
    bed = sorted((printer.bed_x_mm, printer.bed_y_mm))
    if 2 * bar.half_mm > bed[0] or bar.thickness_mm > printer.bed_z_mm:
        return False
    room = bed[1] - 2 * max(printer.contour_mm, 0.0)
    limit = room * (1 - max(printer.shrinkage_percent, 0.0) / 100) - DEEP * KEY_MM
    start = low_mm
    while high_mm - start > limit + DEEP * KEY_MM:
        step = (high_mm - start) / math.ceil((high_mm - start) / limit)
        places = np.arange(start + step * (1 - SEEK), min(start + limit, start + step * (1 + SEEK)), 1.0)
        found = [place for place in places.tolist() if _is_free(bar, place)]
        if limit <= KEY_MM or not found:
            return False
        start = min(found, key=lambda place: abs(place - start - step))
    return True


def _is_free(bar: FlatBar, at_mm: float) -> bool:
    """Return whether a cut at a place has room for its key, and keeps off holes."""
    width = 2 * _half_mm(bar, at_mm)
    key = min(KEY_MM, KEY_SHARE * width)
    clear = all(
        hole.at_mm + hole.radius_mm + FREE_MM < at_mm
        or at_mm + DEEP * key + FREE_MM < hole.at_mm - hole.radius_mm
        for hole in bar.holes
    )
    return key >= LEAST_KEY_MM and clear


def _half_mm(bar: FlatBar, at_mm: float) -> float:
    """Return half the width of a bar at a place, at least, mm: along the line between neighbouring bosses."""
    for (one, first), (other, second) in pairwise(sorted(bar.bosses)):
        if one <= at_mm <= other:
            return first + (second - first) * (at_mm - one) / max(other - one, 1e-9)
    return 0.0
