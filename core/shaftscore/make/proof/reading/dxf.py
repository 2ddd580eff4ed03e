"""DXF drawings in mm: closed and open LWPOLYLINEs, and circles, on the layers of a part."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from shaftscore.make.proof.expected import CLOSED_LAYERS, OPEN_LAYERS
from shaftscore.make.proof.reading.contents import FileContents, read_bounded
from shaftscore.make.proof.reading.drawn import DrawnLine, DrawnPart
from shaftscore.make.proof.rim import RimError

MOST_BYTES = 1 << 20
"""Most bytes of a drawing that are read: that of a disc takes 0.03 MB."""

MOST_ENTITIES = 20_000
"""Most entities of all kinds: a fit coupon has 400 with those of its tables."""

_ZERO = re.compile(rb"^[ \t]*0[ \t]*\r?$", re.MULTILINE)
"""The code before the kind of an entity (and the value 0, of which there are few)."""

MILLIMETRES = 4
"""The DXF format's code for millimetres in $INSUNITS."""

UP = (0.0, 0.0, 1.0)
"""The extrusion vector of what is seen from the top; any other one mirrors or tilts a line."""

NAMED = 5
"""This many strays are named."""


def read_dxf(path: Path, code: str, most_parts: int = 1) -> FileContents:  # noqa: ARG001 - one part a file
    """Read a drawing; raises RimError if it is none, or is not in mm."""
    document = _document(path)
    if document.units != MILLIMETRES:
        raise RimError(f"{path.name}: its unit is {document.units}, not millimetres (4)")
    strays: list[str] = []
    lines: list[DrawnLine] = []
    try:
        for entity in document.modelspace():
            said = _stray(entity, document)
            if said:
                strays.append(said)
            else:
                lines.append(_line(entity))
    except RimError:
        raise
    except Exception as error:  # the library's own errors have no common base
        raise RimError(f"{path.name}: a line of it cannot be read: {error!r}") from error
    more = [f"{len(strays) - NAMED} more"] if len(strays) > NAMED else []
    return FileContents(path.name, {code: DrawnPart(lines, path.name)}, strays=(*strays[:NAMED], *more))


def _document(path: Path) -> Any:
    import ezdxf  # kept off the start-up path: three quarters of a second

    data = read_bounded(path, MOST_BYTES)
    if len(_ZERO.findall(data)) > MOST_ENTITIES:
        raise RimError(f"{path.name}: has over {MOST_ENTITIES:,} entities, the most that are read")
    try:
        return ezdxf.readfile(path)
    except OSError:
        raise
    except Exception as error:  # of a damaged file the library raises whatever happens to go wrong first
        raise RimError(f"{path.name}: is no DXF drawing that can be read: {error!r}") from error


def _stray(entity: Any, document: Any) -> str:
    """Describe what is wrong with an entity that is no line of ours; empty if it is one."""
    kind, layer = entity.dxftype(), str(entity.dxf.layer)
    if kind not in ("LWPOLYLINE", "CIRCLE") or layer not in (*CLOSED_LAYERS, *OPEN_LAYERS):
        return f"a {kind} on layer {layer} does not belong to the part"
    turned = tuple(entity.dxf.get("extrusion", UP))
    if not np.allclose(turned, UP, rtol=0, atol=1e-9):
        return f"a {kind} on layer {layer} is mirrored or tilted by its extrusion vector {turned}"
    return "".join(_hidden(entity, document, layer))


def _hidden(entity: Any, document: Any, layer: str) -> Iterator[str]:
    """Yield that a line is not shown, so that no machine would cut it."""
    drawn = document.layers.get(layer) if layer in document.layers else None
    if entity.dxf.get("invisible", 0) or (drawn is not None and (drawn.is_off() or drawn.is_frozen())):
        yield f"a {entity.dxftype()} on layer {layer} is hidden"


def _line(entity: Any) -> DrawnLine:
    """Read a line or a circle, which is a line of two half turns."""
    layer = str(entity.dxf.layer)
    if entity.dxftype() == "CIRCLE":
        centre, radius = complex(entity.dxf.center.x, entity.dxf.center.y), float(entity.dxf.radius)
        vertices, bulges = np.array([centre + radius, centre - radius]), np.ones(2)
        return DrawnLine(layer, vertices, bulges, closed=True)
    rows = np.array(list(entity.get_points("xyb")), np.float64).reshape(-1, 3)
    # Laid side by side, since a sum would warn of a vertex that is not finite.
    vertices = np.ascontiguousarray(rows[:, :2]).view(np.complex128).ravel()
    return DrawnLine(layer, vertices, rows[:, 2], bool(entity.closed))
