"""The formats of an export: one row a format, one module each.

A format turns a part into the bytes of a file; where a follower can be run over the file, it also says
how its rim is read back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from core.errors import ExportError
from core.export.dxf import dxf_bytes
from core.export.stl import stl_bytes
from core.proof import Rim, read_dxf, read_stl
from core.solids import DiscPart, disc_mesh, printed
from core.wording import did_you_mean

KNOWN = ("3mf", "stl", "step", "dxf", "svg", "csv", "pdf")
"""All formats that a command line may name, in the order in which help lists them."""


@dataclass(frozen=True)
class Format:
    """One format.

    write: bytes of a part's file. read: the rim of a written file, given the part as it was drawn.
    corrected: whether the printer's measured corrections are in the file.
    """

    extension: str
    write: Callable[[DiscPart], bytes]
    read: Callable[[Path, DiscPart], Rim]
    corrected: bool


def _stl(part: DiscPart) -> bytes:
    return stl_bytes(disc_mesh(printed(part)), part.code)


def _read_stl(path: Path, part: DiscPart) -> Rim:
    return read_stl(path, *part.running_mm)


def _read_dxf(path: Path, part: DiscPart) -> Rim:  # noqa: ARG001 - one signature for all formats
    return read_dxf(path)


FORMATS: Mapping[str, Format] = MappingProxyType(
    {
        "stl": Format("stl", _stl, _read_stl, corrected=True),
        "dxf": Format("dxf", dxf_bytes, _read_dxf, corrected=False),
    }
)
"""The formats that exist, in the order in which they are written."""


def chosen_formats(names: Sequence[str] | None) -> tuple[str, ...]:
    """Give the asked formats in order, each once; all that exist if none is named.

    Raises ExportError for one that does not exist.
    """
    if not names:
        return tuple(FORMATS)
    asked = [name.strip().lower() for name in names]
    for name in asked:
        if name not in FORMATS:
            raise ExportError(_unknown(name))
    return tuple(name for name in FORMATS if name in asked)


def _unknown(name: str) -> str:
    there = ", ".join(FORMATS)
    if name in KNOWN:
        return f"format {name} is not written by this version yet: it writes {there}"
    return " ".join(
        filter(
            None,
            (f'there is no format "{name}":', did_you_mean(name, FORMATS), f"this version writes {there}"),
        )
    )
