"""3MF (ISO/IEC 25422): all parts in one file on build plates, and all of them as they are assembled.

Each part is one mesh object with its name and, as part number, its code; spacers are one object that is
built several times. Plates lie side by side along x. Units are millimetres. Ids are made from the
parts' hashes, and there is no clock: same parts, same bytes.
"""

from __future__ import annotations

import ctypes
import uuid
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from shaftscore.make.files.names import file_stem
from shaftscore.make.files.order import Item, Order, Planned
from shaftscore.make.files.plates import lay_out
from shaftscore.make.proof import Rim, RimError, rim_of_triangles
from shaftscore.model import Project
from shaftscore.stack import stack_plan

NAMESPACE = uuid.UUID("6f1c1f0e-5d0b-5a53-9a6e-8f3f1c0b7a21")
"""Names of ours live under this id (version 5 of RFC 9562)."""

LEAST_ROOM, ROOM_A_LINE = 1 << 20, 400
"""A 3MF file may unpack to this many bytes, and as many more for each corner and triangle of its parts."""

MOST_ENTRIES = 100
"""Most files in a 3MF file; ours have four."""

_ARCHIVE_ERRORS = (
    zipfile.BadZipFile,
    zlib.error,
    NotImplementedError,
    RuntimeError,
    EOFError,
    ValueError,
    OSError,
)
"""What zipfile says of a damaged archive: also NotImplementedError of ways of packing that it does not know,
RuntimeError of passwords, OSError of an entry that would begin before the file does."""

PLATE_GAP_MM = 20.0
"""Distance between plates, and between stacks that are shown assembled."""


@dataclass(frozen=True)
class Placed:
    """One build of an item, moved by (x, y, z) mm."""

    item: Item
    at: tuple[float, float, float]


def plan(order: Order) -> list[Planned]:
    """Plan the file of plates and that of the assembly."""
    name = order.report.project.name
    plates = on_plates(order) if order.to_make else on_plates(replace(order, fresh=None))
    return [
        _planned(f"{file_stem('plates', name)}.3mf", order, plates),
        _planned(f"{file_stem('assembled', name)}.3mf", order, assembled(order)),
    ]


def _planned(name: str, order: Order, placed: Sequence[Placed]) -> Planned:
    title = order.report.project.name
    items = tuple(dict.fromkeys(place.item for place in placed))

    def rims(path: Path) -> Iterable[tuple[Item, Rim]]:
        return read_rims(path, items)

    return Planned(name, "3mf", items, lambda: threemf_bytes(title, placed), rims, corrected=True, whole=True)


