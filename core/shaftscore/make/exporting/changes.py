"""What changed since the export before: parts by the hashes of their inputs, contours by their distance.

A part that is *unchanged* need not be remade, whatever its lane is called by now. The files of the
export before are used where their contents still are what its manifest says.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shaftscore.base.errors import ExportError
from shaftscore.base.wording import millimetres
from shaftscore.make.files.names import is_plain_name
from shaftscore.make.files.order import OrderedPart, Planned
from shaftscore.make.proof import ReadRim, read_dxf, read_stl
from shaftscore.make.solids import MadePart

Reals = npt.NDArray[np.float64]
"""Distances, mm."""

Entry = Mapping[str, object]
"""An object of a manifest."""


@dataclass(frozen=True)
class Changed:
    """A part whose geometry changed; largest_mm: of its contour, None where no old file shows it."""

    code: str
    largest_mm: float | None


@dataclass(frozen=True)
class Changes:
    """Codes of the parts of an export, against the export before into the same folder.

    revisions: of the parts that have to be made, by code.
    """

    new: tuple[str, ...] = ()
    changed: tuple[Changed, ...] = ()
    unchanged: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    revisions: Mapping[str, str] = field(default_factory=dict, compare=False)

    @property
    def fresh(self) -> frozenset[str]:
        """Codes of what has to be made: new and changed parts."""
        return frozenset(self.new) | {part.code for part in self.changed}

    @property
    def any(self) -> bool:
        """Whether anything differs."""
        return bool(self.fresh or self.removed)


def changes_text(changes: Changes) -> str:
    """List the parts that are new, changed (with the largest difference), unchanged and removed."""
    changed = [
        part.code if part.largest_mm is None else f"{part.code} (by {millimetres(part.largest_mm, 2)})"
        for part in changes.changed
    ]
    named = (
        ("new", changes.new),
        ("changed", changed),
        ("unchanged", changes.unchanged),
        ("removed", changes.removed),
    )
    return "; ".join(f"{word} {', '.join(codes)}" for word, codes in named if codes)


def changes_since(before: Entry | None, items: Sequence[OrderedPart], out: Path) -> Changes:
    """Compare the parts with those of the manifest before."""
    old = {str(part["code"]): part for part in manifest_entries(before, "parts") if "code" in part}
    now = {item.part.code: item for item in items}
    same = {code for code, item in now.items() if code in old and old[code].get("hash") == item.part.hash}
    return Changes(
        new=tuple(code for code in now if code not in old),
        changed=tuple(
            Changed(code, _largest(before, out, item.part))
            for code, item in now.items()
            if code in old and code not in same
        ),
        unchanged=tuple(code for code in now if code in same),
        removed=tuple(code for code in old if code not in now),
        revisions={code: item.part.revision for code, item in now.items() if code not in same},
    )


def kept_file(before: Entry | None, out: Path, planned: Planned, changes: Changes) -> Entry | None:
    """Return the manifest's entry of the old file that serves as well as the planned one, if there is one.

    A part's file serves under whatever name it has; a file of the whole machine while nothing changed.
    """
    codes = {item.part.code for item in planned.items}
    if planned.always or (changes.any if planned.whole else bool(codes & changes.fresh)):
        return None
    for entry in manifest_entries(before, "files"):
        serves = entry.get("name") == planned.name if planned.whole else file_codes(entry) == codes
        if serves and entry.get("format") == planned.format:
            return entry if is_intact(out, entry) else None
    return None


def file_codes(entry: Entry) -> set[str]:
    """Return the codes of the parts in a file, as its manifest says."""
    codes = entry.get("parts")
    return set(map(str, codes)) if isinstance(codes, list) else set()


def manifest_entries(manifest: Entry | None, key: str) -> Iterator[Entry]:
    """Yield the objects in a list of a manifest, leaving out what is none."""
    found = manifest.get(key) if manifest else None
    for entry in found if isinstance(found, list) else ():
        if isinstance(entry, dict):
            yield entry


def is_intact(out: Path, entry: Entry) -> bool:
    """Return whether a file still has the contents that its manifest states."""
    try:
        data = (out / str(entry.get("name"))).read_bytes()
    except OSError:
        return False
    return hashlib.sha256(data).hexdigest() == entry.get("sha256")


def _largest(before: Entry | None, out: Path, part: MadePart) -> float | None:
    """Largest distance between the old running edge, as a file holds it, and the new one, mm."""
    rim = next(_old_rims(before, out, part), None)
    if rim is None or len(rim.start) == 0:
        return None
    ring = (part.groove.inner if part.groove else part.outline) @ np.array([1, 1j])
    there = _distances(ring, rim.start, rim.end).max()
    if part.groove is not None:
        return float(there)
    return float(max(there, _distances(rim.start, ring, np.roll(ring, -1)).max()))


def _old_rims(before: Entry | None, out: Path, part: MadePart) -> Iterator[ReadRim]:
    """Read the part's running edge from the files that can be read."""
    middle = sum(part.running_mm) / 2
    for entry in manifest_entries(before, "files"):
        name = str(entry.get("name"))
        if file_codes(entry) != {part.code} or not is_plain_name(name):
            continue
        try:
            if entry.get("format") == "stl":
                found = read_stl(out / name, part.code)
            elif entry.get("format") == "dxf":
                found = read_dxf(out / name, part.code)
            else:
                continue
            rim = found.parts[part.code].rim(middle - 0.01, middle + 0.01, grooved=part.groove is not None)
        except (ExportError, OSError):
            continue
        yield rim.facing(outward=True)


def _distances(
    points: npt.NDArray[np.complex128], start: npt.NDArray[np.complex128], end: npt.NDArray[np.complex128]
) -> Reals:
    """Distances of points (n,) from the nearest of straight edges (m,), mm."""
    along = end - start
    share = np.clip(((points[:, None] - start) * np.conj(along)).real / np.abs(along) ** 2, 0, 1)
    return np.asarray(np.abs(points[:, None] - start - share * along).min(axis=1))
