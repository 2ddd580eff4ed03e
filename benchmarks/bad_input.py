"""Time and memory of the worst bad input of each kind, each in a process of its own.

Run with `python -m benchmarks.bad_input`. Every file has up to 60 MB and is made to cost as much as it can
within what is looked at first. Goal: refused within 2 s and 300 MiB, libraries included. Seconds are of the
processor, so that a machine that is busy with other things measures the same.
"""

from __future__ import annotations

import io
import json
import resource
import struct
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

ROOM_OF_TEN_DISCS = 40_000_000
"""What a 3MF file of a machine of ten discs may unpack to, bytes (`shaftscore.make.files.threemf`)."""

MOST_S, MOST_MIB = 2.0, 300.0
SIZE = 60_000_000
HEAD = '{"format":"shaftscore-project","version":1,"shaft":{"turn":"clockwise","speed_rpm":6}'

LANE = '{"id":"l%d","levels":{"a":0,"b":9},"blocks":[%s]}'
BLOCK = '{"level":"x","start_deg":1,"end_deg":2}'


def _project(*parts: str) -> bytes:
    return (HEAD + "".join(f",{part}" for part in parts) + "}").encode()


def _lanes(count: int, blocks: int) -> bytes:
    inside = ",".join([BLOCK] * blocks)
    return _project('"lanes":[' + ",".join(LANE % (n, inside) for n in range(count)) + "]")


