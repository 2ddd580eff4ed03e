"""STEP (ISO 10303-21) of a part as an exact solid, for a mill or a modeller; needs the optional extra `step`.

Shapes are nominal, in mm; `make.solids.exact` makes them. The file's header is ours: it holds no clock, so
same part, same bytes. `shaftscore.make.proof.reading.step` reads them back.
"""

from __future__ import annotations

import io
import re

from shaftscore.base.errors import ExportError
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.proof.reading.step import quiet
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.exact import exact_body, has_kernel, left_out

MISSING = (
    "format step needs the optional extra `step`, which is not installed: "
    'pip install "shaftscore[step]" (330 MB), or leave step out of the formats'
)
"""What is said where the kernel is absent."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a solid a part; raises ExportError where the extra is not installed."""
    if not has_kernel():
        raise ExportError(MISSING)
    return [_planned(item) for item in order.items]


def notes(order: MakeOrder) -> list[str]:
    """Describe what the files leave out; empty if none are planned."""
    if "step" not in order.formats:
        return []
    marked = [item.part.code for item in order.items if "its marks" in left_out(item.part)]
    sharp = [item.part.code for item in order.items if "its chamfers" in left_out(item.part)]
    said = ["STEP files leave the marks out: their lines are in DXF and SVG"] if marked else []
    if sharp:
        said.append(f"STEP files of {', '.join(sharp)} leave the edge chamfers out: the profile is too sharp")
    return said


def _planned(item: OrderedPart) -> Planned:
    return Planned(f"{item.stem}.step", "step", (item,), lambda: step_bytes(item.part))


def step_bytes(part: MadePart) -> bytes:
    """Write a part; same part, same bytes.

    Raises SolidError if no sound body can be made of it, ExportError if the kernel refuses to write it.
    """
    from OCP.IFSelect import IFSelect_RetDone  # optional, and 0.6 s to load
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    quiet()
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.product.name", part.code)
    as_is = STEPControl_StepModelType.STEPControl_AsIs
    if writer.Transfer(exact_body(part), as_is) != IFSelect_RetDone:
        raise ExportError(f"{part.code}: its exact body cannot be written as STEP")
    stream = io.BytesIO()
    writer.WriteStream(stream)
    return _with_header(stream.getvalue().decode("ascii"), part).encode("ascii")


def _with_header(text: str, part: MadePart) -> str:
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
