"""Scenes as DXF files in mm: every line on the layer of its name, true circles, texts; no faces.

Fills are left out, since what opens a DXF draws lines; patterns are lines on the layer `pattern`. What has
no name of its own is on the layer `lines`, texts without one are on `text`. Files carry no clock and no
random id.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from shaftscore.make.drawing.fonts import POINT_MM
from shaftscore.make.drawing.hatch import SPACING_PT, hatch_lines
from shaftscore.make.drawing.scene import Corners, Path, Scene, Text

MILLIMETRES = 4
"""The DXF format's code for millimetres in $INSUNITS."""

CAPITALS = 0.72
"""Height of capitals over the size of letters: the format states that height."""

BLACK, GREY = 7, 8
"""Colours in the format's index."""

LINES, TEXTS, PATTERNS = "lines", "text", "pattern"
"""Layers of what has no name of its own."""


def dxf_of(scene: Scene, colours: Mapping[str, int] = {}) -> bytes:
    """Return a drawing as a file; colours: by layer, in the format's index, black where it says none."""
    layers = {_layer(path): (colours.get(_layer(path), BLACK), _is_centre(path)) for path in scene.paths}
    texts = {one.name or TEXTS: (colours.get(one.name or TEXTS, BLACK), False) for one in scene.texts}
    used = {PATTERNS: (GREY, False), **texts, **layers}
    with new_drawing(used) as document:
        space = document.modelspace()
        for mark in scene.marks:
            if isinstance(mark, Text):
                _write(space, mark)
            else:
                _draw(space, mark)
        return written_drawing(document)


def _layer(path: Path) -> str:
    return path.name or LINES


def _is_centre(path: Path) -> bool:
    return path.stroke is not None and path.stroke.dash != "solid"


def _draw(space: Any, path: Path) -> None:
    for start, end in hatch_lines(path, SPACING_PT * POINT_MM):
        space.add_line((start.real, start.imag), (end.real, end.imag), dxfattribs={"layer": PATTERNS})
    if path.stroke is None:
        return
    look = {"layer": _layer(path)}
    if path.radius is not None:
        space.add_circle((path.middle.real, path.middle.imag), path.radius, dxfattribs=look)
        return
    for contour in (path.corners, *path.holes):
        space.add_lwpolyline(_pairs(contour), close=path.closed, dxfattribs=look)


def _pairs(corners: Corners) -> list[tuple[float, float]]:
    return [(corner.real, corner.imag) for corner in corners.tolist()]


def _write(space: Any, text: Text) -> None:
    from ezdxf.enums import TextEntityAlignment  # kept off the start-up path, as all of the library

    align = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[text.anchor]
    high = text.size_pt * POINT_MM * CAPITALS
    entity = space.add_text(
        text.text, height=high, rotation=text.turned_deg, dxfattribs={"layer": text.name or TEXTS}
    )
    entity.set_placement((text.at.real, text.at.imag), align=align)


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
    for kind in sorted(document.entitydb.dxf_types_in_use()):  # else in the order of a set, by chance
        document.classes.add_class(kind)
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
