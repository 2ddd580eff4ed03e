"""DXF of a part in plan view, in mm ($INSUNITS 4); layers and shapes are those of `make.drawing.plan_view`.

Closed lines are closed LWPOLYLINEs whose arcs are true arcs. Files carry no clock and no random id.
"""

from __future__ import annotations

from typing import Any

from shaftscore.make.drawing.on_dxf import new_drawing, written_drawing
from shaftscore.make.drawing.plan_view import LAYERS, PlanLine, lines_of
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.solids import MadePart

COLOURS = {"cut": 7, "groove": 3, "mark": 5, "dog": 6, "step": 4, "centre": 8}
"""Colours of the layers in the format's index."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a drawing a part."""
    return [_planned(item) for item in order.items]


def _planned(item: OrderedPart) -> Planned:
    return Planned(f"{item.stem}.dxf", "dxf", (item,), lambda: dxf_bytes(item.part))


def dxf_bytes(part: MadePart) -> bytes:
    """Draw a part; same part, same bytes."""
    with new_drawing({name: (COLOURS[name], name == "centre") for name in LAYERS}) as document:
        for line in lines_of(part):
            _draw(document.modelspace(), line)
        return written_drawing(document)


def _draw(space: Any, line: PlanLine) -> None:
    corners = [(v.real, v.imag, bulge) for v, bulge in zip(line.vertices, line.bulges, strict=True)]
    space.add_lwpolyline(corners, format="xyb", close=line.closed, dxfattribs={"layer": line.layer})
