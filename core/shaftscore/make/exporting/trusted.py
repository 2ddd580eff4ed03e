"""What of a manifest is believed: only what an export could have written.

A manifest may come with a folder from anywhere. It decides which files are replaced and removed, so one that
names anything else (another folder, a file of another kind, a link) is refused, and nothing it
names is touched.
"""

from __future__ import annotations

import json
import re
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.make.files.names import is_code, is_export_name

Entry = Mapping[str, object]
"""An object of a manifest."""

MOST_BYTES = 64 << 20
"""A longer manifest is not read: 4,096 discs in all formats have 20 MB."""

_HASH = re.compile(r"[0-9a-f]{64}\Z")


def read_entries(path: Path) -> Entry | None:
    """Return the object in a manifest's file, None where there is no file, an empty one for anything else.

    Raises OSError where it cannot be read.
    """
    try:
        there = path.lstat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(there.st_mode) or there.st_size > MOST_BYTES:
        return {}
    try:
        found = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def trusted_names(manifest: Entry, out: Path) -> frozenset[str]:
    """Return the names of the files that an earlier export made in a folder.

    Raises ExportError if the manifest says anything that no export writes, or if one of its names stands for
    what is no plain file.
    """
    where = out / "manifest.json"
    files = manifest.get("files")
    for entry in files if isinstance(files, list) else [{}]:
        name = entry.get("name") if isinstance(entry, dict) else None
        if not isinstance(name, str) or not is_export_name(name):
            raise ExportError(f"{where} names {name!r}, which no export writes: choose another folder")
    wrong = next(_wrong(manifest), "")
    if wrong:
        raise ExportError(f"{where} says of {wrong}, which no export writes: choose another folder")
    names = frozenset(str(entry["name"]) for entry in _objects(manifest, "files"))
    for name in sorted(names):
        if _is_odd(out / name):
            raise ExportError(f"{out / name} is no file that an export wrote: choose another folder")
    return names


def _wrong(manifest: Entry) -> Iterator[str]:
    """Yield what in a manifest has a form that no export gives it; names are looked at before."""
    if not isinstance(manifest.get("project"), str):
        yield f"its project {manifest.get('project')!r}"
    seen: set[object] = set()
    for file in _objects(manifest, "files"):
        yield from (f"{file['name']} {key} {file.get(key)!r}" for key in _wrong_in_file(file))
        if file["name"] in seen:
            yield f"{file['name']} everything twice"
        seen.add(file["name"])
    parts = manifest.get("parts")
    if not isinstance(parts, list) or not all(isinstance(part, dict) for part in parts):
        yield "its parts no list of objects"
    for part in _objects(manifest, "parts"):
        yield from (f"a part {key} {part.get(key)!r}" for key in _wrong_in_part(part))


def _wrong_in_file(file: Entry) -> Iterator[str]:
    """Yield the keys of a file's entry whose values no export writes."""
    size, codes = file.get("bytes"), file.get("parts")
    if str(file["name"]).rpartition(".")[2] != file.get("format"):
        yield "format"
    if not isinstance(codes, list) or not all(isinstance(code, str) and is_code(code) for code in codes):
        yield "parts"
    if not isinstance(size, int) or isinstance(size, bool) or size < 0:
        yield "bytes"
    if not _is_hash(file.get("sha256")):
        yield "sha256"


def _wrong_in_part(part: Entry) -> Iterator[str]:
    """Yield the keys of a part's entry whose values no export writes."""
    code, lane = part.get("code"), part.get("lane")
    if not isinstance(code, str) or not is_code(code):
        yield "code"
    if lane is not None and not isinstance(lane, str):
        yield "lane"
    if not _is_hash(part.get("hash")):
        yield "hash"


def _is_hash(value: object) -> bool:
    return isinstance(value, str) and _HASH.match(value) is not None


def _objects(manifest: Entry, key: str) -> Iterator[Entry]:
    found = manifest.get(key)
    yield from (entry for entry in found if isinstance(entry, dict)) if isinstance(found, list) else ()


def _is_odd(path: Path) -> bool:
    """Return whether something other than a plain file has a name."""
    try:
        return not stat.S_ISREG(path.lstat().st_mode)
    except FileNotFoundError:
        return False
