"""DXF of a part in plan view, in mm ($INSUNITS 4); layers and shapes are those of `make.drawing.plan_view`.

Closed lines are closed LWPOLYLINEs whose arcs are true arcs. Files carry no clock and no random id.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from shaftscore.make.drawing.plan_view import LAYERS, PlanLine, lines_of
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.solids import MadePart

MILLIMETRES = 4
"""The DXF format's code for millimetres in $INSUNITS."""

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


@contextmanager
def new_drawing(layers: Mapping[str, tuple[int, bool]]) -> Iterator[Any]:
    """Yield an empty drawing in mm; write it before the block ends, so that it has no clock and no random id.

    layers: colour in the format's index by name, and whether its lines are centre lines.
    """
    with _fixed_meta_data() as ezdxf:
        document = ezdxf.new("R2010", units=MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        _layers(document, layers)
        yield document


def written_drawing(document: Any) -> bytes:
    """Return a drawing as the bytes of its file."""
    text = io.StringIO(newline="\n")
    document.write(text)
    return text.getvalue().encode("utf-8")


@contextmanager
def _fixed_meta_data() -> Iterator[Any]:
    """Yield the DXF library, writing neither time stamps nor random ids while the block runs."""
    import ezdxf  # kept off the start-up path: three quarters of a second

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield ezdxf
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _layers(document: Any, layers: Mapping[str, tuple[int, bool]]) -> None:
    document.linetypes.add("CENTRE", pattern=[10.0, 6.0, -1.5, 1.0, -1.5], description="Centre ____ _ ____")
    for name, (colour, is_centre) in layers.items():
        document.layers.add(name, color=colour, linetype="CENTRE" if is_centre else "CONTINUOUS")


def _draw(space: Any, line: PlanLine) -> None:
    corners = [(v.real, v.imag, bulge) for v, bulge in zip(line.vertices, line.bulges, strict=True)]
    space.add_lwpolyline(corners, format="xyb", close=line.closed, dxfattribs={"layer": line.layer})
