"""The drawing of one step of assembly: what is there in grey, what is new tinted, with arrows and labels.

New parts are drawn apart from their places, the arrow says how they move. Lengths of the result are mm on
paper, its lower left corner at the origin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from shaftscore.layout.placed import Points
from shaftscore.make.drawing.fonts import width_mm
from shaftscore.make.drawing.pictures.exploded import visible_edge
from shaftscore.make.drawing.pictures.labels import LABEL_PT, PartLabel, labelled
from shaftscore.make.drawing.pictures.machine import PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.prisms import UprightPrism
from shaftscore.make.drawing.pictures.projecting import BEFORE, hides, painted, seen, seen_point
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, scene
from shaftscore.make.solids.strokes import LETTERS, text_strokes, text_width

MOST_SCALE = 1.0
"""A step is not drawn larger than it is."""

LEAST_ARROW_MM, HEAD_MM = 9.0, 3.4
"""Length of an arrow, at least, and of its head on paper, mm."""

MOST_LABEL_SHARE = 0.45
"""Share of a room that labels take, at most."""

LABEL_GAP_MM = 5.0
"""Between the picture and its labels, mm."""

CODE_SHARE, CODE_AT = 0.2, (0.62, 0.8)
"""Height of a code on a disc's face over its radius, and the places from the axis that are tried for it."""


@dataclass(frozen=True)
class StepLabel:
    """A label and the point that it is for, in the picture's own frame before scaling, mm."""

    text: str
    at: complex


@dataclass(frozen=True, eq=False)
class StepPicture:
    """What a step shows. before: parts that are there. new: what it adds, where it is drawn.

    labels: beside it. arrow: where the new parts come from and go to, in the picture's own frame, or None.
    joins: dashed lines between marks, each from the new one to the one below it, (2,). over: more lines.
    has_codes: discs have their codes on their faces; else the picture is of a whole machine.
    """

    before: Sequence[PicturedPart]
    new: Sequence[PicturedPart]
    labels: Sequence[StepLabel] = ()
    arrow: tuple[complex, complex] | None = None
    joins: Sequence[Points] = ()
    over: Scene = field(default_factory=Scene)
    has_codes: bool = True


JOIN = Stroke("ink", "outline", "dashed")
"""The line that joins a new zero mark to the one below it."""

ARROW = Stroke("ink", "bold")
"""An arrow that says how a part moves."""


def step_scene(picture: StepPicture, wide_mm: float, high_mm: float) -> Scene:
    """Return the drawing of a step in a room on paper, mm; its lower left corner is the origin."""
    new = [part.new for part in picture.new]
    style = replace(BEFORE, is_small=not picture.has_codes)
    bodies = scene(painted([*prisms_of(picture.before), *prisms_of(new)], style))
    own = bodies + scene(Path(line, JOIN) for line in picture.joins) + picture.over
    if picture.has_codes:
        own += scene(_codes([*picture.before, *new]))
    label = max([width_mm(one.text, LABEL_PT, bold=True) for one in picture.labels], default=0.0)
    label += LABEL_GAP_MM if label else 0.0
    aside = 8.0 if picture.arrow is not None else 1.0
    label = min(label, MOST_LABEL_SHARE * wide_mm)
    ends = [] if picture.arrow is None else [Path(np.array(picture.arrow), None)]
    box = (own + scene(ends)).bounds
    scale = min((wide_mm - label - aside) / box.wide, high_mm / box.high, MOST_SCALE)
    spare = complex(wide_mm - label - aside - scale * box.wide, high_mm - scale * box.high) / 2
    offset = aside + spare - scale * complex(box.left, box.bottom)
    drawn = own.placed(scale, offset)
    if picture.arrow is not None:
        drawn += arrow(*(point * scale + offset for point in picture.arrow))
    named = [PartLabel(one.text, "", one.at * scale + offset) for one in picture.labels]
    # labels stand beside what they name rather than at the edge of the room
    left = min(wide_mm - label + LABEL_GAP_MM, scale * box.right + offset.real + LABEL_GAP_MM)
    return drawn + labelled(named, left, wide_mm - left)


