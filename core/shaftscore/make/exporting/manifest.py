"""The manifest: what an export wrote, from what, and what the proof found; read by the next export.

Parts are identified by the hash of what their geometry is made from (`make.solids.revision`), never by
their files: another version of a library may write other bytes for the same disc.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

from shaftscore.base.errors import ExportError
from shaftscore.base.tolerance import (
    CHORD_MM,
    PROOF_LIFT_MM,
    PROOF_PLAY_DEG,
    PROOF_SEAT_MM,
    PROOF_STATE_DEG,
    PROOF_STATE_MM,
)
from shaftscore.make.exporting.outcome import RemovedFile
from shaftscore.make.exporting.staging import MANIFEST_NAME
from shaftscore.make.exporting.trusted import read_entries, trusted_names
from shaftscore.make.files.estimate import PrintEstimate, assumptions, summed
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.files.plate_loads import plate_loads
from shaftscore.make.proof import DiscProof, FileVerdict, FitProof, recorded_shape, shape_of
from shaftscore.make.solids.exact import left_out

MANIFEST_FORMAT = "shaftscore-export"
MANIFEST_VERSION = 1

LIBRARIES = ("manifold3d", "lib3mf", "ezdxf", "reportlab", "numpy", "cadquery-ocp-novtk")
"""Libraries whose version can change the bytes of a file."""

LIMITS = {
    "chord_mm": CHORD_MM,
    "lift_mm": PROOF_LIFT_MM,
    "state_deg": PROOF_STATE_DEG,
    "state_mm": PROOF_STATE_MM,
    "play_deg": PROOF_PLAY_DEG,
    "seat_mm": PROOF_SEAT_MM,
}
"""What the files are held against; a state's end may shift by state_deg, or state_mm over the slope there."""


@dataclass(frozen=True)
class FileEntry:
    """One file: its name, format, the codes of the parts in it, size and SHA-256.

    copies: where each copy is built, (x, y, z) mm by code, then the angle of a turned one, degrees; empty for
    a format that does not say.
    """

    name: str
    format: str
    parts: tuple[str, ...]
    bytes: int
    sha256: str
    copies: Mapping[str, Sequence[Sequence[float]]] = field(default_factory=dict)


@dataclass(frozen=True)
class PartEntry:
    """One part (a spacer has no lane): the hash of its inputs, its own files, and what the proofs found.

    kind: as in `MadePart`.
    shape: what it should be (`make.proof.recorded_shape`); printed_shape: the same with the corrections for a
    printer, None if there are none. exact_without: what its exact solid leaves out. fit: how far the part in
    each file can turn and shift. estimate: what one of it needs on a printer, None if no file of the export
    serves one.
    """

    code: str
    kind: str
    name: str
    lane: str | None
    stack: str
    count: int
    revision: str
    hash: str
    files: tuple[str, ...]
    proof: tuple[Mapping[str, object], ...]
    shape: Mapping[str, object]
    printed_shape: Mapping[str, object] | None
    exact_without: tuple[str, ...]
    fit: tuple[Mapping[str, object], ...] = ()
    estimate: Mapping[str, object] | None = None


def file_entry(file: Planned, data: bytes) -> FileEntry:
    """Describe a file by its bytes."""
    return entry_of(file, len(data), hashlib.sha256(data).hexdigest())


def entry_of(file: Planned, size: int, sha256: str) -> FileEntry:
    """Describe a file by its size and its SHA-256."""
    codes = tuple(item.part.code for item in file.items)
    return FileEntry(file.name, file.format, codes, size, sha256, copies_of(file))


def copies_of(file: Planned) -> dict[str, list[list[float]]]:
    """Return where a planned file builds each copy, (x, y, z) mm by code, rounded to 1e-6 mm."""
    places = file.copies.places if file.copies else {}
    return {code: [[round(value, 6) for value in place] for place in found] for code, found in places.items()}


def kept_entry(entry: Mapping[str, object]) -> FileEntry:
    """Take a file over from the manifest before."""
    codes, copies = entry["parts"], entry.get("copies")
    return FileEntry(
        name=str(entry["name"]),
        format=str(entry["format"]),
        parts=tuple(map(str, codes)) if isinstance(codes, list) else (),
        bytes=int(str(entry["bytes"])),
        sha256=str(entry["sha256"]),
        copies=copies if isinstance(copies, dict) else {},
    )


@dataclass
class PartFindings:
    """What an export found of one part: names of its own files, proofs and fits in any file."""

    files: list[str] = field(default_factory=list)
    proofs: list[DiscProof] = field(default_factory=list)
    fits: list[FitProof] = field(default_factory=list)


def findings_by_code(files: Iterable[FileEntry], verdict: FileVerdict) -> defaultdict[str, PartFindings]:
    """Return what was found of each part, by its code; files and verdict are those of the whole export."""
    found: defaultdict[str, PartFindings] = defaultdict(PartFindings)
    for file in files:
        found[re.split("[_.]", file.name, maxsplit=1)[0]].files.append(file.name)
    for proof in verdict.proofs:
        found[proof.part].proofs.append(proof)
    for fit in verdict.fits:
        found[fit.part].fits.append(fit)
    return found


