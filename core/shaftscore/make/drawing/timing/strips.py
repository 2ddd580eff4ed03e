"""Strips: how high a lane stands, and where an output lies in it.

The *output* of a lane (mm) runs from 0 to its highest level; full travel always fills the strip. A
block's body hangs `body` px below its level line, so level 0 is the bottom bar of the strip.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

LEAST_HEIGHT = 16.0
GREATEST_HEIGHT = 240.0
"""Bounds of a strip's height, px of the design."""

MANY_LANES = 40
"""With more lanes than this, all strips start low."""

MANY_HEIGHT = 24.0
"""Height of a strip where there are many lanes."""


class Detail(IntEnum):
    """How much a strip shows, by its height."""

    THIN = 0
    """Under 24 px: curve, blocks without text, columns."""
    SHORT = 1
    """24 px and more: also block names, lengths, signs, output."""
    FULL = 2
    """40 px and more: everything."""


def detail_of(height: float) -> Detail:
    """Return what a strip of so many px of the design shows."""
    return Detail.FULL if height >= 40.0 else Detail.SHORT if height >= 24.0 else Detail.THIN


_SIZES = {Detail.FULL: (16.0, 5.0, 3.0), Detail.SHORT: (14.0, 3.0, 1.0), Detail.THIN: (6.0, 2.0, 1.0)}
"""Height of a block, pads above and below, px of the design."""


def default_height(levels: int, lanes: int) -> float:
    """Return a strip's first height, px of the design: 44 for two levels, 64 for three, then 16 more each."""
    if lanes > MANY_LANES:
        return MANY_HEIGHT
    return min(112.0, 44.0 if levels <= 2 else 64.0 + 16.0 * (levels - 3))


@dataclass(frozen=True)
class Strip:
    """One lane's strip: from `top` for `height` px; highest_mm: the output that fills it."""

    top: float
    height: float
    highest_mm: float
    u: float = 1.0

    @cached_property
    def detail(self) -> Detail:
        """How much is shown."""
        return detail_of(self.height / self.u + 1e-9)

    @cached_property
    def body(self) -> float:
        """Height of a block, px."""
        return _SIZES[self.detail][0] * self.u

    @cached_property
    def pad_top(self) -> float:
        """Space above the highest level, px."""
        return _SIZES[self.detail][1] * self.u

    @cached_property
    def pad_bottom(self) -> float:
        """Space under the lowest block, px."""
        return _SIZES[self.detail][2] * self.u

    @cached_property
    def travel(self) -> float:
        """Height of the full travel, px."""
        return self.height - self.pad_top - self.pad_bottom - self.body

    @property
    def bottom(self) -> float:
        """Lower end, px."""
        return self.top + self.height

    @property
    def floor(self) -> float:
        """Lower side of a block at output 0: where the material ends, px."""
        return self.top + self.height - self.pad_bottom

    def y(self, output_mm: float) -> float:
        """Height of an output in the strip, px from above."""
        share = output_mm / self.highest_mm if self.highest_mm > 0 else 0.0
        return self.top + self.pad_top + self.travel * (1.0 - share)

    def output(self, y: float) -> float:
        """Output at a height, mm; outside the travel it goes on beyond the levels."""
        return (1.0 - (y - self.top - self.pad_top) / self.travel) * self.highest_mm if self.travel else 0.0
