"""Readers of exported files: one module a format, all of which give the same description.

A reader takes a path and gives what the file holds as a `FileContents`: its parts (`SolidPart` of
triangles, `DrawnPart` of lines), the copies that a printer builds, and what should not be in it. It
knows nothing of the project. Whatever a file contains, a reader ends with a `FileContents` or a
`RimError`, within bounded memory.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from shaftscore.make.proof.reading.contents import FileContents
from shaftscore.make.proof.reading.dxf import read_dxf
from shaftscore.make.proof.reading.step import read_own_step, read_step
from shaftscore.make.proof.reading.stl import read_stl
from shaftscore.make.proof.reading.svg import read_svg
from shaftscore.make.proof.reading.threemf import read_3mf

READERS: Mapping[str, Callable[[Path, str, int], FileContents]] = MappingProxyType(
    {"3mf": read_3mf, "stl": read_stl, "step": read_step, "dxf": read_dxf, "svg": read_svg}
)
"""Reader of each format that holds parts: takes the path, the code of its part where the format does not
name it, and the number of parts it may hold."""

OWN_READERS: Mapping[str, Callable[[Path, str, int], FileContents]] = MappingProxyType(
    {**READERS, "step": read_own_step}
)
"""The same for files that this process wrote."""

__all__ = [
    "OWN_READERS",
    "READERS",
    "FileContents",
    "read_3mf",
    "read_dxf",
    "read_step",
    "read_stl",
    "read_svg",
]
