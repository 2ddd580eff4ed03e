"""Wrong files: bytes of good ones changed by libraries other than those that wrote them, in one way each.

Solids are changed corner by corner, drawings line by line, build items by their text.
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
from lxml import etree

Corners = np.ndarray
"""Corners of a body, (n, 3), mm."""

Change = Callable[[Corners], Corners]

BORE_MM, DOGS_MM = 7.0, 16.0
"""Bore and dogs of the machine lie within these radii, its rim beyond the second."""


def turn(corners: Corners, degrees: float) -> Corners:
    angle = np.radians(degrees)
    x, y = corners[:, 0], corners[:, 1]
    turned = [x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)]
    return np.column_stack([*turned, *corners.T[2:]])


def within(radius_mm: float, change: Change, least_mm: float = 0.0) -> Change:
    """Change the corners between two radii only."""

    def changed(corners: Corners) -> Corners:
        radius = np.hypot(corners[:, 0], corners[:, 1])
        chosen = (radius < radius_mm) & (radius >= least_mm)
        return np.where(chosen[:, None], change(corners), corners)

    return changed


def scaled(x: float = 1.0, y: float = 1.0, z: float = 1.0) -> Change:
    return lambda corners: corners * np.array([x, y, z])[: corners.shape[1]]


def moved(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Change:
    return lambda corners: corners + np.array([x, y, z])[: corners.shape[1]]


PLAN: dict[str, Change] = {
    "bore x 1.1": within(BORE_MM, scaled(1.1, 1.1)),
    "bore turned by 5°": within(BORE_MM, lambda corners: turn(corners, 5.0)),
    "dogs turned by 5°": within(DOGS_MM, lambda corners: turn(corners, 5.0), BORE_MM),
    "bore and dogs turned by 5°": within(DOGS_MM, lambda corners: turn(corners, 5.0)),
    "bore off centre by 0.05 mm": within(BORE_MM, moved(0.05)),
    "rim x 1.002": within(99.0, scaled(1.002, 1.002), DOGS_MM),
    "x 10": scaled(10.0, 10.0, 10.0),
    "x 1/25.4": scaled(1 / 25.4, 1 / 25.4, 1 / 25.4),
    "turned by 1°": lambda corners: turn(corners, 1.0),
    "moved by 0.1 mm": moved(0.1),
}
"""Changes that a solid and a drawing can have."""

HEIGHTS: dict[str, Change] = {
    "thickness x 0.5": scaled(z=0.5),
    "thickness x 2": scaled(z=2.0),
    "raised by 1 mm": moved(z=1.0),
    "upside down": lambda corners: corners * [1, -1, -1] + [0, 0, corners[:, 2].max()],
    "pegs higher by 0.2 mm": lambda corners: (
        corners + np.outer(corners[:, 2] > np.unique(corners[:, 2].round(3))[-2] + 0.1, [0, 0, 0.2])
    ),
}
"""Changes that only a solid can have."""

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def changed_stl(change: Change, *, flip: bool = False) -> Callable[[bytes], bytes]:
    """Change the corners of an STL file; flip: run round every triangle the other way."""

    def tamper(data: bytes) -> bytes:
        records = np.frombuffer(data, RECORD, offset=84).copy()
        corners = change(records["corners"].reshape(-1, 3).astype(float)).reshape(-1, 3, 3)
        records["corners"] = corners[:, ::-1] if flip else corners
        return data[:84] + records.tobytes()

    return tamper


def second_body(data: bytes) -> bytes:
    """Put a small block, of eight corners, beside the part."""
    records = np.frombuffer(data, RECORD, offset=84)
    corner = np.array([[x, y, z] for x in (60, 62) for y in (0, 2) for z in (0, 5)], float)
    faces = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6)]
    faces += [(0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)]
    more = np.zeros(len(faces), RECORD)
    more["corners"] = corner[np.array(faces)]
    return data[:80] + struct.pack("<I", len(records) + len(more)) + data[84:] + more.tobytes()


MODEL = "3D/3dmodel.model"


def rewritten(change: Callable[[str], str]) -> Callable[[bytes], bytes]:
    """Change the text of a 3MF file's model."""

    def tamper(data: bytes) -> bytes:
        made = io.BytesIO()
        with (
            zipfile.ZipFile(io.BytesIO(data)) as old,
            zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new,
        ):
            for name in old.namelist():
                text = old.read(name)
                new.writestr(name, change(text.decode()).encode() if name == MODEL else text)
        return made.getvalue()

    return tamper


