"""Parts of a shaft from the side as a drawing: plates with their seats, bearings, hub, discs, spacers, rod.

The screen draws them as they are at an angle, paper as a section with hatches; both draw these marks. Lengths
are mm of the thing, x from the axis, z up.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.make.drawing.scene import Mark, Path, Pattern, Scene, Stroke, Tone, box, circle, scene
from shaftscore.make.drawing.shaft import DrawnRoller, PartKind, ShaftPart, SideView

ORDER: tuple[PartKind, ...] = ("plate", "hub", "spacer", "disc", "rod", "clamp", "bearing")
"""Kinds of parts, back to front."""

FILLS: dict[PartKind, Tone | None] = {
    "plate": None,
    "hub": "face",
    "spacer": "paper",
    "disc": "face",
    "rod": "shade",
    "clamp": "face",
    "bearing": "paper",
}
"""Fills as seen from the side; a section has white parts with hatches, and its rod is not cut."""

HATCHES: dict[PartKind, Pattern] = {
    "plate": "falling",
    "hub": "rising",
    "spacer": "falling",
    "disc": "rising",
    "clamp": "falling",
}
"""Hatches of cut parts; neighbours have different ones."""

BALL = 0.32
"""Radius of a ball over the lesser side of its bearing's half."""


@dataclass(frozen=True)
class ShaftLook:
    """How parts are drawn: cut or seen from the side, which lanes and bearings are chosen, and the break.

    held: 0 for the lower bearing, 1 for the upper. break_mm: nothing further left of the axis is drawn.
    described: plates whose places are known are hatched, others dashed.
    """

    cut: bool = False
    chosen: Collection[str] = ()
    held: int | None = None
    break_mm: float = np.inf
    described: bool = True


def part_marks(parts: Iterable[ShaftPart], look: ShaftLook) -> Iterator[Mark]:
    """Yield the marks of parts, back to front."""
    found = list(parts)
    for kind in ORDER:
        for number, part in enumerate(one for one in found if one.kind == kind):
            yield from _marks(part, number, look)


def _marks(part: ShaftPart, number: int, look: ShaftLook) -> Iterator[Mark]:
    if part.kind == "bearing":
        yield from _bearing(part, look, is_held=look.held == number)
    elif part.kind == "plate":
        yield from _plate(part, look)
    else:
        yield from _body(part, look)


def _body(part: ShaftPart, look: ShaftLook) -> Iterator[Mark]:
    """Yield a disc, spacer, hub, ring or rod; in a section, the disc's largest radius dashed."""
    is_new = part.lane_id is not None and part.lane_id in look.chosen
    line = Stroke("new" if is_new else "ink", "bold" if is_new else "outline")
    fill: Tone | None = "new-face" if is_new else FILLS[part.kind]
    pattern = HATCHES.get(part.kind) if look.cut else None
    if look.cut and part.kind != "rod":
        fill = "paper"
    left = max(part.left_mm, -look.break_mm)
    name = part.lane_id or part.kind
    corners = box(complex(left, part.bottom_mm), complex(part.right_mm, part.top_mm))
    yield Path(corners, line, closed=True, fill=fill, pattern=pattern, name=name)
    if part.reach_mm > part.right_mm + 0.05:
        beyond = box(complex(part.right_mm, part.bottom_mm), complex(part.reach_mm, part.top_mm))
        yield Path(beyond, Stroke("ink", "outline", "dashed"), closed=True, fill=None, name="largest")


def _plate(part: ShaftPart, look: ShaftLook) -> Iterator[Mark]:
    """Yield both halves of a plate; the seat of a bearing is cut into the inner face."""
    line = Stroke("ink" if look.cut else "muted", "outline", "solid" if look.described else "dashed")
    pattern = HATCHES["plate"] if look.described else None
    for side in (-1.0, 1.0):
        corners = _half_plate(part, side)
        if side < 0 and part.left_mm < -look.break_mm:
            corners = np.maximum(corners.real, -look.break_mm) + 1j * corners.imag
        if len(np.unique(corners.real)) > 1:
            yield Path(corners, line, closed=True, pattern=pattern, name="plate")


def _half_plate(part: ShaftPart, side: float) -> np.ndarray[tuple[int], np.dtype[np.complex128]]:
    """Return the corners of one half of a plate, (n,) complex mm."""
    low, high, inner, outer = part.bottom_mm, part.top_mm, part.inner_mm, part.right_mm
    if part.seat is None:
        points = [(inner, low), (outer, low), (outer, high), (inner, high)]
    else:
        radius, floor, far = part.seat
        near = low if far == high else high
        points = [(inner, near), (outer, near), (outer, far), (radius, far), (radius, floor), (inner, floor)]
    return np.array([complex(side * x, z) for x, z in points])


def _bearing(part: ShaftPart, look: ShaftLook, *, is_held: bool) -> Iterator[Mark]:
    """Yield both halves of a bearing with their balls; a plain one has none."""
    line = Stroke("new" if is_held else "ink", "bold" if is_held else "outline")
    for side in (-1.0, 1.0):
        low, high = complex(side * part.inner_mm, part.bottom_mm), complex(side * part.right_mm, part.top_mm)
        fill: Tone = "new-face" if is_held else "paper"
        yield Path(box(low, high), line, closed=True, fill=fill, name="bearing")
        least = min(part.right_mm - part.inner_mm, part.top_mm - part.bottom_mm)
        yield circle((low + high) / 2, BALL * least, line, None if look.cut else "face")


# The side view


AXIS_MM = 3.0
"""The axis is drawn this far beyond the rod."""


def side_scene(side: SideView, look: ShaftLook, *, heights: bool) -> Scene:
    """Return a side view with its rollers; heights: whether it shows within which heights they may be."""
    marks = [*part_marks(side.parts, look), axis_mark(side.parts)]
    for roller in side.rollers:
        marks += _roller(roller, heights)
    return scene(marks)


def axis_mark(parts: Iterable[ShaftPart]) -> Mark:
    """Return the axis, from end to end of the rod and a little beyond, mm."""
    rod = next(part for part in parts if part.kind == "rod")
    ends = np.array([1j * (rod.bottom_mm - AXIS_MM), 1j * (rod.top_mm + AXIS_MM)])
    return Path(ends, Stroke("muted", "hair", "chain"), name="axis")


def _roller(roller: DrawnRoller, heights: bool) -> Iterator[Mark]:
    """Yield a roller with its axis, and the band that its tolerance gives it."""
    low, high = complex(roller.left_mm, roller.bottom_mm), complex(roller.right_mm, roller.top_mm)
    yield Path(box(low, high), Stroke(), closed=True, fill="paper", name="roller")
    middle = (roller.left_mm + roller.right_mm) / 2
    ends = np.array([complex(middle, roller.bottom_mm), complex(middle, roller.top_mm)])
    yield Path(ends, Stroke("muted", "hair"))
    if heights:
        off = 1j * roller.spread_mm
        line = Stroke("error" if roller.is_narrow else "muted", "outline", "dashed")
        yield Path(box(low - off, high + off), line, closed=True, name="band")
