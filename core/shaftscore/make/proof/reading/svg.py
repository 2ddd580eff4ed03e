"""SVG drawings at true size: paths of straight lines and circular arcs in groups that are layers.

Only what the exporter writes is read; whatever else could move, scale, hide or add a line is named.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from shaftscore.make.proof.expected import CLOSED_LAYERS, OPEN_LAYERS
from shaftscore.make.proof.reading.contents import FileContents, read_bounded
from shaftscore.make.proof.reading.drawn import DrawnLine, DrawnPart
from shaftscore.make.proof.rim import RimError

MOST_BYTES = 1 << 20
"""Most bytes of a drawing that are read: that of a disc takes 0.03 MB."""

SPACE = "{http://www.w3.org/2000/svg}"

KNOWN: dict[str, frozenset[str]] = {
    "svg": frozenset({"width", "height", "viewBox"}),
    "title": frozenset(),
    "g": frozenset({"id", "fill", "stroke", "stroke-width", "stroke-dasharray"}),
    "path": frozenset({"d"}),
}
"""Elements of our drawings and their attributes."""

SCALE, BAR_MM = "scale", 50.0
"""The group beside the part, and the length of its first line."""

SAME_MM = 1e-4
"""Sizes that differ by less are equal."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_WORDS = re.compile(r"([MLAZ])([^A-Za-z]*)")
_COUNTS = {"M": 2, "L": 2, "A": 7, "Z": 0}
_NAMED = 5


def read_svg(path: Path, code: str, most_parts: int = 1) -> FileContents:  # noqa: ARG001 - one part a file
    """Read a drawing; raises RimError if it is none, or not drawn at its true size."""
    root = _root(path)
    _refuse_scaled(root, path.name)
    strays = list(dict.fromkeys(_strays(root)))
    groups = [group for group in root if group.tag == f"{SPACE}g"]
    lines = [line for group in groups for line in _lines(group, path.name)]
    bars = [line for line in lines if line.layer == SCALE]
    if not bars or abs(bars[0].length_mm - BAR_MM) > SAME_MM:
        strays.append(f"the bar beside the part is not {BAR_MM:g} mm long")
    more = [f"{len(strays) - _NAMED} more"] if len(strays) > _NAMED else []
    drawn = [line for line in lines if line.layer != SCALE]
    return FileContents(path.name, {code: DrawnPart(drawn, path.name)}, strays=(*strays[:_NAMED], *more))


def _root(path: Path) -> ElementTree.Element:
    """Read the XML; entities, which can grow without bound, are refused before."""
    data = read_bounded(path, MOST_BYTES)
    if b"<!" in data.replace(b"<!--", b""):
        raise RimError(
            f"{path.name}: it holds a document type or a CDATA section, which no drawing of ours does"
        )
    try:
        root = ElementTree.fromstring(data)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise RimError(f"{path.name}: is no SVG drawing that can be read: {error}") from error
    if root.tag != f"{SPACE}svg":
        raise RimError(f"{path.name}: is no SVG drawing, its root is {root.tag[:60]}")
    return root


def _refuse_scaled(root: ElementTree.Element, name: str) -> None:
    """Raise RimError unless one unit of the drawing is one millimetre."""
    try:
        box = [float(word) for word in root.get("viewBox", "").split()]
        sizes = [_millimetres(root.get(side, "")) for side in ("width", "height")]
    except ValueError as error:
        raise RimError(f"{name}: its size cannot be read: {error}") from error
    if len(box) != 4 or not all(abs(a - b) <= SAME_MM for a, b in zip(box[2:], sizes, strict=True)):
        raise RimError(f"{name}: it is not drawn at its true size: {sizes} mm show {box[2:]} units")


def _millimetres(text: str) -> float:
    if not text.endswith("mm"):
        raise ValueError(f"{text[:40]!r} is no size in mm")
    return float(text[:-2])


def _strays(root: ElementTree.Element) -> Iterator[str]:
    """Yield what does not belong to a drawing of ours."""
    layers = {*CLOSED_LAYERS, *OPEN_LAYERS, SCALE}
    places = {"svg": "", "title": "svg", "g": "svg", "path": "g"}
    for parent, element in _walk(root):
        kind = element.tag.removeprefix(SPACE) if isinstance(element.tag, str) else "instruction"
        if places.get(kind) != parent:
            yield f"an element {kind[:40]} in {parent or 'the file'} does not belong to the part"
        for name in element.attrib:
            if name not in KNOWN.get(kind, ()):
                yield f"attribute {name[:40]} of {kind[:40]} can move or hide lines"
        if kind == "g" and element.get("id") not in layers:
            yield f"group {str(element.get('id'))[:40]} does not belong to the part"


def _walk(root: ElementTree.Element) -> Iterator[tuple[str, ElementTree.Element]]:
    """Yield every element with the kind of the one around it."""
    waiting = [("", root)]
    while waiting:
        parent, element = waiting.pop()
        yield parent, element
        kind = element.tag.removeprefix(SPACE) if isinstance(element.tag, str) else ""
        waiting += [(kind, child) for child in reversed(element)]


def _lines(group: ElementTree.Element, name: str) -> Iterator[DrawnLine]:
    layer = str(group.get("id"))
    for element in group:
        if element.tag == f"{SPACE}path":
            yield _line(element.get("d", ""), layer, name)


def _line(text: str, layer: str, name: str) -> DrawnLine:
    """Read the data of one path: M, then L or A, and Z at the end of a closed one; y points down."""
    words = _WORDS.findall(text)
    if "".join(word + rest for word, rest in words) != text or not words or words[0][0] != "M":
        raise RimError(f"{name}: path {text[:40]!r} is not of lines and arcs")
    closed = words[-1][0] == "Z"
    vertices: list[complex] = []
    bulges: list[float] = []
    for place, (word, rest) in enumerate(words[: len(words) - closed]):
        numbers = [float(number) for number in _NUMBER.findall(rest)]
        foreign = _NUMBER.sub("", rest).strip(" ,\n") or word == "Z"
        if foreign or len(numbers) != _COUNTS[word] or (word == "M") != (place == 0):
            raise RimError(f"{name}: path {text[:40]!r} is not of lines and arcs")
        end = complex(numbers[-2], -numbers[-1])
        bulges += [0.0] if word == "L" else []
        bulges += [_bulge(vertices[-1], end, numbers, name)] if word == "A" else []
        vertices.append(end)
    return DrawnLine(layer, np.array(vertices), np.array([*bulges, 0.0]), closed)


def _bulge(start: complex, end: complex, numbers: list[float], name: str) -> float:
    """Return the bulge of an arc (rx, ry, rotation, large, sweep, end); a sweep of 1 is clockwise here."""
    radius, other, _, large, sweep = numbers[:5]
    if radius != other or not 0 < radius < math.inf or {large, sweep} - {0.0, 1.0}:
        raise RimError(f"{name}: an arc of it is not circular")
    half = math.asin(min(1.0, abs(end - start) / (2 * radius)))
    angle = 2 * (math.pi - half) if large else 2 * half
    return math.tan(angle / 4) * (-1 if sweep else 1)