def changed_3mf(part: str, change: Change) -> Callable[[bytes], bytes]:
    """Change the corners of one part's mesh."""
    vertex = re.compile(r'<vertex x="([^"]*)" y="([^"]*)" z="([^"]*)"')

    def tamper(text: str) -> str:
        start = text.index(f'partnumber="{part}"')
        end = text.index("</vertices>", start)
        found = vertex.findall(text[start:end])
        corners = iter(change(np.array(found, float)).tolist())
        new = vertex.sub(
            lambda _: '<vertex x="{:.6f}" y="{:.6f}" z="{:.6f}"'.format(*next(corners)), text[start:end]
        )
        return text[:start] + new + text[end:]

    return rewritten(tamper)


def changed_build(place: int, change: Callable[[np.ndarray], np.ndarray]) -> Callable[[bytes], bytes]:
    """Change the transform, (4, 3), of one item to build."""

    def tamper(text: str) -> str:
        item = list(re.finditer(r"<item [^>]*/>", text))[place]
        words = re.search(r'transform="([^"]*)"', item[0])
        rows = np.eye(4, 3) if words is None else np.array(words[1].split(), float).reshape(4, 3)
        written = " ".join(f"{value:.6f}" for value in change(rows).ravel())
        bare = re.sub(r'\s*transform="[^"]*"', "", item[0])
        return (
            text[: item.start()]
            + bare.replace("<item ", f'<item transform="{written}" ')
            + text[item.end() :]
        )

    return rewritten(tamper)


def without_item(text: str) -> str:
    return re.sub(r"<item [^>]*/>", "", text, count=1)


def item_twice(text: str) -> str:
    """Build one part once more, far away."""
    item = re.search(r"<item [^>]*/>", text)
    assert item is not None
    bare = re.sub(r'\s*(p:UUID|transform)="[^"]*"', "", item[0])
    return text.replace(
        item[0], item[0] + bare.replace("<item ", '<item transform="1 0 0 0 1 0 0 0 1 900 900 0" ')
    )


def turned_rows(rows: np.ndarray) -> np.ndarray:
    """Turn by the angle whose tangent is 3/4 about z."""
    return np.vstack([[[0.8, 0.6, 0], [-0.6, 0.8, 0], [0, 0, 1]], rows[3:]])


def times(x: float, y: float, z: float) -> Callable[[np.ndarray], np.ndarray]:
    return lambda rows: np.vstack([np.diag([x, y, z]), rows[3:]])


BUILDS: dict[str, Callable[[bytes], bytes]] = {
    "a copy mirrored": changed_build(0, times(-1, 1, 1)),
    "a copy x 10": changed_build(0, times(10, 10, 10)),
    "a copy x 1.001": changed_build(0, times(1.001, 1.001, 1.001)),
    "a copy turned by 37°": changed_build(0, turned_rows),
    "a copy upside down": changed_build(0, times(1, -1, -1)),
    "a copy raised": changed_build(0, lambda rows: rows + np.vstack([np.zeros((3, 3)), [0, 0, 1]])),
    "copies laid on one another": rewritten(
        lambda text: re.sub(r'transform="[^"]*"', 'transform="1 0 0 0 1 0 0 0 1 60 60 0"', text)
    ),
    "a copy removed": rewritten(without_item),
    "a copy more": rewritten(item_twice),
    "unit inch": rewritten(lambda text: text.replace('unit="millimeter"', 'unit="inch"')),
}


