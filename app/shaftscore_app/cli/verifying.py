"""What `verify` prints, and how it ends."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from math import isfinite
from pathlib import Path

from shaftscore.base.errors import one_line
from shaftscore.base.wording import counted
from shaftscore.make.assembly import assembly_json, assembly_text
from shaftscore.make.exporting.against import FileCheck, FolderCheck, check_folder, checks_by_state
from shaftscore.make.proof import FileFault
from shaftscore.model import Project
from shaftscore_app.cli.exporting import Lines

NOT_COMPARED = "program not compared"
"""Said where no project was named."""


def print_verification(project: Project | None, folder: Path, *, full: bool, as_json: bool) -> int:
    """Check a folder, print what was found, and return the exit code: 0 proved, 1 faults.

    Raises ExportError if there is no export in the folder, or the project has nothing to make.
    """
    progress = Lines()
    try:
        found = check_folder(project, folder, progress, full=full)
    finally:
        progress.done()
    if as_json:
        print(json.dumps(verification_json(found), indent=2, ensure_ascii=True, allow_nan=False))
    else:
        print("\n".join(verification_lines(found)))
    sys.stdout.flush()
    return 0 if is_proved(found) else 1


def is_proved(found: FolderCheck) -> bool:
    """Return whether every file and the assembly hold, and there is a file."""
    return not found.faults and any(file.read for file in found.files)


def verification_lines(found: FolderCheck) -> Iterator[str]:
    """Yield the faults, one a line, then what was compared and how it came out."""
    yield from found.faults
    states = checks_by_state(found)
    if found.assembly is not None:
        yield assembly_text(found.assembly)
    if found.left_out:
        yield f"{counted(len(found.left_out), 'file')} compared by hash only: {_kinds(found)}."
    good, bad = len(states["proved"]), len(states["faulty"])
    against = (
        f"compared with the program of {one_line(found.against)}"
        if found.against is not None
        else f"compared with the figures in the manifest; {NOT_COMPARED}"
    )
    if is_proved(found):
        yield f"Proved: {counted(good, 'file')} read back, {against}."
    elif found.found:
        faults = f"{counted(len(found.found), 'fault')} in {counted(bad, 'file')}"
        yield f"{faults}; {counted(good, 'file')} proved, {against}."
    elif found.faults:
        yield f"{counted(good, 'file')} proved, {against}; the assembly is not proved."
    else:
        yield f"Nothing proved: no file of the folder holds a part that can be read back; {NOT_COMPARED}."


def _kinds(found: FolderCheck) -> str:
    kinds = dict.fromkeys(file.format.upper() for file in found.files if not file.read)
    return ", ".join(one_line(kind) for kind in kinds)


def verification_json(found: FolderCheck) -> dict[str, object]:
    """Return the object that `verify --json` prints."""
    return {
        "folder": str(found.folder),
        "proved": is_proved(found),
        "program": found.against,
        "compared": "manifest" if found.against is None else "program",
        "files": [_file(file) for file in found.files],
        "faults": [_fault(fault) for fault in found.found],
        "assembly": None if found.assembly is None else assembly_json(found.assembly),
    }


def _file(file: FileCheck) -> dict[str, object]:
    return {
        "name": file.name,
        "format": file.format,
        "parts": list(file.parts),
        "changed": file.changed,
        "read": file.read,
        "holds": not file.faults,
        "largest_lift_error_mm": _largest(file),
    }


def _largest(file: FileCheck) -> float | None:
    """Return the largest difference of a lift in a file, mm; None where no follower ran over it."""
    errors = [abs(proof.lift_error_mm) for proof in file.proofs]
    return round(max(errors), 6) if errors and all(map(isfinite, errors)) else None


def _fault(fault: FileFault) -> dict[str, object]:
    return {
        "file": fault.file,
        "part": fault.part or None,
        "what": fault.what,
        "by": _finite(fault.by),
        "limit": _finite(fault.limit),
        "unit": fault.unit or None,
    }


def _finite(value: float | None) -> float | None:
    return value if value is not None and isfinite(value) else None
