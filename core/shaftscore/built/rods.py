"""Undersize of bought rods, by the tolerance class that they are sold in.

The *undersize* is how far the rod is under its nominal size: a least and a greatest value. Classes h:
0 to the standard tolerance. Source: ISO 286-2, classes h6 to h12, as printed in the tolerance tables of
a bar supplier (precisemetal.in/tolerence-table.php). Class 6g of threads, major diameter: the fundamental
deviation and the tolerance Td of ISO 965-1, as printed in metric external thread charts (amesweb.info
and apporo-cnc.com, after ASME B1.13M); pitches above 1.5 mm from memory of ISO 965-2.
"""

from __future__ import annotations

import re
from bisect import bisect_left

from shaftscore.built.threads import MetricThread

SIZE_STEPS_MM = (3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0)
"""Upper ends of the ranges of nominal sizes; a range includes its upper end."""

STANDARD_TOLERANCE_UM = {
    6: (6, 8, 9, 11, 13, 16, 19, 22),
    7: (10, 12, 15, 18, 21, 25, 30, 35),
    8: (14, 18, 22, 27, 33, 39, 46, 54),
    9: (25, 30, 36, 43, 52, 62, 74, 87),
    10: (40, 48, 58, 70, 84, 100, 120, 140),
    11: (60, 75, 90, 110, 130, 160, 190, 220),
    12: (100, 120, 150, 180, 210, 250, 300, 350),
}
"""Standard tolerances by grade, one for each range of sizes, µm."""

THREAD_6G_UM = {
    0.4: (19, 114),
    0.45: (20, 120),
    0.5: (20, 126),
    0.6: (21, 146),
    0.7: (22, 162),
    0.75: (22, 162),
    0.8: (24, 174),
    1.0: (26, 206),
    1.25: (28, 240),
    1.5: (32, 268),
    1.75: (34, 299),
    2.0: (38, 318),
    2.5: (42, 377),
    3.0: (48, 423),
    3.5: (53, 478),
}
"""Least and greatest undersize of the major diameter in class 6g, by pitch, µm."""

_H_CLASS = re.compile(r"h(\d+)")


def standard_tolerance_mm(grade: int, size_mm: float) -> float:
    """Return the standard tolerance of a grade 6 to 12 for a nominal size up to 120 mm.

    Raises ValueError for another grade or size.
    """
    if grade not in STANDARD_TOLERANCE_UM:
        raise ValueError(f"no standard tolerance of grade {grade}; grades 6 to 12 are known")
    if not 0 < size_mm <= SIZE_STEPS_MM[-1]:
        raise ValueError(
            f"no standard tolerance for {size_mm} mm; sizes up to {SIZE_STEPS_MM[-1]} mm are known"
        )
    return STANDARD_TOLERANCE_UM[grade][bisect_left(SIZE_STEPS_MM, size_mm)] / 1000


def undersize_mm(tolerance: str, across_mm: float, thread: MetricThread | None = None) -> tuple[float, float]:
    """Return the least and the greatest undersize of a rod of class h6 to h12, or 6g for its thread.

    across_mm: nominal diameter or width across flats. Raises ValueError for a class that is not known, 6g
    without a thread, and a pitch without a 6g row.
    """
    found = _H_CLASS.fullmatch(tolerance)
    if found is not None:
        return 0.0, standard_tolerance_mm(int(found[1]), across_mm)
    if tolerance != "6g":
        raise ValueError(f"tolerance class {tolerance!r} is not known; h6 to h12 and 6g are")
    if thread is None:
        raise ValueError("tolerance class 6g belongs to a thread, and the rod has none")
    if thread.pitch_mm not in THREAD_6G_UM:
        raise ValueError(f"no 6g limits for a pitch of {thread.pitch_mm} mm")
    least, greatest = THREAD_6G_UM[thread.pitch_mm]
    return least / 1000, greatest / 1000
