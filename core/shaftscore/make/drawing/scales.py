"""Round scales of paper, and the bar that shows whether the size is right."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.make.drawing.scene import Mark, Path, Stroke, Text

SCALES = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""Round scales of paper: 1:1 to 1:100."""

SIZE_PT = 8.0
"""Size of what the bar says, points."""

BAR_MM = 50.0
"""Length of the bar, mm."""


def round_scale(needed_mm: float, room_mm: float) -> float:
    """Return the largest round scale at which a length has room, both mm; the least where none has."""
    return next((one for one in SCALES if needed_mm * one <= room_mm + 1e-9), SCALES[-1])


def scale_text(scale: float) -> str:
    """Return a scale (mm of paper for a mm) as it is said: "1:2"."""
    return f"1:{plain(1.0 / scale, 2)}" if scale <= 1 else f"{plain(scale, 2)}:1"


def scale_bar(start: complex, text: str = "50 mm") -> Iterator[Mark]:
    """Yield a bar of 50 mm with a tick each 10 mm, and what it says; start: its left end, mm of paper."""
    yield Path(np.array([start, start + BAR_MM]), Stroke("ink"), name="scale")
    for tick in range(6):
        high = 2.5 if tick in (0, 5) else 1.5
        at = start + 10.0 * tick
        yield Path(np.array([at, at + 1j * high]), Stroke("ink"), name="scale")
    yield Text(start + complex(BAR_MM / 2, 3.2), text, SIZE_PT, "middle")
