"""Manifests that no export could have written: each is refused, and nothing that it names is touched.

Run with `python -m benchmarks.forged`. Every case is a folder with files of a person's own and a manifest
that claims them; an export into it must end in one line, with every byte as it was.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.judge.report import Report, examine
from shaftscore.make.exporting import export_project
from shaftscore.model.loader import load_project

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "sample_projects" / "paper_theatre.shaft"

OWN = ("thesis.docx", "photo.stl", "A1_cup.exe", ".bashrc", "A1_cup.stl")
"""Files of the person's own, in the folder and in the one above it."""

NAMES: tuple[object, ...] = (
    *(
        "../thesis.docx",
        "../A1_cup.stl",
        "sub/../../photo.stl",
        "/etc/hostname",
        "~/.bashrc",
        "C:\\A1_cup.stl",
    ),
    *("thesis.docx", "photo.stl", ".bashrc", "A1_cup.exe", "a1_cup.stl", "A1_Cup.stl", "A1_cup.stl.bak"),
    *("A1_cup.3mf", "A1_cup.pdf", "plates.stl", "manifest.json", "moves.json", ".", "..", "", "A1_cup.stl/"),
    *(
        "A1_cup.stl\n",
        "A1_cup.stl\x00",
        "A1_cup\u202e.stl",
        " A1_cup.stl",
        "ABC1.stl",
        "A123.stl",
        "A1__é.stl",
    ),
    *(None, 7, True, 1.5, ["A1_cup.stl"], {"name": "A1_cup.stl"}),
)
"""What a manifest could name; none is a name that an export gives."""


def entry(name: object = "A1_cup.stl", **more: object) -> dict[str, object]:
    """Return a manifest's entry of a file."""
    return {"name": name, "format": "stl", "parts": ["A1"], "bytes": 4, "sha256": "0" * 64, **more}


def manifest(**more: object) -> bytes:
    """Return a manifest's bytes, right but for what is given."""
    whole = {"format": "shaftscore-export", "version": 1, "project": "x", "parts": [], "files": []}
    return json.dumps({**whole, **more}).encode()


def shapes() -> Iterator[tuple[str, bytes]]:
    """Yield manifests whose values have forms that no export gives them."""
    odd: tuple[object, ...] = (None, True, -1, "x", [], {}, [[]], ["../A1"])
    for key in ("format", "parts", "bytes", "sha256"):
        for value in odd:
            if not (key == "parts" and value == []):
                yield f"file {key} {value!r}", manifest(files=[entry(**{key: value})])
    part = {"code": "A1", "lane": "cup", "hash": "0" * 64}
    for key in ("code", "hash"):
        for value in odd:
            yield f"part {key} {value!r}", manifest(parts=[{**part, key: value}])
    for key in ("files", "parts", "project", "format", "version"):
        for value in (None, True, -1, {}, [3]):
            if not (key == "version" and value is True):  # which equals 1
                yield f"{key} {value!r}", manifest(**{key: value})
    yield "twice", manifest(files=[entry(), entry()])
    yield "deep", manifest()[:-1] + b',"x":' + b"[" * 300_000
    yield "not UTF-8", b"\xff" + manifest()
    yield "cut off", manifest()[:-1]


def _as_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()
    (path / "thesis.docx").write_bytes(b"mine")


def _as_link(path: Path) -> None:
    path.unlink()
    path.symlink_to(path.parent.parent / "thesis.docx")


def _as_pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def cases() -> Iterator[tuple[str, bytes, Callable[[Path], None]]]:
    """Yield every case: its name, the manifest, and what is done to `A1_cup.stl` first."""
    for name in NAMES:
        yield f"name {name!r}", manifest(files=[entry(name)]), lambda _path: None
    for name, data in shapes():
        yield name, data, lambda _path: None
    for kind, make in (("folder", _as_folder), ("link", _as_link), ("pipe", _as_pipe)):
        yield f"a {kind} called A1_cup.stl", manifest(files=[entry()]), make


@dataclass(frozen=True)
class ForgedFound:
    """How many manifests were tried, and the names of those that were believed or cost something."""

    tried: int
    wrong: tuple[str, ...]


def survey() -> ForgedFound:
    """Export into a folder of each case."""
    report = examine(load_project(SAMPLE))
    tried, wrong = 0, []
    for name, data, make in cases():
        tried += 1
        if not _is_safe(report, data, make):
            wrong.append(name)
    return ForgedFound(tried, tuple(wrong))


def _is_safe(report: Report, data: bytes, make: Callable[[Path], None]) -> bool:
    """Return whether an export refuses a manifest in one line and leaves every byte where it was."""
    with tempfile.TemporaryDirectory() as place:
        above, out = Path(place), Path(place) / "out"
        out.mkdir()
        for folder in (above, out):
            for own in OWN:
                (folder / own).write_bytes(b"mine")
        make(out / "A1_cup.stl")
        (out / "manifest.json").write_bytes(data)
        before = _content(above)
        try:
            export_project(report, out, ["svg"], despite_errors=True)
        except ExportError as error:
            return "\n" not in str(error) and _content(above) == before
        return False


def _content(folder: Path) -> dict[str, object]:
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else path.is_dir()
        for path in sorted(folder.rglob("*"))
    }


def main() -> int:
    found = survey()
    print(f"{found.tried} forged manifests, {len(found.wrong)} believed: {', '.join(found.wrong)}")
    return 1 if found.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
