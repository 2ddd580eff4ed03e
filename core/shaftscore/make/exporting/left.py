"""Files of an earlier export that this one does not write: kept while they are true, else removed by name.

A file of a format that was not chosen this time is *true* if its bytes are those that its manifest states
of and the part in it is what it was; where its followers can be run over it, they hold. Figures in tables
must be those of now, and a build manual must be of this very project.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.make.exporting.changes import Changes, file_codes, is_intact, manifest_entries
from shaftscore.make.exporting.formats import FORMATS, format_named, missing, planned_for
from shaftscore.make.exporting.manifest import FileEntry, kept_entry
from shaftscore.make.exporting.outcome import RemovedFile
from shaftscore.make.exporting.reading import verdict_of
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.proof import DiscProof, Judge
from shaftscore.model.saved import saved_form

Entry = Mapping[str, object]
"""An object of a manifest."""


@dataclass(frozen=True)
class LeftFiles:
    """What happens to the files of formats that were not chosen.

    kept: entries of the files that stay. proofs: of those over which followers were run. removed: the others.
    """

    kept: tuple[FileEntry, ...] = ()
    proofs: tuple[DiscProof, ...] = ()
    removed: tuple[RemovedFile, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the files that stay."""
        return tuple(file.name for file in self.kept)


def format_of(entry: Entry) -> str:
    """Return the format, as it is chosen, that a file of a manifest belongs to."""
    return format_named(str(entry["format"]))


def program_hash(order: MakeOrder) -> str:
    """Return the SHA-256 of the project's saved form, hexadecimal."""
    return hashlib.sha256(saved_form(order.report.project)).hexdigest()


def left_files(before: Entry | None, out: Path, order: MakeOrder, changes: Changes) -> LeftFiles:
    """Judge every file of the formats that were not chosen."""
    entries = [entry for entry in manifest_entries(before, "files") if format_of(entry) not in order.formats]
    planned = _planned(order, {format_of(entry) for entry in entries})
    judge = _Judge(before, out, order, changes, planned)
    kept: list[FileEntry] = []
    proofs: list[DiscProof] = []
    removed: list[RemovedFile] = []
    for entry in entries:
        if not (out / str(entry["name"])).exists():
            continue
        why, found = judge.judged(entry)
        if why:
            removed.append(RemovedFile(str(entry["name"]), why))
        else:
            kept.append(kept_entry(entry))
            proofs += found
    return LeftFiles(tuple(kept), tuple(proofs), tuple(removed))


def _planned(order: MakeOrder, formats: Collection[str]) -> list[Planned]:
    """Plan the files of formats that could be written here, as a full export would."""
    there = [name for name in FORMATS if name in formats and not missing(name)]
    return [file for name in there for file in FORMATS[name](replace(order, formats=(name,), fresh=None))]


@dataclass(frozen=True)
class _Judge:
    """What a file is judged by: manifest before, folder, machine of now, and what would be written."""

    before: Entry | None
    out: Path
    order: MakeOrder
    changes: Changes
    planned: Sequence[Planned]
    judge: Judge = field(default_factory=Judge)

    def judged(self, entry: Entry) -> tuple[str, tuple[DiscProof, ...]]:
        """Return why a file is not true any more, or an empty text and what its followers found."""
        if not is_intact(self.out, entry):
            return "it was changed since it was exported", ()
        gone = sorted(file_codes(entry) & set(self.changes.removed))
        if gone:
            return f"the machine has no part {', '.join(gone)} any more", ()
        file = _match(entry, self.planned)
        if file is not None and file.make_proved is not None:
            same = (self.before or {}).get("program") == program_hash(self.order)
            return "" if same else "the project has changed since", ()
        if file is not None and file.always:
            same = hashlib.sha256(file.make()).hexdigest() == entry["sha256"]
            return "" if same else "its figures have changed", ()
        return self._judged_parts(entry, file)

    def _judged_parts(self, entry: Entry, file: Planned | None) -> tuple[str, tuple[DiscProof, ...]]:
        """Judge a file that holds nothing but parts."""
        fresh, whole = self.changes.fresh, file is not None and file.whole
        changed = sorted(fresh if whole else file_codes(entry) & fresh)
        if changed:
            return f"{', '.join(changed)} {'has' if len(changed) == 1 else 'have'} changed", ()
        if file is None and not missing(format_of(entry)):
            return "it would not be written any more", ()
        return ("", ()) if file is None or whole else self._proved(entry, file)

    def _proved(self, entry: Entry, file: Planned) -> tuple[str, tuple[DiscProof, ...]]:
        """Read a file back and judge it; its first fault is why it goes."""
        name = str(entry["name"])
        try:
            old = planned_for(self.order, file.format, name, sorted(file_codes(entry)))
            verdict = verdict_of(old, self.out / name, self.order.items, self.judge)
        except (ExportError, OSError) as error:
            return str(error), ()
        return next((fault.text for fault in verdict.faults), ""), verdict.proofs


def _match(entry: Entry, planned: Sequence[Planned]) -> Planned | None:
    """Return the planned file that an old one stands for: by its name, or by the one part in it."""
    for file in planned:
        alone = len(file.items) == 1 and file_codes(entry) == {file.items[0].part.code}
        if file.format == entry["format"] and (file.name == entry["name"] or (alone and not file.whole)):
            return file
    return None


def superseded(
    before: Entry | None, out: Path, order: MakeOrder, now: Sequence[FileEntry]
) -> Iterator[RemovedFile]:
    """Yield the files of chosen formats that were superseded, and to what."""
    names = {entry.name for entry in now}
    there = {item.part.code for item in order.items}
    for entry in manifest_entries(before, "files"):
        name = str(entry["name"])
        if format_of(entry) not in order.formats or name in names or not (out / name).exists():
            continue
        yield RemovedFile(name, _why_superseded(entry, there, now))


def _why_superseded(entry: Entry, there: Collection[str], now: Sequence[FileEntry]) -> str:
    name, codes = str(entry["name"]), file_codes(entry)
    gone = sorted(codes - set(there))
    if gone and len(codes) == 1:
        return f"the machine has no part {gone[0]} any more"
    kind = _kind(name)
    new = [
        file.name
        for file in now
        if file.format == entry["format"] and (_kind(file.name) == kind or set(file.parts) == codes)
    ]
    last = name.rpartition("_")[2]
    called = next((one for one in new if one.rpartition("_")[2] == last), new[0] if new else "")
    return f"it is now called {called}" if called else "it was not written again"


def _kind(name: str) -> str:
    """Return what the names of files of one purpose begin with; the manual was called a sheet once."""
    kind = name.partition("_")[0]
    return "build" if kind == "buildsheet" else kind