def on_plates(order: Order) -> list[Placed]:
    """Lay the parts that have to be made out on plates of the project's bed; coupons on plates of their own.

    Coupons come first: they are printed before all else, so that the clearance can still be changed.
    """
    copies = [item for item in order.to_make for _ in range(item.part.count)]
    coupons = [item for item in copies if item.part.kind == "coupon"]
    first = _laid(order, coupons, 0)
    pitch = order.report.project.print.bed_x_mm + PLATE_GAP_MM
    plates = 1 + max((int(place.at[0] // pitch) for place in first), default=-1)
    return first + _laid(order, [item for item in copies if item.part.kind != "coupon"], plates)


def _laid(order: Order, copies: Sequence[Item], plate: int) -> list[Placed]:
    """Lay copies out on plates, the first of them number `plate`."""
    boxes = [(item.part.outline.min(axis=0), item.part.outline.max(axis=0)) for item in copies]
    bed = order.report.project.print
    spots = lay_out([tuple(map(float, high - low)) for low, high in boxes], (bed.bed_x_mm, bed.bed_y_mm))  # type: ignore[misc]
    return [
        Placed(
            item,
            (
                (plate + spot.plate) * (bed.bed_x_mm + PLATE_GAP_MM) + spot.x_mm - float(low[0]),
                spot.y_mm - float(low[1]),
                0.0,
            ),
        )
        for item, (low, _), spot in zip(copies, boxes, spots, strict=True)
    ]


def assembled(order: Order) -> list[Placed]:
    """Put all parts where they lie on their shafts at angle 0; stacks stand side by side along x."""
    project = order.report.project
    placed: list[Placed] = []
    x = 0.0
    for stack in project.stacks:
        own = {item.part.lane_id: item for item in order.of_stack(stack.id)}
        radius = max((float(np.hypot(*item.part.outline.T).max()) for item in own.values()), default=0.0)
        x += radius if placed else 0.0
        placed += [
            Placed(own[layer.lane_id], (x, 0.0, layer.bottom_mm))
            for layer in stack_plan(project, stack).layers
            if layer.lane_id in own
        ]
        x += radius + PLATE_GAP_MM
    return placed


def threemf_bytes(title: str, placed: Sequence[Placed]) -> bytes:
    """Write placed parts as a 3MF file."""
    import lib3mf  # kept off the start-up path

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    details = model.GetMetaDataGroup()
    for name, value in (("Title", title), ("Application", "Shaftscore")):
        details.AddMetaData("", name, value, "xs:string", True)
    objects = {item: _object(lib3mf, model, item) for item in dict.fromkeys(place.item for place in placed)}
    for number, place in enumerate(placed):
        built = model.AddBuildItem(objects[place.item], _moved(lib3mf, place.at))
        built.SetPartNumber(place.item.part.code)
        built.SetUUID(_id(f"build {number} {place.item.part.hash}"))
    model.SetBuildUUID(_id(" ".join(place.item.part.hash for place in placed)))
    return bytes(model.QueryWriter("3mf").WriteToBuffer())


def _id(text: str) -> str:
    return str(uuid.uuid5(NAMESPACE, text))


def _object(lib3mf: Any, model: Any, item: Item) -> Any:
    """Add an item's mesh to a model."""
    mesh = model.AddMeshObject()
    mesh.SetName(f"{item.part.code} {item.part.label}".strip())
    mesh.SetPartNumber(item.part.code)
    mesh.SetUUID(_id(f"{item.part.code} {item.part.hash}"))
    mesh.SetGeometry(
        _structures(lib3mf.Position, item.body.corners.astype("<f4")),
        _structures(lib3mf.Triangle, item.body.triangles.astype("<u4")),
    )
    return mesh


def _structures(kind: Any, rows: npt.NDArray[Any]) -> Any:
    """Return the rows of an array as an array of the library's structures of the same layout."""
    return (kind * len(rows)).from_buffer_copy(np.ascontiguousarray(rows).tobytes())


def _moved(lib3mf: Any, at: tuple[float, float, float]) -> Any:
    """Return the transform that only moves: three rows of turning, then one of moving."""
    rows = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), at)
    row = ctypes.c_float * 3
    return lib3mf.Transform((row * 4)(*(row(*values) for values in rows)))


def read_rims(path: Path, items: Sequence[Item]) -> Iterator[tuple[Item, Rim]]:
    """Read a 3MF file back and give the rim of every part that a follower runs on.

    Raises RimError if a part is missing, or anything of it is not as it must be.
    """
    room = sum(len(item.body.corners) + len(item.body.triangles) for item in items)
    found = dict(read_meshes(path, LEAST_ROOM + ROOM_A_LINE * room))
    for item in items:
        triangles = found.get(item.part.code)
        if triangles is None:
            raise RimError(f"{path.name}: part {item.part.code} is not in it")
        rim = rim_of_triangles(triangles, *item.part.running_mm, f"{path.name}: {item.part.code}")
        if item.profile is not None:
            yield item, rim


def read_meshes(path: Path, most_bytes: int) -> Iterator[tuple[str, npt.NDArray[np.float64]]]:
    """Read part number and triangles, (n, 3, 3) mm, of every mesh object of a 3MF file.

    Raises RimError if it is no such file, or unpacks to more than `most_bytes`.
    """
    import lib3mf  # kept off the start-up path

    _refuse_archive(path, most_bytes)
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    try:
        reader.ReadFromFile(str(path))
    except lib3mf.ELib3MFException as error:
        raise RimError(f"{path.name}: is no 3MF file that can be read: {error}") from error
    if model.GetUnit() != lib3mf.ModelUnit.MilliMeter:
        raise RimError(f"{path.name}: its unit is {model.GetUnit()}, not the millimetre")
    meshes = model.GetMeshObjects()
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        yield mesh.GetPartNumber(), _triangles(mesh)


def _refuse_archive(path: Path, most_bytes: int) -> None:
    """Raise RimError unless every entry unpacks to what the archive says of it, and all to little enough.

    Entries are unpacked bit by bit and not kept: a small archive may unpack to more than any memory holds.
    """
    with path.open("rb") as file:  # outside of `try`: a file that may not be opened is no damaged archive
        try:
            _unpack(file, path.name, most_bytes)
        except _ARCHIVE_ERRORS as error:
            raise RimError(f"{path.name}: is no archive that can be read: {error}") from error


def _unpack(file: BinaryIO, name: str, most_bytes: int) -> None:
    with zipfile.ZipFile(file) as archive:
        entries = archive.infolist()
        size = sum(entry.file_size for entry in entries)
        if len(entries) > MOST_ENTRIES or size > most_bytes:
            what = f"{len(entries):,} entries of {size:,} bytes"
            raise RimError(f"{name}: unpacks to {what}; {MOST_ENTRIES} of {most_bytes:,} bytes are the most")
        for entry in entries:
            with archive.open(entry) as unpacked:
                while unpacked.read(1 << 20):
                    pass


def _triangles(mesh: Any) -> npt.NDArray[np.float64]:
    corners = np.array([vertex.Coordinates[:] for vertex in mesh.GetVertices()], np.float64)
    places = np.array([triangle.Indices[:] for triangle in mesh.GetTriangleIndices()], np.intp)
    return np.asarray(corners.reshape(-1, 3)[places.reshape(-1, 3)])


def too_large(project: Project, items: Iterable[Item]) -> list[str]:
    """Describe which parts do not fit on the bed."""
    bed = project.print
    notes = []
    for item in items:
        wide, deep = (float(size) for size in np.ptp(item.part.outline, axis=0))
        if wide > bed.bed_x_mm or deep > bed.bed_y_mm or item.part.top_mm > bed.bed_z_mm:
            notes.append(
                f"{item.part.code}: {wide:.0f} x {deep:.0f} x {item.part.top_mm:.0f} mm is larger than the "
                f"printer's {bed.bed_x_mm:g} x {bed.bed_y_mm:g} x {bed.bed_z_mm:g} mm"
            )
    return notes
