"""The manifest: what an export wrote, from what, and what the proof found; read by the next export.

Parts are told apart by a hash of what their geometry is made from, rounded to 1e-6 mm, never by their
files: another version of a library may write other bytes for the same disc.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

from core.errors import ExportError
from core.export.names import is_plain_name
from core.export.staging import MANIFEST_NAME
from core.profiles import Profile
from core.proof import DiscProof
from core.solids import DiscPart

MANIFEST_FORMAT = "shaftscore-export"
MANIFEST_VERSION = 1

GEOMETRY_VERSION = 1
"""Counted up whenever the same inputs come to make another shape."""

ROUND_MM = 6
"""Decimals, in mm, to which inputs are rounded before they are hashed."""

SAMPLE_DEG = 0.5
"""Angle between the places of the profile that are hashed."""

LIBRARIES = ("manifold3d", "ezdxf", "numpy")
"""Libraries whose version can change the bytes of a file."""


@dataclass(frozen=True)
class FileEntry:
    """One file: its name, format, size and SHA-256."""

    name: str
    format: str
    bytes: int
    sha256: str


@dataclass(frozen=True)
class PartEntry:
    """One part: what it is, the hash of its geometry's inputs, its files and their proofs."""

    lane: str
    code: str
    name: str
    stack: str
    hash: str
    files: tuple[str, ...]
    proof: tuple[Mapping[str, object], ...]


def file_entry(name: str, kind: str, data: bytes) -> FileEntry:
    """Describe a file."""
    return FileEntry(name, kind, len(data), hashlib.sha256(data).hexdigest())


def geometry_hash(part: DiscPart, profile: Profile) -> str:
    """Hash everything that the part's shape is made from (SHA-256, hexadecimal).

    The flanks enter by their points at every 0.5 degree, the bore and the marks by their curves, so
    that a project that is written in another way but asks for the same disc gives the same hash.
    """
    theta = np.arange(0.0, 360.0, SAMPLE_DEG)
    at = profile.at(theta)
    lines = [at.offset(profile.distance_mm(flank)) for flank in profile.flanks]
    bores = [np.array(bore.vertices) for bore in (part.bore, part.printer_bore)]
    curves = [*lines, *bores, *part.marks.strokes]
    numbers = (
        part.thickness_mm,
        part.chamfer_mm,
        part.marks.width_mm,
        part.marks.depth_mm,
        part.contour_mm,
        part.groove.depth_mm if part.groove else 0.0,
        profile.model.roller_radius_mm,
        *part.bore.bulges,
    )
    digest = hashlib.sha256(f"{GEOMETRY_VERSION} {profile.model.kind} {part.direction} {part.code}".encode())
    for curve in curves:
        digest.update(_rounded(np.column_stack([curve.real, curve.imag])))
    digest.update(_rounded(np.array(numbers)))
    return digest.hexdigest()


def _rounded(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> bytes:
    """Give values as whole millionths of a mm, little-endian, with their count."""
    whole = np.round(values * 10**ROUND_MM).astype("<i8")
    return bytes(np.array([whole.size], "<i8").tobytes() + whole.tobytes())


def proof_entry(proof: DiscProof) -> dict[str, object]:
    """Give the figures of a proof for the manifest; what is no number is null."""
    figures = asdict(proof)
    return {
        key: None if isinstance(value, float) and not np.isfinite(value) else _short(value)
        for key, value in figures.items()
    } | {"holds": not proof.faults}


def _short(value: object) -> object:
    return round(value, 6) if isinstance(value, float) else value


def manifest_of(
    project_name: str,
    formats: Sequence[str],
    parts: Iterable[PartEntry],
    files: Iterable[FileEntry],
    notes: Sequence[str],
) -> dict[str, object]:
    """Gather the manifest, as it reads back from its file."""
    gathered = {
        "format": MANIFEST_FORMAT,
        "version": MANIFEST_VERSION,
        "project": project_name,
        "made_with": {name: _version(name) for name in ("shaftscore", *LIBRARIES)},
        "formats": list(formats),
        "parts": [asdict(part) for part in parts],
        "files": [asdict(file) for file in files],
        "notes": list(notes),
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
    try:
        found = json.loads(path.read_bytes())
    except FileNotFoundError:
        return None
    except ValueError:
        found = None
    if not isinstance(found, dict) or found.get("format") != MANIFEST_FORMAT:
        raise ExportError(f"{path} was not made by an export and is not replaced: choose another folder")
    if found.get("version") != MANIFEST_VERSION:
        raise ExportError(
            f"{path} is of version {found.get('version')!r}, this program knows {MANIFEST_VERSION}: "
            "choose another folder"
        )
    return found


def owned_names(manifest: Mapping[str, object] | None, out: Path) -> frozenset[str]:
    """Give the names of the files that an earlier export made.

    Raises ExportError if the manifest names anything but plain files of its own folder.
    """
    files = manifest.get("files") if manifest else []
    names = (
        [file.get("name") for file in files if isinstance(file, dict)] if isinstance(files, list) else [None]
    )
    wrong = [name for name in names if not isinstance(name, str) or not is_plain_name(name)]
    if wrong:
        raise ExportError(
            f"{out / MANIFEST_NAME} names {wrong[0]!r}, which is no file of an export: choose another folder"
        )
    return frozenset(str(name) for name in names)
