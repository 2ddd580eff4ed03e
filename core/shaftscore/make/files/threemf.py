"""3MF (ISO/IEC 25422): all parts in one file on build plates, and all of them as they are assembled.

Each part is one mesh object with its name and, as part number, its code; spacers are one object that is
built several times. Plates lie side by side along x. Units are millimetres. Ids are made from the
parts' hashes, and there is no clock: same parts, same bytes.
"""

from __future__ import annotations

import ctypes
import tempfile
import uuid
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.files.names import file_stem
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned, part_material
from shaftscore.make.files.packing import packed
from shaftscore.make.files.plates import lay_out
from shaftscore.make.proof import ExpectedCopies
from shaftscore.make.proof.placing import QUARTER_DEG, Place, turn_of
from shaftscore.make.proof.reading.lib3mf_arrays import set_geometry
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.bed import file_size_mm, fits_bed, too_large_text
from shaftscore.make.solids.split import SPLIT_KINDS
from shaftscore.model import Project
from shaftscore.model.materials import is_printed
from shaftscore.stack import stack_plan

NAMESPACE = uuid.UUID("6f1c1f0e-5d0b-5a53-9a6e-8f3f1c0b7a21")
"""Names of ours live under this id (version 5 of RFC 9562)."""

PLATE_GAP_MM = 20.0
"""Distance between plates, and between stacks that are shown assembled."""


@dataclass(frozen=True)
class PlacedBuild:
    """One build of an item, moved by (x, y, z) mm; turned: by a quarter turn counterclockwise before.

    plate: number of its plate from 0.
    """

    item: OrderedPart
    at: tuple[float, float, float]
    turned: bool = False
    plate: int = 0

    @property
    def place(self) -> Place:
        """Where it is, with the angle by which it is turned."""
        return (*self.at, QUARTER_DEG) if self.turned else self.at


def plan(order: MakeOrder) -> list[Planned]:
    """Plan the file of plates and that of the assembly."""
    name = order.report.project.name
    plates = on_plates(order) or on_plates(replace(order, fresh=None))
    return [
        _planned(f"{file_stem('plates', name)}.3mf", order, plates, fixed=False),
        _planned(f"{file_stem('assembled', name)}.3mf", order, assembled(order), fixed=True),
    ]


def _planned(name: str, order: MakeOrder, placed: Sequence[PlacedBuild], *, fixed: bool) -> Planned:
    """Plan a file; fixed: its parts are only right in these places (on plates any free place will do)."""
    title = order.report.project.name
    items = tuple(dict.fromkeys(place.item for place in placed))
    counts = Counter(place.item.part.code for place in placed)
    places = {code: tuple(one.place for one in placed if one.item.part.code == code) for code in counts}
    copies = ExpectedCopies(counts, places, fixed=fixed)
    return Planned(name, "3mf", items, lambda: threemf_bytes(title, placed), whole=True, copies=copies)


def on_plates(order: MakeOrder) -> list[PlacedBuild]:
    """Lay the parts that have to be made out on plates of the project's bed; coupons on plates of their own.

    Coupons come first: they are printed before all else, so that the clearance can still be changed. Frame
    plates that are cut from sheet are on none.
    """
    key = ("on plates", *order.to_make)
    if key not in order.known:
        order.known[key] = _on_plates(order)
    return list(order.known[key])


def _on_plates(order: MakeOrder) -> list[PlacedBuild]:
    """Lay the parts out."""
    copies = [item for item in order.to_make if not _is_sheet(order, item) for _ in range(item.part.count)]
    coupons = [item for item in copies if item.part.kind == "coupon"]
    first = _laid(order, coupons, 0)
    plates = 1 + max((place.plate for place in first), default=-1)
    return first + _laid(order, [item for item in copies if item.part.kind != "coupon"], plates)


def _is_sheet(order: MakeOrder, item: OrderedPart) -> bool:
    """Return whether a part is a plate of the frame whose material is not printed."""
    return item.part.kind == "plate" and not is_printed(part_material(order.report.project, item.part))


