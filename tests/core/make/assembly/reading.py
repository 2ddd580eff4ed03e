"""Parts of a machine written and read back, for tests of the assembly."""

from __future__ import annotations

from pathlib import Path

from shaftscore.base.progress import Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files import stl
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.reading.stl import read_stl
from shaftscore.model import Project


def read_back(project: Project, folder: Path) -> tuple[MakeOrder, dict[str, SolidPart]]:
    """Write the parts of a project as STL; return the order and what was read, by code."""
    order = gather(examine(project, stage=QUICK), ("stl",), Silent(), despite_errors=True)
    solids = {}
    for file in stl.plan(order):
        (folder / file.name).write_bytes(file.make())
        code = file.items[0].part.code
        part = read_stl(folder / file.name, code).parts[code]
        assert isinstance(part, SolidPart)
        solids[code] = part
    return order, solids
