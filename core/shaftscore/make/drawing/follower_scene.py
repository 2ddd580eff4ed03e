"""Followers as drawings: their shapes from the top and from the side, and both on one sheet at full size.

The screen, pages and files draw the same marks; lengths are mm of the follower.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from shaftscore.base.wording import number
from shaftscore.make.drawing.dimensions import dimension
from shaftscore.make.drawing.follower import DrawnDimension, DrawnShape, FollowerDrawing, ShapeKind
from shaftscore.make.drawing.scene import Mark, Path, Pattern, Scene, Stroke, Tone, scene

LOOKS: dict[ShapeKind, tuple[Stroke, Tone | None]] = {
    "disc": (Stroke("ink"), "face"),
    "base": (Stroke("muted", "hair", "dashed"), None),
    "bore": (Stroke("ink"), "paper"),
    "part": (Stroke("new", "bold"), "new-face"),
    "link": (Stroke("new", "bold"), "paper"),
    "hole": (Stroke("ink"), "paper"),
    "roller": (Stroke("ink"), "paper"),
    "screw": (Stroke("ink"), "shade"),
    "rod": (Stroke("ink"), "shade"),
    "frame": (Stroke("muted"), "face"),
    "ghost": (Stroke("muted", "hair", "dashed"), None),
    "spring": (Stroke("ink", "hair"), None),
    "touch": (Stroke("error"), None),
}
"""Line and fill of each kind of shape."""

CUT: dict[ShapeKind, Pattern] = {"disc": "rising"}
"""Hatches of what is cut in the view from the side."""

HATCHED: dict[ShapeKind, Pattern] = {"touch": "crossed"}
"""Hatches in the view from the top, over what is under them."""

ROW_MM, SHEET_MM = 9.0, 14.0
"""Distance of rows of dimensions, and of both views on one sheet, mm."""


def shape_marks(shapes: Iterable[DrawnShape], *, cut: bool = False) -> Iterator[Mark]:
    """Yield shapes as they are drawn, back to front; cut: from the side, where discs are cut."""
    for shape in shapes:
        line, fill = LOOKS[shape.kind]
        pattern = CUT.get(shape.kind) if cut else HATCHED.get(shape.kind)
        ground: Tone | None = "paper" if cut and pattern is not None else fill
        yield Path(
            shape.corners,
            line,
            closed=shape.closed,
            fill=ground if shape.closed else None,
            pattern=pattern,
            name=shape.kind,
        )


def follower_sheet(drawing: FollowerDrawing) -> Scene:
    """Return both views at full size on one sheet, the one from the side below, mm."""
    top = scene([*shape_marks(drawing.top), *_dimensions(drawing.top_dimensions)])
    side = scene([*shape_marks(drawing.side, cut=True), *_dimensions(drawing.side_dimensions)])
    shift = complex(top.bounds.left - side.bounds.left, top.bounds.bottom - side.bounds.top - SHEET_MM)
    return top + side.placed(1.0, shift)


def _dimensions(dimensions: Sequence[DrawnDimension]) -> Iterator[Mark]:
    for one in dimensions:
        if abs(one.end - one.start) > np.finfo(float).eps:
            aside = one.aside * ROW_MM * one.step
            yield from dimension(one.start, one.end, aside, number(one.value_mm, 1))
