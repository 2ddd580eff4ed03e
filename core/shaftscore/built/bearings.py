"""Sizes of ball bearings that serve as rollers.

Bore, outside diameter and width of single-row deep groove ball bearings by their basic designation, which
follow ISO 15 (DIN 625-1), as printed in size charts of bearing dealers. The width of two sizes depends on
the shields. Load ratings differ by maker and are in no table here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class BearingSize:
    """Boundary dimensions of a bearing, mm: bore, outside diameter, width."""

    bore_mm: float
    outer_mm: float
    width_mm: float


BEARINGS: Mapping[str, BearingSize] = MappingProxyType(
    {
        "MR63": BearingSize(3, 6, 2),
        "MR84": BearingSize(4, 8, 2),
        "MR85": BearingSize(5, 8, 2),
        "MR105 open": BearingSize(5, 10, 3),
        "MR105 shielded": BearingSize(5, 10, 4),
        "623": BearingSize(3, 10, 4),
        "624": BearingSize(4, 13, 5),
        "605": BearingSize(5, 14, 5),
        "625": BearingSize(5, 16, 5),
        "688 open": BearingSize(8, 16, 4),
        "688 shielded": BearingSize(8, 16, 5),
        "606": BearingSize(6, 17, 6),
        "607": BearingSize(7, 19, 6),
        "626": BearingSize(6, 19, 6),
        "608": BearingSize(8, 22, 7),
        "609": BearingSize(9, 24, 7),
        "6000": BearingSize(10, 26, 8),
    }
)
"""Size by basic designation, smallest first."""
