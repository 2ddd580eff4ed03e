"""STEP (ISO 10303-21) of a part as an exact solid, for a mill or a modeller; needs the optional extra `step`.

Shapes are nominal, in mm; `make.solids.exact` makes them. The file's header is ours: it holds no clock, so
same part, same bytes. Read back, the solid is cut into fine triangles, and followers run over those.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.errors import ExportError
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.files.order import Item, Order, Planned
from shaftscore.make.proof import Rim, RimError, rim_of_triangles
from shaftscore.make.solids import Part
from shaftscore.make.solids.exact import exact_body, has_kernel, left_out

MISSING = (
    "format step needs the optional extra `step`, which is not installed: "
    'pip install "shaftscore[step]" (330 MB), or leave step out of the formats'
)
"""What is said where the kernel is absent."""

READ_MM, READ_RAD = CHORD_MM / 4, 0.5
"""Chord error and angle of the triangles into which a file that is read back is cut."""


def plan(order: Order) -> list[Planned]:
    """Plan a solid a part; raises ExportError where the extra is not installed."""
    if not has_kernel():
        raise ExportError(MISSING)
    return [_planned(item) for item in order.items]


def notes(order: Order) -> list[str]:
    """Describe what the files leave out; empty if none are asked for."""
    if "step" not in order.formats:
        return []
    marked = [item.part.code for item in order.items if "its marks" in left_out(item.part)]
    sharp = [item.part.code for item in order.items if "its chamfers" in left_out(item.part)]
    said = ["STEP files leave the marks out: their lines stand in DXF and SVG"] if marked else []
    if sharp:
        said.append(f"STEP files of {', '.join(sharp)} leave the edge chamfers out: the profile is too sharp")
    return said


def _planned(item: Item) -> Planned:
    def rims(path: Path) -> Iterable[tuple[Item, Rim]]:
        rim = rim_of_triangles(read_triangles(path), *item.part.running_mm, path.name)
        if item.profile is not None:
            yield item, rim

    return Planned(f"{item.stem}.step", "step", (item,), lambda: step_bytes(item.part), rims)


def step_bytes(part: Part) -> bytes:
    """Write a part; same part, same bytes.

    Raises SolidError if no sound body can be made of it, ExportError if the kernel refuses to write it.
    """
    from OCP.IFSelect import IFSelect_RetDone  # optional, and 0.6 s to load
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    _quiet()
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.product.name", part.code)
    asked = STEPControl_StepModelType.STEPControl_AsIs
    if writer.Transfer(exact_body(part), asked) != IFSelect_RetDone:
        raise ExportError(f"{part.code}: its exact body cannot be written as STEP")
    stream = io.BytesIO()
    writer.WriteStream(stream)
    return _with_header(stream.getvalue().decode("ascii"), part).encode("ascii")


def _with_header(text: str, part: Part) -> str:
    """Put our header in place of the kernel's, and the code in place of its count of files written.

    The kernel's header holds a clock, and its names of products go on counting while the process lives.
    """
    header = (
        f"HEADER;\nFILE_DESCRIPTION(('{part.code}, revision {part.revision}'),'2;1');\n"
        f"FILE_NAME('{part.code}','1970-01-01T00:00:00',(''),(''),'','Shaftscore','');\n"
        "FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\n"
    )
    text = re.sub(
        rf"PRODUCT\('{part.code} \d+','{part.code} \d+'", f"PRODUCT('{part.code}','{part.code}'", text
    )
    return re.sub(r"HEADER;.*?ENDSEC;\s*", lambda _found: header, text, count=1, flags=re.DOTALL)


def read_triangles(path: Path) -> npt.NDArray[np.float64]:
    """Read a STEP file and cut its one solid into triangles, (n, 3, 3) mm, counterclockwise from outside.

    Raises RimError if it cannot be read, or holds anything but one solid.
    """
    from OCP.BRepMesh import BRepMesh_IncrementalMesh  # optional, and 0.6 s to load

    body = read_solid(path)
    BRepMesh_IncrementalMesh(body, READ_MM, False, READ_RAD, False)
    return np.concatenate(list(_faces(body)))


def read_solid(path: Path) -> Any:
    """Read a STEP file; raises RimError if it cannot be read, or holds anything but one solid."""
    from OCP.IFSelect import IFSelect_RetDone  # optional, and 0.6 s to load
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_SOLID

    _quiet()
    reader = STEPControl_Reader()
    if reader.ReadFile(str(path)) != IFSelect_RetDone:
        raise RimError(f"{path.name}: it cannot be read back as STEP")
    reader.TransferRoots()
    solids = list(_walk(reader.OneShape(), TopAbs_SOLID))
    if len(solids) != 1:
        raise RimError(f"{path.name}: it holds {len(solids)} solids, not one")
    return solids[0]


def _faces(body: Any) -> Iterator[npt.NDArray[np.float64]]:
    from OCP.BRep import BRep_Tool  # optional, and 0.6 s to load
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    for shape in _walk(body, TopAbs_FACE):
        cut = BRep_Tool.Triangulation_s(TopoDS.Face(shape), TopLoc_Location())
        nodes = [cut.Node(number) for number in range(1, cut.NbNodes() + 1)]
        corners = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
        faces = np.array([cut.Triangle(number).Get() for number in range(1, cut.NbTriangles() + 1)]) - 1
        yield corners[faces[:, ::-1] if shape.Orientation() == TopAbs_REVERSED else faces]


def _walk(body: Any, kind: Any) -> Iterator[Any]:
    from OCP.TopExp import TopExp_Explorer  # optional, and 0.6 s to load

    walk = TopExp_Explorer(body, kind)
    while walk.More():
        yield walk.Current()
        walk.Next()


def _quiet() -> None:
    """Keep the kernel from writing to the terminal; what fails is told by what it returns."""
    from OCP.Message import Message, Message_PrinterOStream  # optional, and 0.6 s to load

    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
