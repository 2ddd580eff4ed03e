"""DXF of a disc in plan view, as seen from the top, in mm ($INSUNITS 4).

Layers: `cut` (contour and bore), `groove` (its flanks), `mark` (middle lines of what is engraved) and
`centre` (centre lines; the zero mark lies on the horizontal one). Curves are closed LWPOLYLINEs, arcs
true arcs. Shapes are nominal: corrections for a printer do not belong to a laser or a mill. Files carry
no clock and no random id.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from core.solids import DiscPart

MILLIMETRES = 4
"""The DXF format's code for millimetres in $INSUNITS."""

LAYERS = (("cut", 7), ("groove", 3), ("mark", 5), ("centre", 8))
"""Layer names and their colours in the format's index."""

OVERHANG_MM = 3.0
"""Centre lines reach this far past the contour."""


def dxf_bytes(part: DiscPart) -> bytes:
    """Draw a disc; same part, same bytes."""
    with _fixed_meta_data() as ezdxf:
        document = ezdxf.new("R2010", units=MILLIMETRES)
        document.header["$MEASUREMENT"] = 1
        _layers(document)
        _draw(document.modelspace(), part)
        text = io.StringIO(newline="\n")
        document.write(text)
    return text.getvalue().encode("utf-8")


@contextmanager
def _fixed_meta_data() -> Iterator[Any]:
    """Give the DXF library, writing neither time stamps nor random ids while the block runs."""
    import ezdxf  # kept off the start-up path: three quarters of a second

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield ezdxf
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _layers(document: Any) -> None:
    document.linetypes.add("CENTRE", pattern=[10.0, 6.0, -1.5, 1.0, -1.5], description="Centre ____ _ ____")
    for name, colour in LAYERS:
        document.layers.add(name, color=colour, linetype="CENTRE" if name == "centre" else "CONTINUOUS")


def _draw(space: Any, part: DiscPart) -> None:
    space.add_lwpolyline(part.outline.tolist(), close=True, dxfattribs={"layer": "cut"})
    for flank in (part.groove.inner, part.groove.outer) if part.groove else ():
        space.add_lwpolyline(flank.tolist(), close=True, dxfattribs={"layer": "groove"})
    _bore(space, part)
    for stroke in part.marks.strokes:
        space.add_lwpolyline([(point.real, point.imag) for point in stroke], dxfattribs={"layer": "mark"})
    reach = float(abs(part.outline).max()) + OVERHANG_MM
    for start, end in (((-reach, 0.0), (reach, 0.0)), ((0.0, -reach), (0.0, reach))):
        space.add_line(start, end, dxfattribs={"layer": "centre"})


def _bore(space: Any, part: DiscPart) -> None:
    points = [(v.real, v.imag, bulge) for v, bulge in zip(part.bore.vertices, part.bore.bulges, strict=True)]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "cut"})
