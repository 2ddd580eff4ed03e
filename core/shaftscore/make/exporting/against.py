"""A folder of an earlier export: are its files what was exported, do they hold, which parts to remake.

Nothing is written. Files are named by the manifest of the export. Each is first compared with the hash in
it, then read back as after an export: against the parts and programs of a project, or, without one,
against the shapes and places that the manifest records.
"""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.make.assembly import AssemblyProof, assembly_of
from shaftscore.make.exporting.changes import Changes, changes_since
from shaftscore.make.exporting.formats import FORMATS, format_named, missing, planned_files, planned_for
from shaftscore.make.exporting.gather import gather
from shaftscore.make.exporting.manifest import MANIFEST_FORMAT, owned_names, read_manifest
from shaftscore.make.exporting.reading import judged, verdict_of
from shaftscore.make.exporting.recorded import RecordedParts
from shaftscore.make.exporting.staging import MANIFEST_NAME
from shaftscore.make.files.names import holds_parts, is_plain_name
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof import READERS, DiscProof, FileFault, FileVerdict, FitProof, Judge, unreadable
from shaftscore.model import Project

SHAPED, READ = 0.3, 0.9
"""Fractions of the work at which all parts are shaped, and all files read."""

CHUNK = 1 << 20
"""So many bytes are hashed at a time."""

LARGEST_MANIFEST = 64 << 20
"""Most bytes of a manifest that is read: 64 lanes take 0.5 MB."""

Entry = Mapping[str, object]
"""An object of a manifest."""

Look = Callable[[str, Path, Entry], FileVerdict | None]
"""Judges a file (format, path, entry); None where nothing but its hash can be compared."""


@dataclass(frozen=True)
class FileCheck:
    """What was found of one file.

    changed: its bytes are not those that were exported. read: it was read back and compared, not its hash
    alone. proofs: one a disc that a follower was run over. fits: one a fit of a part.
    """

    name: str
    format: str
    parts: tuple[str, ...]
    changed: bool
    read: bool
    proofs: tuple[DiscProof, ...]
    faults: tuple[FileFault, ...]
    fits: tuple[FitProof, ...] = ()


@dataclass(frozen=True)
class FolderCheck:
    """What was found in a folder.

    against: name of the project with which files were compared, None without one. more: faults that are not
    of a file that the manifest names. files: in the order of the manifest. assembly: what was found of all
    parts put together, None without a project or where no part was read back.
    """

    folder: Path
    against: str | None
    files: tuple[FileCheck, ...]
    more: tuple[FileFault, ...] = field(default=())
    assembly: AssemblyProof | None = None

    @property
    def found(self) -> tuple[FileFault, ...]:
        """All faults of files."""
        return (*self.more, *(fault for file in self.files for fault in file.faults))

    @property
    def faults(self) -> tuple[str, ...]:
        """All faults, those of the assembly too, a line each."""
        together = () if self.assembly is None else self.assembly.faults
        return (*(fault.text for fault in self.found), *(fault.what for fault in together))

    @property
    def proofs(self) -> tuple[DiscProof, ...]:
        """One a disc in a file that its follower was run over."""
        return tuple(proof for file in self.files for proof in file.proofs)

    @property
    def left_out(self) -> tuple[str, ...]:
        """Names of the files of which only the hash was compared."""
        return tuple(file.name for file in self.files if not file.read)


def made_again(project: Project, folder: Path, progress: Progress | None = None) -> Changes:
    """Return which parts are new, changed, unchanged and removed since the export into a folder.

    Raises ExportError if there is no export in it, or the project has nothing to make.
    """
    before = read_manifest(folder) if folder.is_dir() else None
    if before is None:
        raise ExportError(_no_export(folder))
    owned_names(before, folder)
    return changes_since(before, _order(project, progress or Silent()).items, folder)


def check_folder(
    project: Project | None, folder: Path, progress: Progress | None = None, *, full: bool = False
) -> FolderCheck:
    """Compare every file of an earlier export with its hash, and its parts with the project or the manifest.

    full: compare lifts at the finest step, read every body by itself, and turn the assembly through the cycle
    in steps of 1°. Raises ExportError if there is no export in the folder, or the project has nothing to
    make.
    """
    progress = progress or Silent()
    manifest, more = _manifest(folder)
    judge = Judge(full=full)
    order = None
    if project is None:
        look = _recorded(manifest, judge)
        entries, wrong = _entries(manifest)
    else:
        order = _order(project, progress)
        look = _planned(order, judge)
        entries, wrong = _entries(manifest) if not more else (_guessed(order, folder), [])
    share = Share(progress, SHAPED if project else 0.0, READ if project else 1.0)
    files = []
    for number, entry in enumerate(entries):
        share.report(number / len(entries), f"Reading {entry['name']}")
        files.append(_checked(folder, entry, look))
    found = FolderCheck(folder, None if project is None else project.name, tuple(files), (*more, *wrong))
    return found if order is None else replace(found, assembly=_assembly(found, order, judge, progress))


def _assembly(found: FolderCheck, order: MakeOrder, judge: Judge, progress: Progress) -> AssemblyProof | None:
    """Prove the assembly of the parts that were read back."""
    fits = [fit for file in found.files for fit in file.fits]
    return assembly_of(order, judge.bodies, fits, Share(progress, READ, 1.0), full=judge.full)


def _no_export(folder: Path) -> str:
    return f"{folder} holds no export: there is no {MANIFEST_NAME} in it"


def _order(project: Project, progress: Progress) -> MakeOrder:
    progress.report(0.0, "Checking the project")
    return gather(examine(project, stage=QUICK), (), Share(progress, 0.05, SHAPED), True)