def arrow(start: complex, end: complex) -> Scene:
    """Return an arrow between two points on paper, mm."""
    way = (end - start) / abs(end - start)
    start = end - max(abs(end - start), LEAST_ARROW_MM) * way
    neck = end - HEAD_MM * way
    head = np.array([end, neck + 0.32j * HEAD_MM * way, neck - 0.32j * HEAD_MM * way])
    return scene(
        [
            Path(np.array([start, neck]), ARROW, name="arrow"),
            Path(head, None, closed=True, fill="ink", name="arrow"),
        ]
    )


def arrow_beside(parts: Sequence[PicturedPart], down_mm: float) -> tuple[complex, complex]:
    """Return the ends of an arrow that shows how parts go down, left of them, in the picture's own frame."""
    prisms = prisms_of(parts)
    corners = np.concatenate([seen(one.outline, one.bottom_mm) for one in prisms])
    left = corners[int(np.argmin(corners.real))]
    start = complex(left.real - 4.0, left.imag - 2.0)
    return start, start - 1j * max(down_mm, 1.0)


def edge_label(text: str, part: PicturedPart, above: Sequence[PicturedPart]) -> StepLabel:
    """Return a label at the right edge of a part, where it is seen; above: what is over it."""
    return StepLabel(text, visible_edge(part.prisms[0], prisms_of(above)))


def zero_mark(part: PicturedPart) -> tuple[complex, float] | None:
    """Return the outer end of a part's zero mark in plan, and its height, mm; None where it has none."""
    for prism in part.prisms:
        for name, line in prism.marks:
            if name == "zero mark":
                axis = prism.holes[0].mean() if prism.holes else 0j
                return complex(line[int(np.argmax(np.abs(line - axis)))]), prism.top_mm
    return None


def join_of(new: PicturedPart, below: PicturedPart) -> Points | None:
    """Return the line from a new zero mark down to the one below it, (2,) as seen; None without both."""
    upper, lower = zero_mark(new), zero_mark(below)
    if upper is None or lower is None:
        return None
    out = min(upper[0].real, lower[0].real)
    ends = (complex(out, upper[0].imag), upper[1]), (complex(out, lower[0].imag), lower[1])
    return np.array([seen_point(*end) for end in ends])


def _codes(parts: Sequence[PicturedPart]) -> Iterator[Mark]:
    """Yield the codes of discs on the fronts of their faces, where nothing is over them."""
    discs = [part for part in parts if part.role == "disc"]
    for part in discs:
        above = [one for one in prisms_of(parts) if one.bottom_mm >= part.prisms[0].top_mm - 0.01]
        yield from _code(part.code, part.prisms[0], above)


def _code(code: str, face: UprightPrism, above: Sequence[UprightPrism]) -> Iterator[Mark]:
    """Yield the strokes of a code on a face, none where they are hidden or have no glyphs."""
    axis = complex(face.holes[0].mean()) if face.holes else complex(face.outline.mean())
    front = _reach(face.outline - axis, -90.0)
    high = CODE_SHARE * front
    if not set(code) <= LETTERS:
        return
    half = complex(text_width(code) * high / 12.0, high / 2)
    tried = (axis - 1j * share * front for share in CODE_AT)
    middle = next((one for one in tried if not _is_covered(one, half, face.top_mm, above)), None)
    if middle is None:
        return
    line = Stroke("new" if face.is_new else "muted", "bold" if face.is_new else "outline")
    for stroke in text_strokes(code, high):
        yield Path(seen(middle + stroke, face.top_mm), line, name=f"code {code}")


def _is_covered(middle: complex, half: complex, z_mm: float, above: Sequence[UprightPrism]) -> bool:
    """Return whether anything hides a text on a face; half: half its width and height, mm."""
    places = [
        middle + complex(x * half.real, y * half.imag) for x in (-1, -0.5, 0, 0.5, 1) for y in (-1, 0, 1)
    ]
    return any(hides(one, seen_point(place, z_mm)) for one in above for place in places)


def _reach(outline: Points, direction_deg: float) -> float:
    """Return how far a contour reaches from the origin in a direction, degrees, mm."""
    turns = np.angle(outline * np.exp(-1j * np.radians(direction_deg)))
    return float(np.abs(outline[int(np.argmin(np.abs(turns)))]))


def hung(parts: Sequence[PicturedPart], up_mm: float) -> list[PicturedPart]:
    """Return parts lifted from their places, mm."""
    return [part.lifted(up_mm) for part in parts]