def _meshes(count: int) -> bytes:
    """A 3MF whose model unpacks to `count` bytes of nothing but vertices."""
    head = (
        '<?xml version="1.0"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/'
        'core/2015/02"><resources><object id="1" type="model"><mesh><vertices>'
    )
    vertex = '<vertex x="0" y="0" z="0"/>'
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        archive.writestr(
            "[Content_Types].xml",
            '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
            '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
            'relationships+xml"/><Default Extension="model" '
            'ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
            "</Types>",
        )
        archive.writestr(
            "_rels/.rels",
            '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
            'relationships"><Relationship Id="r" Target="/3D/3dmodel.model" '
            'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
        )
        with archive.open("3D/3dmodel.model", "w", force_zip64=True) as model:
            model.write(head.encode())
            part = vertex.encode() * 100_000
            for _ in range(count // len(part)):
                model.write(part)
    return made.getvalue()


def _stl(count: int) -> bytes:
    record = struct.pack("<12fH", *range(12), 0)
    return bytes(80) + struct.pack("<I", count) + record * count


CASES: dict[str, tuple[str, Callable[[], bytes]]] = {
    "project, 60 MB of blanks": ("project", lambda: b" " * SIZE),
    "project, 60 MB of opening brackets": ("project", lambda: b"[" * SIZE),
    "project, 16 MiB of one number": ("project", lambda: _project('"notes":' + "9" * 16_700_000)),
    "project, 16 MiB of one text": ("project", lambda: _project('"notes":"' + "x" * 16_700_000 + '"')),
    "project, 2,000,000 numbers": ("project", lambda: _project('"lanes":[' + "0," * 1_999_000 + "0]")),
    "project, 99 lists of 19,999 lists": (
        "project",
        lambda: _project('"lanes":[' + ",".join(["[" + "[]," * 9_999 + "[]]"] * 99) + "]"),
    ),
    "project, 990,000 empty objects": (
        "project",
        lambda: _project('"lanes":[' + ",".join(["[" + "{}," * 9_900 + "{}]"] * 99) + "]"),
    ),
    "project, 4,096 lanes of 40 blocks at a level that is not there": ("project", lambda: _lanes(4096, 40)),
    "project, 400 lanes of 720 blocks at such a level": ("project", lambda: _lanes(400, 720)),
    "project, 660,000 escapes": ("project", lambda: _project('"notes":"' + "\\u0041" * 2_780_000 + '"')),
    "project, 600 objects of 990 keys": (
        "project",
        lambda: _project(
            '"lanes":[' + ",".join(["{" + ",".join(f'"k{n}":0' for n in range(990)) + "}"] * 600) + "]"
        ),
    ),
    "project, 60 MB of random bytes": ("project", lambda: bytes(range(256)) * (SIZE // 256)),
    "points, 16 MB of lines": ("points", lambda: b"theta_deg,output_mm\n" + b"1,2\n" * 4_000_000),
    "points, 16 MB of words": ("points", lambda: b"theta_deg,output_mm\n" + b"x,2\n" * 4_000_000),
    "points, 16 MB of one line": ("points", lambda: b"theta_deg,output_mm\n" + b"12," * 5_300_000),
    "points, 16 MB of blank lines": ("points", lambda: b"theta_deg,output_mm\n" + b"\n" * 16_000_000),
    "points, 60 MB of lines": ("points", lambda: b"theta_deg,output_mm\n" + b"1,2\n" * (SIZE // 4)),
    "points, 60 MB of one cell": ("points", lambda: b"theta_deg,output_mm\n" + b"9" * SIZE),
    "points, 60 MB of commas": ("points", lambda: b"," * SIZE),
    "points, 60 MB of quotes": ("points", lambda: b"theta_deg,output_mm\n" + b'"' * SIZE),
    "points, 60 MB of blank lines": ("points", lambda: b"theta_deg,output_mm\n" + b"\n" * SIZE),
    "state table, 60 MB of cells": ("states", lambda: b"a\tb\tc\n" * (SIZE // 6)),
    "state table, 60 MB of one cell": ("states", lambda: b"a" * SIZE),
    "measurements, 60 MB of lines": ("rows", lambda: b"a\tb\tc\td\te\n" * (SIZE // 10)),
    "STL, 1,199,998 triangles": ("stl", lambda: _stl((SIZE - 84) // 50)),
    "STL, 4,294,967,295 triangles promised": ("stl", lambda: bytes(80) + b"\xff" * 4 + bytes(500)),
    "STL, the most triangles that are read": ("stl", lambda: _stl(_most_triangles())),
    "3MF, 4 GB of vertices packed": ("3mf", lambda: _meshes(4_000_000_000)),
    "3MF, 200 MB of vertices packed": ("3mf", lambda: _meshes(200_000_000)),
    "3MF, 60 MB of no archive": ("3mf", lambda: b"PK\x03\x04" * (SIZE // 4)),
}


def _most_triangles() -> int:
    from shaftscore.make.proof.rim import MOST_TRIANGLES  # late: its module is heavy, and memory is measured

    return MOST_TRIANGLES


@dataclass(frozen=True)
class Cost:
    """What refusing one file took: s of processor time without the start, MiB at most with it."""

    case: str
    megabytes: float
    seconds: float
    mebibytes: float
    said: str

    @property
    def holds(self) -> bool:
        return self.seconds <= MOST_S and self.mebibytes <= MOST_MIB


def read(kind: str, path: Path) -> str:
    """Read a file of a kind and give what was said of it; runs in the process that is measured."""
    from shaftscore.base.errors import ShaftscoreError

    try:
        READERS[kind](path)
    except ShaftscoreError as error:
        return str(error).split("\n")[1][:100] if "\n" in str(error) else str(error)[:100]
    return "accepted"


def _project_of(path: Path) -> object:
    from shaftscore.model.loader import load_project

    return load_project(path)


def _points_of(path: Path) -> object:
    from shaftscore.edits import read_points
    from shaftscore_app.runtime.files import read_within

    return read_points(read_within(path), path.name)


def _rows_of(path: Path) -> object:
    from shaftscore.make.asbuilt.pasted import read_rows
    from shaftscore.model import Project, Shaft

    blank = Project(format="shaftscore-project", version=2, shaft=Shaft(turn="clockwise", speed_rpm=6.0))
    return read_rows(blank, path.read_text("utf-8"))


def _stl_of(path: Path) -> object:
    from shaftscore.make.proof import read_stl

    return read_stl(path, "A1")


def _meshes_of(path: Path) -> object:
    from shaftscore.make.proof.reading.threemf import read_meshes

    return list(read_meshes(path, ROOM_OF_TEN_DISCS))


def _states_of(path: Path) -> object:
    from shaftscore.edits.state_table import read_sheet, split_text
    from shaftscore.model import Project, Shaft

    blank = Project(format="shaftscore-project", version=2, shaft=Shaft(turn="clockwise", speed_rpm=6.0))
    return read_sheet(blank, split_text(path.read_text("utf-8")))


READERS: dict[str, Callable[[Path], object]] = {
    "project": _project_of,
    "points": _points_of,
    "rows": _rows_of,
    "states": _states_of,
    "stl": _stl_of,
    "3mf": _meshes_of,
}


def measured(case: str, folder: Path) -> Cost:
    """Measure one case in a fresh process."""
    kind, make = CASES[case]
    path = folder / "bad"
    path.write_bytes(make())
    size = path.stat().st_size / 1e6
    command = [sys.executable, "-m", "benchmarks.bad_input", kind, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    path.unlink()
    if done.returncode:
        return Cost(case, size, float("inf"), float("inf"), done.stderr.strip().split("\n")[-1])
    return Cost(case, size, **json.loads(done.stdout))


def one(kind: str, path: Path) -> None:
    """Read one file and print what it took."""
    begin = time.process_time()
    said = read(kind, path)
    seconds = time.process_time() - begin
    peak = peak_mebibytes()
    print(json.dumps({"seconds": seconds, "mebibytes": peak, "said": said}))


def peak_mebibytes() -> float:
    """Return the most memory that this process has had, MiB."""
    status = Path("/proc/self/status")
    if status.exists():  # what the system counts for `getrusage` begins with the parent's memory
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (
        1024**2 if sys.platform == "darwin" else 1024
    )


def costs(chosen: str = "") -> list[Cost]:
    """Measure all cases whose name holds a text."""
    with tempfile.TemporaryDirectory() as folder:
        return [measured(case, Path(folder)) for case in CASES if chosen in case]


def main() -> int:
    if len(sys.argv) == 3:
        one(sys.argv[1], Path(sys.argv[2]))
        return 0
    found = costs(sys.argv[1] if len(sys.argv) == 2 else "")
    for cost in found:
        mark = "" if cost.holds else "  OVER"
        print(
            f"{cost.case:<66} {cost.megabytes:6.1f} MB {cost.seconds:6.2f} s {cost.mebibytes:6.0f} MiB{mark}"
            f"  {cost.said}"
        )
    if "--json" in sys.argv:
        print(json.dumps([asdict(cost) for cost in found]))
    return 0 if all(cost.holds for cost in found) else 1


if __name__ == "__main__":
    sys.exit(main())
