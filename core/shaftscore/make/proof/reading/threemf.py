"""3MF (ISO/IEC 25422), read by its consortium's library: meshes by part number, and what is built of them."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from shaftscore.make.proof.compare import ReadPart
from shaftscore.make.proof.reading.contents import BuiltCopy, FileContents
from shaftscore.make.proof.reading.lib3mf_arrays import corners_of, triangles_of
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.rim import RimError

LEAST_ROOM, ROOM_A_PART = 1 << 20, 3 << 20
"""A 3MF file may unpack to this many bytes, and as many more for each of its parts: a disc that fills a bed
of 220 mm takes 0.5 MB."""

MOST_ROOM = 192 << 20
"""No 3MF file may unpack to more bytes than this."""

MOST_ENTRIES = 100
"""Most files in a 3MF file; ours have four."""

MOST_COPIES = 20_000
"""Most copies to build that are read."""

_ARCHIVE_ERRORS = (zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, ValueError, OSError)
"""What zipfile raises for a damaged archive: also RuntimeError for passwords and, as NotImplementedError, for
ways of packing that it does not know; OSError for an entry that would start before the file does."""


def read_3mf(path: Path, code: str, most_parts: int) -> FileContents:  # noqa: ARG001 - a 3MF file names its parts
    """Read a 3MF file; raises RimError if it is none, or unpacks to more than so many parts take."""
    model = _model(path, min(MOST_ROOM, LEAST_ROOM + ROOM_A_PART * most_parts))
    parts: dict[str, ReadPart] = {}
    strays: list[str] = []
    for part, corners in _meshes(model):
        if part in parts:
            strays.append(f"part {part} is in it more than once")
        parts[part] = SolidPart(corners, f"{path.name}: {part}")
    copies = tuple(_copies(model, path.name))
    built = {copy.code for copy in copies}
    strays += [f"part {part} is in it, but is not built" for part in parts if part not in built]
    return FileContents(path.name, parts, copies, tuple(strays))


def read_meshes(path: Path, most_bytes: int) -> Iterator[tuple[str, npt.NDArray[np.float64]]]:
    """Read part number and triangles, (n, 3, 3) mm, of every mesh object of a 3MF file.

    Raises RimError if it is no such file, or unpacks to more than `most_bytes`.
    """
    yield from _meshes(_model(path, most_bytes))


def _model(path: Path, most_bytes: int) -> Any:
    """Read a model in millimetres."""
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
    return model


def _meshes(model: Any) -> Iterator[tuple[str, npt.NDArray[np.float64]]]:
    meshes = model.GetMeshObjects()
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        yield mesh.GetPartNumber(), _triangles(mesh)


def _copies(model: Any, name: str) -> Iterator[BuiltCopy]:
    """Read the items to build: part number, and transform (three rows of turning, then one of moving)."""
    items = model.GetBuildItems()
    if items.Count() > MOST_COPIES:
        raise RimError(f"{name}: {items.Count():,} copies are built of it; {MOST_COPIES:,} are the most")
    while items.MoveNext():
        item = items.GetCurrent()
        rows = np.eye(4, 3)
        if item.HasObjectTransform():
            rows = np.array([list(row) for row in item.GetObjectTransform().Fields], np.float64)
        yield BuiltCopy(item.GetObjectResource().GetPartNumber(), rows[:3], rows[3])


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
    import lib3mf  # kept off the start-up path

    corners = corners_of(lib3mf, mesh).astype(np.float64)
    return np.asarray(corners[triangles_of(lib3mf, mesh)])
