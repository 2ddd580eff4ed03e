"""Ball bearings in which the rod of a stack runs, chosen by the circle that holds the rod's section.

Boundary dimensions follow ISO 15; bores up to 10 mm are those of `built.bearings`, larger ones of dimension
series 10 as in makers' and dealers' tables (6001 to 6005).
"""

from __future__ import annotations

from shaftscore.base.wording import millimetres
from shaftscore.built.bearings import BEARINGS, BearingSize

SHAFT_BEARINGS: tuple[tuple[str, BearingSize], ...] = (
    *((name, BEARINGS[name]) for name in ("623", "624", "625", "626", "607", "608", "609", "6000")),
    ("6001", BearingSize(12, 28, 8)),
    ("6002", BearingSize(15, 32, 9)),
    ("6003", BearingSize(17, 35, 10)),
    ("6004", BearingSize(20, 42, 12)),
    ("6005", BearingSize(25, 47, 12)),
)
"""Designation and size, by bore, smallest first."""


def shaft_bearing(rod_mm: float) -> tuple[str, BearingSize]:
    """Return designation and size of the smallest bearing that a rod goes into.

    rod_mm: diameter of the circle that holds its section, mm. Raises ValueError if no bore is so large.
    """
    for name, size in SHAFT_BEARINGS:
        if size.bore_mm >= rod_mm - 1e-9:
            return name, size
    most = millimetres(SHAFT_BEARINGS[-1][1].bore_mm)
    raise ValueError(f"no bearing of the table takes a rod of {millimetres(rod_mm, 2)}; bores go to {most}")