def changed_dxf(change: Callable[[ezdxf.document.Drawing], object]) -> Callable[[bytes], bytes]:
    """Change a drawing through the library."""

    def tamper(data: bytes) -> bytes:
        document = ezdxf.read(io.StringIO(data.decode()))
        change(document)
        text = io.StringIO()
        document.write(text)
        return text.getvalue().encode()

    return tamper


def _lines(document: ezdxf.document.Drawing) -> list:
    return list(document.modelspace().query("LWPOLYLINE"))


def moved_dxf(change: Change) -> Callable[[bytes], bytes]:
    """Change the corners of all lines but the centre lines."""

    def tamper(document: ezdxf.document.Drawing) -> None:
        for line in _lines(document):
            if line.dxf.layer != "centre":
                rows = np.array(line.get_points("xyb"))
                rows[:, :2] = change(rows[:, :2])
                line.set_points(rows.tolist(), format="xyb")

    return changed_dxf(tamper)


def extruded(document: ezdxf.document.Drawing) -> None:
    for line in _lines(document):
        line.dxf.extrusion = (0, 0, -1)


def mirrored_lines(document: ezdxf.document.Drawing) -> None:
    """Mirror by the corners themselves: bulges change their sign."""
    for line in _lines(document):
        line.set_points([(x, -y, -bulge) for x, y, bulge in line.get_points("xyb")], format="xyb")


def as_block(document: ezdxf.document.Drawing) -> None:
    """Put all lines into a block that is inserted ten times as large."""
    block = document.blocks.new("ALL")
    for line in _lines(document):
        block.add_entity(line.copy())
        document.modelspace().delete_entity(line)
    document.modelspace().add_blockref("ALL", (0, 0), dxfattribs={"xscale": 10, "yscale": 10})


def _add(
    layer: str, *corners: tuple[float, float], close: bool = False
) -> Callable[[ezdxf.document.Drawing], object]:
    return lambda document: document.modelspace().add_lwpolyline(
        corners, close=close, dxfattribs={"layer": layer}
    )


def _drop(layer: str) -> Callable[[ezdxf.document.Drawing], object]:
    def tamper(document: ezdxf.document.Drawing) -> None:
        line = next(line for line in _lines(document) if line.dxf.layer == layer)
        document.modelspace().delete_entity(line)

    return tamper


DRAWINGS: dict[str, Callable[[bytes], bytes]] = {
    "mirrored by its extrusion vector": changed_dxf(extruded),
    "mirrored by its corners": changed_dxf(mirrored_lines),
    "all in a block x 10": changed_dxf(as_block),
    "a line more on layer cut": changed_dxf(
        lambda document: document.modelspace().add_line((0, 9), (9, 9), dxfattribs={"layer": "cut"})
    ),
    "an open line more on layer cut": changed_dxf(_add("cut", (0, 9), (9, 9))),
    "a closed line more on layer cut": changed_dxf(_add("cut", (8, 8), (9, 8), (9, 9), close=True)),
    "a circle more on layer cut": changed_dxf(
        lambda document: document.modelspace().add_circle((9, 9), 1, dxfattribs={"layer": "cut"})
    ),
    "a text on layer cut": changed_dxf(
        lambda document: document.modelspace().add_text("A", dxfattribs={"layer": "cut"})
    ),
    "a line on a layer of its own": changed_dxf(_add("other", (0, 9), (9, 9))),
    "a stroke more on layer mark": changed_dxf(_add("mark", (-15, 9), (-9, 15))),
    "a closed line less on layer cut": changed_dxf(_drop("cut")),
    "a peg less": changed_dxf(_drop("dog")),
    "a mark less": changed_dxf(_drop("mark")),
    "a centre line less": changed_dxf(_drop("centre")),
    "unit inch": changed_dxf(lambda document: setattr(document, "units", 1)),
    "layer cut off": changed_dxf(lambda document: document.layers.get("cut").off()),
}


def changed_svg(change: Callable[[etree._Element], object]) -> Callable[[bytes], bytes]:
    def tamper(data: bytes) -> bytes:
        root = etree.fromstring(data)
        change(root)
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8")

    return tamper


SVG = "{http://www.w3.org/2000/svg}"


