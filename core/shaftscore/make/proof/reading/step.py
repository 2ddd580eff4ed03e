"""STEP (ISO 10303-21), read by the modelling kernel of the optional extra `step` and cut into triangles.

The solid's size and number of faces are looked at before it is cut: a chord error that suits a disc of
60 mm makes a thousand times as many triangles of one of 60 m. The kernel may still crash over a damaged
file, or never end: a file that this process did not write is read by a process of its own (`read_step`),
which may use so much memory and time and no more, and whose end is a fault of the file.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from shaftscore.base.tolerance import CHORD_MM
from shaftscore.make.proof.reading.contents import LARGEST_MM, FileContents, read_bounded
from shaftscore.make.proof.reading.solid import MOST_TRIANGLES, SolidPart
from shaftscore.make.proof.rim import RimError

READ_MM, READ_RAD = CHORD_MM / 4, 0.5
"""Chord error and angle of the triangles into which a file that is read back is cut."""

MOST_BYTES = 16 << 20
"""Most bytes of a STEP file that are read: a disc takes 0.2 MB."""

MOST_FACES = 5_000
"""Most faces of a solid that is cut into triangles: a fit coupon has 300."""


MOST_DATA_BYTES, MOST_SECONDS, LONGEST_SECONDS = 900 << 20, 30, 300
"""Memory and processor time that reading a file may take, and time by the clock on a busy machine."""

READING = f"import sys, pathlib, {__name__} as step; step.answer(pathlib.Path(sys.argv[1]))"
ROOT = Path(__file__).resolve().parents[__name__.count(".")]
"""What the process that reads a file runs, and the folder of our packages."""

READ, REFUSED = b"read\n", b"refused\n"
"""How the answer of the process that reads a file begins."""


def read_step(path: Path, code: str, most_parts: int = 1) -> FileContents:  # noqa: ARG001 - one part a file
    """Read a STEP file in a process of its own.

    Raises RimError if it cannot be read, or holds anything but one solid of a disc's size.
    """
    _refuse_cut_off(path)
    return FileContents(path.name, {code: SolidPart(_read_apart(path), path.name, READ_MM)})


def read_own_step(path: Path, code: str, most_parts: int = 1) -> FileContents:  # noqa: ARG001 - one part a file
    """Read a STEP file that this process wrote; raises RimError as `read_step` does."""
    return FileContents(path.name, {code: SolidPart(read_triangles(path), path.name, READ_MM)})


def _read_apart(path: Path) -> npt.NDArray[np.float64]:
    """Start a process that reads a file, and take its triangles, (n, 3, 3) mm."""
    # -P and whole paths: nothing in the current folder is imported
    places = [ROOT, *(place for place in map(Path, sys.path) if place.is_absolute())]
    command = [sys.executable, "-P", "-c", READING, str(path.absolute())]
    known = os.pathsep.join(map(str, places))
    try:
        done = subprocess.run(
            command,
            env={**os.environ, "PYTHONPATH": known},
            capture_output=True,
            check=False,
            timeout=LONGEST_SECONDS,
        )
    except subprocess.TimeoutExpired as error:
        raise RimError(f"{path.name}: it cannot be read back as STEP within {LONGEST_SECONDS} s") from error
    if done.stdout.startswith(REFUSED):
        raise RimError(done.stdout.removeprefix(REFUSED).decode())
    if done.returncode or not done.stdout.startswith(READ):
        most = f"{MOST_DATA_BYTES >> 20} MiB and {MOST_SECONDS} s"
        raise RimError(f"{path.name}: it cannot be read back as STEP within {most}")
    found: npt.NDArray[np.float64] = np.load(io.BytesIO(done.stdout.removeprefix(READ)), allow_pickle=False)
    return found


def answer(path: Path) -> None:
    """Read a file within the limits and write its triangles, or why there are none, to stdout."""
    _limit()
    with os.fdopen(os.dup(1), "wb") as out:
        os.dup2(2, 1)  # whatever the kernel prints does not get among the numbers
        try:
            corners = read_triangles(path)
        except RimError as error:
            out.write(REFUSED + str(error).encode())
            return
        whole = io.BytesIO()
        np.save(whole, corners, allow_pickle=False)
        out.write(READ + whole.getvalue())


def _limit() -> None:
    """Bound memory and processor time, where the system can."""
    try:
        import resource  # not on every system
    except ImportError:
        return
    for limit, most in ((resource.RLIMIT_DATA, MOST_DATA_BYTES), (resource.RLIMIT_CPU, MOST_SECONDS)):
        hardest = resource.getrlimit(limit)[1]
        resource.setrlimit(
            limit, (most if hardest == resource.RLIM_INFINITY else min(most, hardest), hardest)
        )
    resource.setrlimit(resource.RLIMIT_CORE, (0, resource.getrlimit(resource.RLIMIT_CORE)[1]))


def read_triangles(path: Path) -> npt.NDArray[np.float64]:
    """Read a STEP file and cut its one solid into triangles, (n, 3, 3) mm, counterclockwise from outside.

    Raises RimError if it cannot be read, or holds anything but one solid of a disc's size.
    """
    from OCP.BRepMesh import BRepMesh_IncrementalMesh  # optional, and 0.6 s to load

    body = read_solid(path)
    _refuse_large(body, path.name)
    try:
        BRepMesh_IncrementalMesh(body, READ_MM, False, READ_RAD, False)
        faces = list(_faces(body, path.name))
    except RuntimeError as error:  # the base of the kernel's own errors
        raise RimError(f"{path.name}: its solid cannot be cut into triangles: {error}") from error
    return np.concatenate(faces) if faces else np.zeros((0, 3, 3))


def read_solid(path: Path) -> Any:
    """Read a STEP file; raises RimError if it cannot be read, or holds anything but one solid."""
    from OCP.IFSelect import IFSelect_RetDone  # optional, and 0.6 s to load
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_SOLID

    _refuse_cut_off(path)
    quiet()
    reader = STEPControl_Reader()
    try:
        if reader.ReadFile(str(path)) != IFSelect_RetDone:
            raise RimError(f"{path.name}: it cannot be read back as STEP")
        reader.TransferRoots()
        solids = list(_walk(reader.OneShape(), TopAbs_SOLID)) if reader.NbShapes() else []
    except RuntimeError as error:  # the base of the kernel's own errors
        raise RimError(f"{path.name}: it cannot be read back as STEP: {error}") from error
    if len(solids) != 1:
        raise RimError(f"{path.name}: it holds {len(solids)} solids, not one")
    return solids[0]


def _refuse_cut_off(path: Path) -> None:
    """Raise RimError unless a file begins and ends as the exchange structure of ISO 10303-21 does."""
    data = read_bounded(path, MOST_BYTES)
    if not data.lstrip().startswith(b"ISO-10303-21;") or not data.rstrip().endswith(b"END-ISO-10303-21;"):
        raise RimError(f"{path.name}: it is no whole STEP file")


def _refuse_large(body: Any, name: str) -> None:
    """Raise RimError if a solid is too large, or has too many faces, to be cut in bounded memory."""
    from OCP.Bnd import Bnd_Box  # optional
    from OCP.BRepBndLib import BRepBndLib
    from OCP.TopAbs import TopAbs_FACE

    box = Bnd_Box()
    BRepBndLib.Add_s(body, box)
    if box.IsVoid():
        raise RimError(f"{name}: its solid is empty")
    low, high = box.CornerMin(), box.CornerMax()
    reach = max(abs(value) for point in (low, high) for value in (point.X(), point.Y(), point.Z()))
    if not reach <= LARGEST_MM:
        raise RimError(f"{name}: reaches to {reach:,.4g} mm; {LARGEST_MM:,.0f} mm are the most")
    count = sum(1 for _ in _walk(body, TopAbs_FACE))
    if count > MOST_FACES:
        raise RimError(f"{name}: its solid has {count:,} faces; {MOST_FACES:,} are the most")


def _faces(body: Any, name: str) -> Iterator[npt.NDArray[np.float64]]:
    from OCP.BRep import BRep_Tool  # optional, and 0.6 s to load
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    total = 0
    for shape in _walk(body, TopAbs_FACE):
        place = TopLoc_Location()
        cut = BRep_Tool.Triangulation_s(TopoDS.Face(shape), place)
        if cut is None:
            raise RimError(f"{name}: a face of its solid cannot be cut into triangles")
        total += cut.NbTriangles()
        if total > MOST_TRIANGLES:
            raise RimError(f"{name}: has over {MOST_TRIANGLES:,} triangles, the most that are read")
        moved = place.Transformation()
        nodes = [cut.Node(number).Transformed(moved) for number in range(1, cut.NbNodes() + 1)]
        corners = np.array([(node.X(), node.Y(), node.Z()) for node in nodes])
        faces = np.array([cut.Triangle(number).Get() for number in range(1, cut.NbTriangles() + 1)]) - 1
        yield corners[faces[:, ::-1] if shape.Orientation() == TopAbs_REVERSED else faces]


def _walk(body: Any, kind: Any) -> Iterator[Any]:
    from OCP.TopExp import TopExp_Explorer  # optional, and 0.6 s to load

    walk = TopExp_Explorer(body, kind)
    while walk.More():
        yield walk.Current()
        walk.Next()


def quiet() -> None:
    """Keep the kernel from writing to the terminal; what fails is known by what it returns."""
    from OCP.Message import Message, Message_PrinterOStream  # optional, and 0.6 s to load

    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
