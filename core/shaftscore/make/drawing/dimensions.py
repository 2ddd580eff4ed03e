"""Dimension lines of drawings, the bar that shows whether the size is right, and round scales."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Stroke, Text, box

SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""Round scales of paper: 1:1 to 1:100."""

ARROW_MM, ARROW_WIDE_MM = 2.2, 0.55
"""Length and half the width of the heads of arrows, mm of paper."""

OVER_MM = 1.0
"""Help lines begin so far from what is measured and end so far beyond the dimension line, mm."""

SIZE_PT = 8.0
"""Size of the numbers, points."""

BAR_MM = 50.0
"""Length of the bar, mm."""

LINE = Stroke("muted", "hair")


def round_scale(needed_mm: float, room_mm: float) -> float:
    """Return the largest round scale at which a length has room, both mm; the least where none has."""
    return next((one for one in SCALES if needed_mm * one <= room_mm + 1e-9), SCALES[-1])


def scale_text(scale: float) -> str:
    """Return a scale (mm of paper for a mm) as it is said: "1:2"."""
    return f"1:{plain(1.0 / scale, 2)}" if scale <= 1 else f"{plain(scale, 2)}:1"


def dimension(
    start: complex, end: complex, aside: complex, text: str, *, bold: bool = False
) -> Iterator[Mark]:
    """Yield a dimension between two points, its line moved by `aside`, all mm of paper.

    The number is on the line, in a gap of it; where it has no room there, beyond its end.
    """
    first, last = start + aside, end + aside
    away = aside / abs(aside) * OVER_MM if aside else 0j
    if aside:
        yield Path(np.array([start + away, first + away]), LINE)
        yield Path(np.array([end + away, last + away]), LINE)
    long = abs(last - first)
    along = (last - first) / long if long else 1 + 0j
    upright = abs(along.real) < 0.5
    wide = width_mm(text, SIZE_PT, bold)
    yield from _line(first, last, along)
    middle, high = (first + last) / 2, 0.72 * SIZE_PT * POINT_MM
    if not upright and long < wide + 2 * ARROW_MM + 2:
        yield Text(last + along * (2.0 * ARROW_MM + 1.0) - 1j * high / 2, text, SIZE_PT, bold=bold)
        return
    low = middle - complex(wide / 2 + 0.6, high / 2 + 0.6)
    yield Path(box(low, low + complex(wide + 1.2, high + 1.2)), None, closed=True, fill="paper")
    yield Text(middle - 1j * high / 2, text, SIZE_PT, "middle", bold=bold)


def _line(first: complex, last: complex, along: complex) -> Iterator[Mark]:
    """Yield the dimension line with its heads; a short one has them outside."""
    inside = abs(last - first) > 2.6 * ARROW_MM
    way = along if inside else -along
    reach = 0.0 if inside else 2.0 * ARROW_MM
    yield Path(np.array([first - along * reach, last + along * reach]), LINE)
    for tip, sign in ((first, 1.0), (last, -1.0)):
        foot = tip + sign * way * ARROW_MM
        side = 1j * way * ARROW_WIDE_MM
        yield Path(np.array([tip, foot + side, foot - side]), None, closed=True, fill="muted")


def scale_bar(start: complex, text: str = "50 mm") -> Iterator[Mark]:
    """Yield a bar of 50 mm with a tick each 10 mm, and what it says; start: its left end, mm of paper."""
    yield Path(np.array([start, start + BAR_MM]), Stroke("ink"), name="scale")
    for tick in range(6):
        high = 2.5 if tick in (0, 5) else 1.5
        at = start + 10.0 * tick
        yield Path(np.array([at, at + 1j * high]), Stroke("ink"), name="scale")
    yield Text(start + complex(BAR_MM / 2, 3.2), text, SIZE_PT, "middle")