def _laid(order: MakeOrder, copies: Sequence[OrderedPart], plate: int) -> list[PlacedBuild]:
    """Lay copies out on plates, the first of them number `plate`."""
    shadows = {item.part.code: _shadow(item.part) for item in copies}
    outlines = [shadows[item.part.code] for item in copies]
    boxes = [(np.array(one.bounds[:2]), np.array(one.bounds[2:])) for one in outlines]
    sizes = [(float(high[0] - low[0]), float(high[1] - low[1])) for low, high in boxes]
    bed = order.report.project.print
    spots = lay_out(sizes, (bed.bed_x_mm, bed.bed_y_mm))
    plates = 1 + max((spot.plate for spot in spots), default=-1)
    spots = packed(outlines, (bed.bed_x_mm, bed.bed_y_mm), plates) or spots
    placed, room = [], _widest_mm(order) + PLATE_GAP_MM
    for item, (low, high), spot in zip(copies, boxes, spots, strict=True):
        corner = (-high[1], low[0]) if spot.turned else low
        number = plate + spot.plate
        x = number * room + spot.x_mm - float(corner[0])
        placed.append(PlacedBuild(item, (x, spot.y_mm - float(corner[1]), 0.0), spot.turned, number))
    return placed


def _shadow(part: MadePart) -> Any:
    """Return what a part covers in a printer's file, seen from the top: a polygon of shapely, mm."""
    from shapely import Polygon, affinity, union_all  # kept off the start-up path

    rings = [part.printer_outline, *(body.printer_path.flattened(CHORD_MM) for body in part.raised)]
    return affinity.scale(union_all([Polygon(ring) for ring in rings]), part.scale, part.scale, origin=(0, 0))


def _widest_mm(order: MakeOrder) -> float:
    """Return the room for a plate along x, mm: the bed, or the largest part where one is larger than it."""
    parts = [item.part for item in order.to_make if not _is_sheet(order, item)]
    reach = (float(np.ptp(part.printer_outline, axis=0).max()) * part.scale for part in parts)
    return max([order.report.project.print.bed_x_mm, *reach])


def assembled(order: MakeOrder) -> list[PlacedBuild]:
    """Put all parts where they lie on their shafts at angle 0; stacks stand side by side along x."""
    project = order.report.project
    placed: list[PlacedBuild] = []
    x = 0.0
    for stack in project.stacks:
        own = {item.part.lane_id: item for item in order.of_stack(stack.id)}
        radius = max((float(np.hypot(*item.part.outline.T).max()) for item in own.values()), default=0.0)
        x += radius if placed else 0.0
        placed += [
            PlacedBuild(own[layer.lane_id], (x, 0.0, layer.bottom_mm))
            for layer in stack_plan(project, stack).layers
            if layer.lane_id in own
        ]
        x += radius + PLATE_GAP_MM
    return placed


def threemf_bytes(title: str, placed: Sequence[PlacedBuild]) -> bytes:
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
        built = model.AddBuildItem(objects[place.item], _moved(lib3mf, place))
        built.SetPartNumber(place.item.part.code)
        built.SetUUID(_id(f"build {number} {place.item.part.hash}"))
    model.SetBuildUUID(_id(" ".join(place.item.part.hash for place in placed)))
    return _packed(model)


def _packed(model: Any) -> bytes:
    """Return the file of a model: written once, where the library's buffer has it written twice."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "model.3mf"
        model.QueryWriter("3mf").WriteToFile(str(path))
        return path.read_bytes()


def _id(text: str) -> str:
    return str(uuid.uuid5(NAMESPACE, text))


def _object(lib3mf: Any, model: Any, item: OrderedPart) -> Any:
    """Add an item's mesh to a model."""
    mesh = model.AddMeshObject()
    mesh.SetName(f"{item.part.code} {item.part.label}".strip())
    mesh.SetPartNumber(item.part.code)
    mesh.SetUUID(_id(f"{item.part.code} {item.part.hash}"))
    set_geometry(lib3mf, mesh, item.body.corners.astype("<f4"), item.body.triangles.astype("<u4"))
    return mesh


def _moved(lib3mf: Any, place: PlacedBuild) -> Any:
    """Return the transform of a build: three rows of turning, then one of moving."""
    turning = turn_of(QUARTER_DEG if place.turned else 0.0)
    row = ctypes.c_float * 3
    return lib3mf.Transform((row * 4)(*(row(*values) for values in (*turning, place.at))))


def too_large(project: Project, items: Iterable[OrderedPart]) -> list[str]:
    """Describe which parts do not fit on the bed, but for those that say so themselves."""
    return [
        too_large_text(project.print, item.part)
        for item in items
        if not fits_bed(project.print, file_size_mm(item.part)) and item.part.kind not in SPLIT_KINDS
    ]
