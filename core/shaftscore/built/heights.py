"""Heights of a stack: printable thicknesses, where a disc is along the shaft, width left on its roller.

Heights are mm along the shaft from the bottom of the stack. A printed part is the first layer plus whole
layers. The height of a disc adds up all parts below it: a thickness error common to all adds up linearly,
errors of their own as the root of the sum of squares (tolerance stack-up, common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, sqrt

from shaftscore.base.tolerance import LIMIT


@dataclass(frozen=True)
class HeightBand:
    """A stretch of heights, mm, bottom to top."""

    bottom_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Width, mm; 0 where the top is not above the bottom."""
        return max(self.top_mm - self.bottom_mm, 0.0)

    def moved(self, by_mm: float) -> HeightBand:
        """Return the band moved up."""
        return HeightBand(self.bottom_mm + by_mm, self.top_mm + by_mm)

    def common(self, other: HeightBand) -> HeightBand:
        """Return what two bands share; of width 0 where they share nothing."""
        return HeightBand(max(self.bottom_mm, other.bottom_mm), min(self.top_mm, other.top_mm))


def printable_mm(thickness_mm: float, first_layer_mm: float, layer_mm: float) -> tuple[float, float]:
    """Return the printable thicknesses just below and above a wished one; twice the same where it is one.

    Below the first layer both are the first layer. Raises ValueError for layers of 0 or less.
    """
    if first_layer_mm <= 0 or layer_mm <= 0:
        raise ValueError(f"layers of {first_layer_mm} and {layer_mm} mm cannot be printed")
    layers = (thickness_mm - first_layer_mm) / layer_mm
    if layers <= 0:
        return first_layer_mm, first_layer_mm
    whole = floor(layers + LIMIT / layer_mm)
    below = first_layer_mm + whole * layer_mm
    return below, below if thickness_mm - below <= LIMIT else below + layer_mm


def is_printable(thickness_mm: float, first_layer_mm: float, layer_mm: float) -> bool:
    """Return whether a thickness is the first layer plus whole layers, all mm."""
    return any(
        abs(thickness_mm - one) <= LIMIT for one in printable_mm(thickness_mm, first_layer_mm, layer_mm)
    )


def height_tolerance_mm(
    parts: int, thickness_mm: float, thickness_common_mm: float, follower_z_mm: float
) -> float:
    """Return the plus-minus limit between a disc's height and its roller's, mm.

    parts: how many parts add up (those below the disc; 1, its own, where followers are set on the built
    stack). The common error adds up linearly, the own ones by squares, and the roller's comes on top.
    """
    return parts * thickness_common_mm + sqrt(parts) * thickness_mm + follower_z_mm


def rim(disc: HeightBand, foot_chamfer_mm: float, top_chamfer_mm: float = 0.0) -> HeightBand:
    """Return the heights at which a disc's rim is upright: the disc less its chamfers."""
    return HeightBand(disc.bottom_mm + foot_chamfer_mm, disc.top_mm - top_chamfer_mm)


def overlap_mm(rim_band: HeightBand, roller: HeightBand) -> float:
    """Return the contact width of a rim and a roller as drawn, mm."""
    return rim_band.common(roller).width_mm


def worst_overlap_mm(rim_band: HeightBand, roller: HeightBand, tolerance_mm: float) -> float:
    """Return the least contact width with the roller off by up to a tolerance either way, mm.

    The width is a concave function of the shift, so that its least is at an end.
    """
    return min(overlap_mm(rim_band, roller.moved(by)) for by in (-tolerance_mm, tolerance_mm))


def required_overlap_mm(rim_band: HeightBand, roller: HeightBand) -> float:
    """Return the contact width that is required, mm: half of the smaller of the two."""
    return min(rim_band.width_mm, roller.width_mm) / 2


def gap_mm(roller: HeightBand, neighbour: HeightBand, tolerance_mm: float) -> float:
    """Return the least gap between a roller and a neighbouring disc, mm; negative where they overlap."""
    apart = max(neighbour.bottom_mm - roller.top_mm, roller.bottom_mm - neighbour.top_mm)
    return apart - tolerance_mm