def _manifest(folder: Path) -> tuple[Entry, list[FileFault]]:
    """Read the manifest; a damaged one is empty, with the fault that says so.

    Raises ExportError if there is none, or it is one of something else or of another version.
    """
    path = folder / MANIFEST_NAME
    if not path.is_file():
        raise ExportError(_no_export(folder))
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_MANIFEST + 1)
        if len(data) > LARGEST_MANIFEST:
            raise ValueError(f"it has over {LARGEST_MANIFEST:,} bytes")
        found = json.loads(data)
    except (ValueError, RecursionError) as error:
        return {}, [FileFault(MANIFEST_NAME, "", f"is damaged and cannot be read: {error}")]
    if isinstance(found, dict) and found.get("format") == MANIFEST_FORMAT:
        read_manifest(folder)  # says what is wrong with its version
        return found, []
    raise ExportError(f"{path} was not made by an export")


def _entries(manifest: Entry) -> tuple[list[Entry], list[FileFault]]:
    """Return what the manifest says of files, and a fault for each entry that is none of an export."""
    files = manifest.get("files", [] if not manifest else None)
    if not isinstance(files, list):
        return [], [FileFault(MANIFEST_NAME, "", "is damaged: it lists no files")]
    good: list[Entry] = []
    wrong: list[FileFault] = []
    for place, entry in enumerate(files):
        name = entry.get("name") if isinstance(entry, dict) else None
        if isinstance(entry, dict) and isinstance(name, str) and is_plain_name(name):
            good.append(entry)
        else:
            said = f"is damaged: entry {place} of its files names {name!r:.80}"
            wrong.append(FileFault(MANIFEST_NAME, "", said))
    return good, wrong


def _guessed(order: MakeOrder, folder: Path) -> list[Entry]:
    """Return entries, without size and hash, of the files of an export of the project that are there."""
    formats = tuple(kind for kind in FORMATS if not missing(kind))
    planned = planned_files(replace(order, formats=formats))
    return [
        {"name": file.name, "format": file.format, "parts": [item.part.code for item in file.items]}
        for file in planned
        if (folder / file.name).is_file()
    ]


def _checked(folder: Path, entry: Entry, look: Look) -> FileCheck:
    """Compare a file with its hash, then look into it."""
    name, kind, path = str(entry["name"]), str(entry.get("format")), folder / str(entry["name"])
    faults: list[FileFault] = []
    verdict = None
    try:
        faults = [FileFault(name, "", said) for said in _changed(path, entry)]
        if path.is_file():
            verdict = look(kind, path, entry)
    except OSError as error:
        faults.append(FileFault(name, "", f"it cannot be read: {error.strerror or error}"))
    except ExportError as error:
        verdict = FileVerdict(faults=(unreadable(name, error),))
    found = verdict or FileVerdict()
    return FileCheck(
        name=name,
        format=kind,
        parts=codes_of(entry),
        changed=bool(faults),
        read=verdict is not None,
        proofs=found.proofs,
        faults=(*faults, *found.faults),
        fits=found.fits,
    )


def _changed(path: Path, entry: Entry) -> Iterator[str]:
    """Yield that a file is not what was exported: size and hash are compared, as far as they are recorded."""
    about = path.stat()
    if not stat.S_ISREG(about.st_mode):
        yield "it cannot be read: it is no file"
    elif "sha256" not in entry and "bytes" not in entry:
        return
    elif about.st_size != entry.get("bytes"):
        yield f"changed since export: it has {about.st_size:,} bytes, the manifest says {entry.get('bytes')}"
    elif _hash(path) != entry.get("sha256"):
        yield "changed since export: its SHA-256 is not that in the manifest"


def _hash(path: Path) -> str:
    hashed = hashlib.sha256()
    with path.open("rb") as file:
        while data := file.read(CHUNK):
            hashed.update(data)
    return hashed.hexdigest()


def codes_of(entry: Entry) -> tuple[str, ...]:
    """Return the codes of the parts in a file, as its manifest's entry has them."""
    codes = entry.get("parts")
    return tuple(str(code) for code in codes) if isinstance(codes, list) else ()


def _planned(order: MakeOrder, judge: Judge) -> Look:
    """Look into files with the parts and programs of a project."""

    def look(kind: str, path: Path, entry: Entry) -> FileVerdict | None:
        if not _is_readable(kind, path):
            return None
        planned = planned_for(order, kind, path.name, codes_of(entry))
        return verdict_of(planned, path, order.items, judge)

    return look


def _recorded(manifest: Entry, judge: Judge) -> Look:
    """Look into files with the shapes and places in the manifest."""
    parts = RecordedParts(manifest)

    def look(kind: str, path: Path, entry: Entry) -> FileVerdict | None:
        if not _is_readable(kind, path):
            return None
        tasks = parts.tasks(kind, path.name, codes_of(entry))
        return judged(path, kind, tasks, parts.copies(kind, entry), judge)

    return look


def _is_readable(kind: str, path: Path) -> bool:
    """Return whether the parts in a file can be read here; raises ExportError for a format that is none."""
    if format_named(kind) not in FORMATS:
        raise ExportError(f"{path.name}: the manifest calls its format {kind!r:.40}, which there is not")
    return kind in READERS and not missing(kind) and holds_parts(path.name)


def checks_by_state(found: FolderCheck) -> Mapping[str, Sequence[FileCheck]]:
    """Return the files of a check as "proved", "faulty" or "hash only"."""
    states: dict[str, list[FileCheck]] = {"proved": [], "faulty": [], "hash only": []}
    for file in found.files:
        states["faulty" if file.faults else "proved" if file.read else "hash only"].append(file)
    return states
