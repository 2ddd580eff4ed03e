"""The plan view of a part as lines, for every format that draws: as seen from the top, mm.

Layers: `cut` (contour and bore), `groove` (its flanks), `mark` (middle lines of what is engraved), `dog`
(pegs, for what is pressed in or milled), `step` (edges of
what stands on the part or is cut to a depth) and `centre` (centre lines; the zero mark lies on the horizontal
one). Shapes are nominal: corrections for a printer do not belong to a laser or a mill.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.make.solids import MadePart
from shaftscore.stack import BulgePath

LAYERS = ("cut", "groove", "mark", "dog", "step", "centre")
"""Layers in the order in which they are drawn."""

OVERHANG_MM = 3.0
"""Centre lines reach this far past the contour."""


@dataclass(frozen=True)
class PlanLine:
    """A line of straight pieces and arcs: complex vertices (mm), the bulge after each, closed or not."""

    layer: str
    vertices: tuple[complex, ...]
    bulges: tuple[float, ...]
    closed: bool


def lines_of(part: MadePart) -> Iterator[PlanLine]:
    """Yield all lines of a part's drawing."""
    closed: dict[str, tuple[BulgePath, ...]] = {"cut": (part.contour, *part.holes)}
    if part.groove is not None:
        closed["groove"] = (part.groove.inner_path, part.groove.outer_path)
    if part.dogs is not None:
        closed["dog"] = part.dogs.pegs
    closed["step"] = tuple(body.path for body in (*part.raised, *part.sunk))
    for layer, paths in closed.items():
        yield from (PlanLine(layer, path.vertices, path.bulges, closed=True) for path in paths)
    for stroke in part.marks.strokes:
        yield PlanLine("mark", tuple(map(complex, stroke)), (0.0,) * len(stroke), closed=False)
    reach = reach_mm(part) + OVERHANG_MM
    for end in (complex(reach, 0), complex(0, reach)):
        yield PlanLine("centre", (-end, end), (0.0, 0.0), closed=False)


def reach_mm(part: MadePart) -> float:
    """Largest distance of the contour's corners from the axis along x or y, mm."""
    return float(np.abs(part.outline).max())