def part_entry(item: OrderedPart, found: PartFindings, need: PrintEstimate | None = None) -> PartEntry:
    """Describe a part; need: what one of it needs."""
    part = item.part
    shape, corrected = (recorded_shape(shape_of(part, made)) for made in ("drawn", "printed"))
    return PartEntry(
        code=part.code,
        kind=part.kind,
        name=part.label,
        lane=part.lane_id,
        stack=part.stack_id,
        count=part.count,
        revision=part.revision,
        hash=part.hash,
        files=tuple(found.files),
        proof=tuple(proof_entry(proof) for proof in found.proofs),
        shape=shape,
        printed_shape=None if corrected == shape else corrected,
        exact_without=left_out(part),
        fit=tuple(fit_entry(fit) for fit in found.fits),
        estimate=None if need is None else estimate_entry(need),
    )


def estimate_entry(need: PrintEstimate) -> dict[str, object]:
    """Return what is needed on a printer, for the manifest; an unknown mass is null."""
    mass = None if need.mass_g is None else round(need.mass_g, 1)
    return {"mass_g": mass, "hours": round(need.hours, 3), "filament_m": round(need.filament_m, 2)}


def estimates_entry(order: MakeOrder) -> dict[str, object] | None:
    """Return the plates and what each needs, for the manifest; None if no file serves a printer."""
    if not serves_printer(order):
        return None
    loads = plate_loads(order)
    return {
        "assumptions": assumptions(order.report.project.print),
        "plates": [{"parts": dict(load.counts), **estimate_entry(load.estimate)} for load in loads],
        "all": estimate_entry(summed(load.estimate for load in loads)),
    }


def serves_printer(order: MakeOrder) -> bool:
    """Return whether an order holds files that need the bodies for a printer."""
    return bool({"3mf", "stl", "csv", "manual"}.intersection(order.formats))


def proof_entry(proof: DiscProof) -> dict[str, object]:
    """Return the figures of a proof for the manifest; what is no number is null."""
    figures = asdict(proof)
    return {
        key: None if isinstance(value, float) and not np.isfinite(value) else _short(value)
        for key, value in figures.items()
    } | {"holds": not proof.faults}


def fit_entry(fit: FitProof) -> dict[str, object]:
    """Return the figures of a fit for the manifest; a play is null where the part turns freely."""
    return {
        "file": fit.file,
        "on": fit.name,
        "play_deg": [round(play, 4) if np.isfinite(play) else None for play in fit.play_deg],
        "seat_mm": round(fit.seat_mm, 5),
        "program_deg": round(fit.program_deg, 4) if np.isfinite(fit.program_deg) else None,
        "holds": not fit.found,
    }


def _short(value: object) -> object:
    return round(value, 6) if isinstance(value, float) else value


def manifest_of(
    project_name: str,
    formats: Sequence[str],
    parts: Iterable[PartEntry],
    files: Iterable[FileEntry],
    notes: Sequence[str],
    *,
    program: str = "",
    removed: Iterable[RemovedFile] = (),
    verdict: Mapping[str, object] | None = None,
    fits: Iterable[Mapping[str, object]] = (),
    estimates: Mapping[str, object] | None = None,
) -> dict[str, object]:
    """Gather the manifest, as it reads back from its file.

    program: hash of the project's saved form. removed: files of the export before that are gone. verdict:
    what was found, and what of the machine was described, when it was written. fits: what the parts of each
    stack are put on (`make.proof.mates`). estimates: what the plates need (`estimates_entry`).
    """
    gathered = {
        "format": MANIFEST_FORMAT,
        "version": MANIFEST_VERSION,
        "project": project_name,
        "made_with": {name: _version(name) for name in ("shaftscore", *LIBRARIES)},
        "formats": list(formats),
        "limits": LIMITS,
        "parts": [asdict(part) for part in parts],
        "files": [asdict(file) for file in files],
        "notes": list(notes),
        "program": program,
        "removed": [asdict(file) for file in removed],
        "verdict": dict(verdict or {}),
        "fits": list(fits),
        "estimates": estimates,
    }
    read_back: dict[str, object] = json.loads(manifest_bytes(gathered))
    return read_back


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def manifest_bytes(manifest: Mapping[str, object]) -> bytes:
    """Write the manifest as JSON text."""
    return (json.dumps(manifest, indent=1, ensure_ascii=True, allow_nan=False) + "\n").encode("ascii")


def read_manifest(out: Path) -> Mapping[str, object] | None:
    """Read the manifest of an earlier export in a folder; None if there is none.

    Raises ExportError for a file of that name that no export made.
    """
    path = out / MANIFEST_NAME
    found = read_entries(path)
    if found is None:
        return None
    if found.get("format") != MANIFEST_FORMAT:
        raise ExportError(f"{path} was not made by an export and is not replaced: choose another folder")
    if found.get("version") != MANIFEST_VERSION:
        raise ExportError(
            f"{path} is of version {found.get('version')!r}, this program knows {MANIFEST_VERSION}: "
            "choose another folder"
        )
    return found


def owned_names(manifest: Mapping[str, object] | None, out: Path) -> frozenset[str]:
    """Return the names of the files that an earlier export made.

    Raises ExportError if the manifest says anything that no export writes.
    """
    return trusted_names(manifest, out) if manifest else frozenset()
