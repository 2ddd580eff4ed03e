"""What a drawing is made of: paths and texts in the order in which they are painted, and nothing of a device.

A front end (timing diagram, section, stack, disc, lever, plan) makes a `Scene` once; a back end paints it: on
the screen, in a PDF, in SVG, in DXF. Lengths are those of the drawing, mm of the thing drawn, x to the right
and y up; sizes of letters are points of the paper and do not scale with it. A scene says what a line means by
its tone and weight; which colour and width that is, the back end knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

Corners = npt.NDArray[np.complex128]
"""Corners of a path, (n,) complex, x + iy."""

Tone = Literal[
    "ink",
    "muted",
    "pale",
    "paper",
    "face",
    "shade",
    "new",
    "new-face",
    "new-shade",
    "error",
    "warning",
    "level-0",
    "level-1",
    "level-2",
    "level-3",
    "level-4",
    "level-5",
]
"""What a line or a face is: ink, what is said beside it, lines of tables, the paper itself, faces seen from
above and from the side; the same three for what a step adds; what is wrong; and levels by their rank."""

Weight = Literal["hair", "outline", "bold"]
"""0.3 pt for lines of help, 0.8 pt for outlines, 1.2 pt for what is new."""

Dash = Literal["solid", "dashed", "dotted", "chain"]
"""Chain lines are axes."""

Pattern = Literal["rising", "falling", "crossed", "dots", "upright", "level"]
"""Fills that tell faces apart without colour: hatches by their direction, dots."""

Anchor = Literal["start", "middle", "end"]
"""Which part of a text stands at its point."""

LINE_PT: dict[Weight, float] = {"hair": 0.3, "outline": 0.8, "bold": 1.2}
"""Widths of lines on paper, points."""

DASHES_PT: dict[Dash, tuple[float, ...]] = {
    "solid": (),
    "dashed": (3.0, 2.0),
    "dotted": (0.8, 1.6),
    "chain": (8.0, 2.0, 1.0, 2.0),
}
"""Lengths of strokes and gaps, points."""


@dataclass(frozen=True)
class Stroke:
    """How a line is drawn."""

    tone: Tone = "ink"
    weight: Weight = "outline"
    dash: Dash = "solid"


@dataclass(frozen=True, eq=False)
class Path:
    """A line or a face: corners (n,), closed or not, its line (None: no line) and its fill.

    holes: contours inside that are not filled, and are lined like the rest. pattern: over the fill, in the
    tone of the line. name: what it shows, for layers of a file and for tests; empty for lines of help.
    radius: of a path that stands for a circle; files with true circles write one.
    """

    corners: Corners
    stroke: Stroke | None = Stroke()
    closed: bool = False
    fill: Tone | None = None
    pattern: Pattern | None = None
    holes: tuple[Corners, ...] = ()
    name: str = ""
    radius: float | None = None

    @property
    def middle(self) -> complex:
        """Return the middle of its corners, mm of the drawing: of a circle, its own."""
        return complex(self.corners.mean())


@dataclass(frozen=True)
class Text:
    """Letters in one line at a point of the drawing: their baseline, size in points, tone, weight.

    name: as that of a path.
    """

    at: complex
    text: str
    size_pt: float = 8.5
    anchor: Anchor = "start"
    tone: Tone = "ink"
    bold: bool = False
    turned_deg: float = 0.0
    name: str = ""


Mark = Path | Text


@dataclass(frozen=True)
class Bounds:
    """A box, in the drawing's lengths."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def wide(self) -> float:
        """Return its width, mm of the drawing."""
        return self.right - self.left

    @property
    def high(self) -> float:
        """Return its height, mm of the drawing."""
        return self.top - self.bottom


@dataclass(frozen=True)
class Scene:
    """A drawing: marks, painted in their order; what comes later covers what came before."""

    marks: tuple[Mark, ...] = ()

    def __add__(self, other: Scene) -> Scene:
        """Return both, the other over this one."""
        return Scene(self.marks + other.marks)

    @property
    def paths(self) -> Iterator[Path]:
        """Yield the lines and faces."""
        return (mark for mark in self.marks if isinstance(mark, Path))

    @property
    def texts(self) -> Iterator[Text]:
        """Yield the texts."""
        return (mark for mark in self.marks if isinstance(mark, Text))

    @property
    def bounds(self) -> Bounds:
        """Return the box of all corners and of the points of texts. Raises ValueError if there is none."""
        points = [mark.corners if isinstance(mark, Path) else np.array([mark.at]) for mark in self.marks]
        if not any(len(one) for one in points):
            raise ValueError("an empty drawing has no bounds")
        every = np.concatenate(points)
        x, y = every.real, every.imag
        return Bounds(float(x.min()), float(y.min()), float(x.max()), float(y.max()))

    def placed(self, scale: float = 1.0, offset: complex = 0j) -> Scene:
        """Return the drawing scaled about its origin, then moved by `offset` (mm); letters keep sizes."""
        return Scene(tuple(_placed(mark, scale, offset) for mark in self.marks))


def scene(marks: Iterable[Mark]) -> Scene:
    """Return the drawing of these marks."""
    return Scene(tuple(marks))


def box(low: complex, high: complex) -> Corners:
    """Return the corners of a rectangle between two opposite ones, (4,) complex mm."""
    return np.array([low, complex(high.real, low.imag), high, complex(low.real, high.imag)])


CHORD_MM, LEAST_CORNERS = 0.01, 48
"""Largest distance of a circle from the polygon that stands for it, and the least number of its corners."""


def circle(
    at: complex,
    radius: float,
    stroke: Stroke | None = Stroke(),
    fill: Tone | None = None,
    *,
    name: str = "",
) -> Path:
    """Return a circle about a point, mm."""
    step = 2.0 * np.arccos(max(0.0, 1.0 - CHORD_MM / radius)) if radius > 0 else np.pi
    count = max(LEAST_CORNERS, int(np.ceil(2.0 * np.pi / step)))
    corners = at + radius * np.exp(2j * np.pi * np.arange(count) / count)
    return Path(corners, stroke, closed=True, fill=fill, name=name, radius=radius)


def _placed(mark: Mark, scale: float, offset: complex) -> Mark:
    if isinstance(mark, Text):
        return replace(mark, at=mark.at * scale + offset)
    holes = tuple(hole * scale + offset for hole in mark.holes)
    radius = None if mark.radius is None else mark.radius * scale
    corners = mark.corners * scale + offset
    # written out: `replace` takes three times as long, and a picture has thousands
    return Path(corners, mark.stroke, mark.closed, mark.fill, mark.pattern, holes, mark.name, radius)
