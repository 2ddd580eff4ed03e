"""The drilling templates as DXF at full size, mm: one file a plate, with dimensions and the table of holes.

Holes are true circles. Layers: OUTLINE, HOLE, SEAT, CENTRE, DIMENSION, SCALE and TABLE.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from shaftscore.layout.frame_plan import BOTH, FramePlan, PlateSide
from shaftscore.make.drawing.on_dxf import dxf_of
from shaftscore.make.drawing.scene import Text, scene
from shaftscore.make.drawing.template import HEAD, TEXT_PT, PlateTemplate, plate_template
from shaftscore.make.files.order import MakeOrder, Planned

COLOURS = {
    "OUTLINE": 7,
    "HOLE": 7,
    "SEAT": 3,
    "CENTRE": 8,
    "DIMENSION": 5,
    "SCALE": 1,
    "TABLE": 7,
}
"""Colours of the layers in the format's index."""

LINE_MM = 6.0
"""Distance of the lines of the table."""

COLUMNS_MM = (0.0, 18.0, 36.0, 54.0, 78.0)
"""Where the columns of the table begin."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a template a plate; none without a frame."""
    frame = order.frame
    if frame is None:
        return []
    return [
        Planned(template_name(side), "dxf", (), partial(template_bytes, frame, side), whole=True, always=True)
        for side in BOTH
    ]


def template_name(side: PlateSide) -> str:
    """Return the file name of a plate's template."""
    return f"drill_template_{side}.dxf"


def template_bytes(frame: FramePlan, side: PlateSide) -> bytes:
    """Draw a plate's template; same frame, same bytes."""
    template = plate_template(frame, side)
    marks = [replace(mark, name=mark.name.upper() or "SCALE") for mark in template.scene.marks]
    table = [Text(at, cell, TEXT_PT, name="TABLE") for cell, at in _cells(template)]
    return dxf_of(scene([*marks, *table]), COLOURS)


def _cells(template: PlateTemplate) -> Iterator[tuple[str, complex]]:
    """Yield the texts of the table, right of the plate, and the notes below it, with their places."""
    left, y = template.high.real + 10.0, template.high.imag - LINE_MM
    for row in ((template.name,), HEAD, *template.rows):
        for column, cell in zip(COLUMNS_MM, row, strict=False):
            yield cell, complex(left + column, y)
        y -= LINE_MM
    for note in template.notes:
        y -= LINE_MM
        yield note, complex(left, y)
