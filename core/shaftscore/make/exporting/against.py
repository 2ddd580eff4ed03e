"""A folder of an earlier export against the project of now: do its files hold, what is to be made again.

Nothing is written. Files are told by the manifest of the export; each is read back as after an export.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.judge.report import examine
from shaftscore.make.exporting.changes import Changes, changes_since
from shaftscore.make.exporting.formats import FORMATS, missing
from shaftscore.make.exporting.gather import gather
from shaftscore.make.exporting.left import proofs_of
from shaftscore.make.exporting.manifest import owned_names, read_manifest
from shaftscore.make.files.order import Order, Planned
from shaftscore.make.proof import DiscProof
from shaftscore.model import Project

SHAPED = 0.3
"""Fraction of the work at which all parts are shaped."""

Entry = Mapping[str, object]
"""An object of a manifest."""


@dataclass(frozen=True)
class FolderCheck:
    """What the files of a folder do.

    proofs: one a disc in a file. faults: what does not hold, a sentence each. left_out: names of files
    that nothing here can run a follower over.
    """

    proofs: tuple[DiscProof, ...]
    faults: tuple[str, ...]
    left_out: tuple[str, ...]


def made_again(project: Project, folder: Path, progress: Progress | None = None) -> Changes:
    """Return which parts are new, changed, unchanged and removed since the export into a folder.

    Raises ExportError if there is no export in it, or the project has nothing to make.
    """
    before, order = _open(project, folder, progress or Silent())
    return changes_since(before, order.items, folder)


def check_folder(project: Project, folder: Path, progress: Progress | None = None) -> FolderCheck:
    """Run the project's followers over the files of an earlier export.

    Raises ExportError as `made_again` does.
    """
    progress = progress or Silent()
    before, order = _open(project, folder, progress)
    files = before.get("files")
    entries = [entry for entry in files if isinstance(entry, dict)] if isinstance(files, list) else []
    proofs: list[DiscProof] = []
    faults: list[str] = []
    left_out: list[str] = []
    share = Share(progress, SHAPED, 1.0)
    for number, entry in enumerate(entries):
        name = str(entry["name"])
        share.report(number / len(entries), f"Reading {name}")
        try:
            planned = _planned(order, entry)
            found = [] if planned is None else proofs_of(planned, name, folder / name)
        except ExportError as error:
            faults.append(str(error))
        except OSError as error:
            faults.append(f"{name}: it cannot be read: {error.strerror or error}")
        else:
            proofs += found
            faults += [fault for proof in found for fault in proof.faults]
            left_out += [] if found or planned is not None else [name]
    return FolderCheck(tuple(proofs), tuple(faults), tuple(left_out))


def _open(project: Project, folder: Path, progress: Progress) -> tuple[Entry, Order]:
    before = read_manifest(folder) if folder.is_dir() else None
    if before is None:
        raise ExportError(f"{folder} holds no export: there is no manifest.json in it")
    owned_names(before, folder)
    progress.report(0.0, "Checking the project")
    return before, gather(examine(project, late=False), (), Share(progress, 0.05, SHAPED), True)


def _planned(order: Order, entry: Entry) -> Planned | None:
    """Return what a file of the manifest should hold; None where nothing can be run over its format.

    Raises ExportError if it holds parts that the project no longer has.
    """
    name, kind, codes = str(entry["name"]), str(entry.get("format")), list(_codes(entry))
    if kind not in FORMATS or missing(kind) or kind not in ("3mf", "stl", "step", "dxf"):
        return None
    items = tuple(item for item in order.items if item.part.code in codes)
    gone = sorted(set(codes) - {item.part.code for item in items})
    if gone:
        raise ExportError(f"{name}: the project has no part {', '.join(gone)} any more")
    planned = FORMATS[kind](replace(order, items=items, formats=(kind,), fresh=None))
    return next((file for file in planned if file.name == name), planned[0])


def _codes(entry: Entry) -> Iterator[str]:
    codes = entry.get("parts")
    yield from (str(code) for code in codes) if isinstance(codes, list) else ()