def _group(root: etree._Element, layer: str) -> etree._Element:
    return next(group for group in root.iter(f"{SVG}g") if group.get("id") == layer)


def moved_svg(change: Change) -> Callable[[bytes], bytes]:
    """Change the ends of all pieces but centre lines and bar; radii grow as the part does."""
    word = re.compile(r"([MLA])([^MLAZ]*)")

    def moved_word(found: re.Match[str]) -> str:
        numbers = [float(number) for number in found[2].split()]
        x, y = change(np.array([[numbers[-2], -numbers[-1]]]))[0]
        if found[1] == "A":
            ends = change(np.array([[numbers[-2], -numbers[-1]], [numbers[-2] + 1e-4, -numbers[-1]]]))
            numbers[:2] = [number * np.hypot(*(ends[1] - ends[0])) * 1e4 for number in numbers[:2]]
            numbers[2:5] = [int(number) for number in numbers[2:5]]
        return (
            found[1]
            + " ".join(f"{number:.5f}".rstrip("0").rstrip(".") for number in [*numbers[:-2], x, -y])
            + " "
        )

    def tamper(root: etree._Element) -> None:
        for layer in ("cut", "dog", "mark"):
            for path in _group(root, layer):
                path.set("d", word.sub(moved_word, path.get("d")).strip())

    return changed_svg(tamper)


def mirrored_paths(root: etree._Element) -> None:
    """Mirror every path: y changes its sign, and arcs run the other way round."""
    word = re.compile(r"([MLA])([^MLAZ]*)")

    def back(found: re.Match[str]) -> str:
        numbers = found[2].split()
        numbers[-1] = f"{-float(numbers[-1]):.5f}"
        if found[1] == "A":
            numbers[4] = str(1 - int(numbers[4]))
        return found[1] + " ".join(numbers) + " "

    for layer in ("cut", "dog", "mark"):
        for path in _group(root, layer):
            path.set("d", word.sub(back, path.get("d")).strip())


def _more(layer: str, data: str) -> Callable[[bytes], bytes]:
    return changed_svg(lambda root: etree.SubElement(_group(root, layer), f"{SVG}path", d=data))


def _set(layer: str, name: str, value: str) -> Callable[[bytes], bytes]:
    return changed_svg(lambda root: (_group(root, layer) if layer else root).set(name, value))


def _less(layer: str) -> Callable[[bytes], bytes]:
    return changed_svg(lambda root: _group(root, layer).remove(_group(root, layer)[0]))


PICTURES: dict[str, Callable[[bytes], bytes]] = {
    "mirrored by its paths": changed_svg(mirrored_paths),
    "mirrored by a transform": _set("cut", "transform", "scale(-1 1)"),
    "all x 10 by its size": changed_svg(
        lambda root: [
            root.set(side, f"{10 * float(root.get(side)[:-2]):g}mm") for side in ("width", "height")
        ]
    ),
    "unit inch": changed_svg(
        lambda root: [root.set(s, root.get(s)[:-2] + "in") for s in ("width", "height")]
    ),
    "hidden": _set("cut", "display", "none"),
    "an open line more on layer cut": _more("cut", "M0 9 L9 9"),
    "a closed line more on layer cut": _more("cut", "M8 8 L9 8 L9 9Z"),
    "a curve on layer cut": _more("cut", "M8 8 C9 8 9 9 8 9Z"),
    "another element on layer cut": changed_svg(
        lambda root: etree.SubElement(_group(root, "cut"), f"{SVG}circle", r="3")
    ),
    "a stroke more on layer mark": _more("mark", "M-15 -9 L-9 -15"),
    "a closed line less on layer cut": _less("cut"),
    "a peg less": _less("dog"),
    "a mark less": _less("mark"),
    "a centre line less": _less("centre"),
    "a bar of another length": changed_svg(
        lambda root: _group(root, "scale")[0].set("d", _group(root, "scale")[0].get("d").replace("25", "30"))
    ),
}


def read_manifest_bytes(folder: Path) -> bytes:
    return (folder / "manifest.json").read_bytes()
