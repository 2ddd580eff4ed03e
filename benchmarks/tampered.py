"""Exported files that somebody changed: every one must be noticed.

Run with `python -m benchmarks.tampered`. `CHANGES` alters bytes and leaves the manifest as it is; the hashes
must notice. `geometry` takes the wrong files of tests/core/make/exporting, renews their hash in the manifest,
and asks the check of a folder, once with the project and once with the manifest's figures alone.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.exporting.changes import is_intact
from shaftscore.model.loader import load_project

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "sample_projects" / "paper_theatre.shaft"

Change = Callable[[bytes], bytes]
"""Makes other bytes of a file's bytes."""

Judge = Callable[[Path, str], bool]
"""Says whether it notices that a file (folder, name) is not what was exported."""


def _flipped(share: float) -> Change:
    """Return a change of one bit, at a share of the file's length."""

    def flip(data: bytes) -> bytes:
        at = min(int(share * len(data)), len(data) - 1)
        return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]

    return flip


CHANGES: Mapping[str, Change] = {
    "first bit": _flipped(0.0),
    "a bit in the middle": _flipped(0.5),
    "last bit": _flipped(1.0),
    "cut in half": lambda data: data[: len(data) // 2],
    "one byte short": lambda data: data[:-1],
    "one byte more": lambda data: data + b"\n",
    "empty": lambda data: data[:0],
    "turned round": lambda data: data[::-1],
}
"""Each makes other bytes of any file of more than two."""


@dataclass(frozen=True)
class TamperedFound:
    """How many files were changed, and which changes nobody noticed."""

    tried: int
    missed: tuple[str, ...]


def caught(folder: Path, changes: Mapping[str, Change], judge: Judge) -> TamperedFound:
    """Change each file of an export in each way, ask the judge, and put it back."""
    tried, missed = 0, []
    for path in sorted(folder.iterdir()):
        right = path.read_bytes()
        for name, change in changes.items() if path.name != "manifest.json" else ():
            path.write_bytes(change(right))
            tried += 1
            if not judge(folder, path.name):
                missed.append(f"{path.name}: {name}")
        path.write_bytes(right)
    return TamperedFound(tried, tuple(missed))


def hashes_notice(folder: Path, name: str) -> bool:
    """Return whether a file is not what its manifest says."""
    manifest: dict[str, Any] = json.loads((folder / "manifest.json").read_bytes())
    (entry,) = (file for file in manifest["files"] if file["name"] == name)
    return not is_intact(folder, entry)


def survey() -> TamperedFound:
    """Export a sample and change its files."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        export_project(load_project(SAMPLE), out, despite_errors=True)
        return caught(out, CHANGES, hashes_notice)


def geometry() -> TamperedFound:
    """Change the geometry in files of an export under renewed hashes, and have the folder checked."""
    from tests.core.make.exporting.test_tampering import cases, machine, with_file

    project, missed, tried = machine(), [], 0
    with tempfile.TemporaryDirectory() as made, tempfile.TemporaryDirectory() as place:
        out, folder = Path(made), Path(place)
        export_project(project, out, ["3mf", "stl", "dxf", "svg"])
        for name, way, change in cases():
            with_file(out, folder, name, change((out / name).read_bytes()))
            tried += 1
            for against in (project, None):
                if not check_folder(against, folder).faults:
                    missed.append(f"{name}: {way}{'' if against else ', by the manifest'}")
            (folder / name).unlink()
    return TamperedFound(tried, tuple(missed))


def main() -> int:
    surveys = survey(), geometry()
    for found in surveys:
        print(f"{found.tried} changed files, {len(found.missed)} not noticed: {', '.join(found.missed)}")
    return 1 if any(found.missed for found in surveys) else 0


if __name__ == "__main__":
    sys.exit(main())
