"""Binary STL: a header of 80 bytes, a count, then 50 bytes a triangle; little-endian, ours in mm."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from shaftscore.make.proof.reading.contents import FileContents, read_bounded
from shaftscore.make.proof.reading.solid import MOST_TRIANGLES, SolidPart
from shaftscore.make.proof.rim import RimError

HEADER_BYTES = 84
RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def read_stl(path: Path, code: str, most_parts: int = 1) -> FileContents:  # noqa: ARG001 - one part a file
    """Read a binary STL file; raises RimError if it is none."""
    data = read_bounded(path, HEADER_BYTES + MOST_TRIANGLES * RECORD.itemsize)
    count = int(np.frombuffer(data[80:HEADER_BYTES], "<u4")[0]) if len(data) >= HEADER_BYTES else 0
    if count == 0 or len(data) != HEADER_BYTES + count * RECORD.itemsize:
        raise RimError(f"{path.name}: {len(data)} bytes are no binary STL file of {count} triangles")
    read = np.frombuffer(data, RECORD, count, HEADER_BYTES)["corners"]
    with np.errstate(invalid="ignore"):  # some bytes are numbers that signal; they are refused as not finite
        corners = np.asarray(read.astype(np.float64))
    return FileContents(path.name, {code: SolidPart(corners, path.name)})
