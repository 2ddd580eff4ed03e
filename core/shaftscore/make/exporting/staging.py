"""Writing a set of files so that all of it appears, or none.

Files are written to `.shaftscore-partial/new` in the folder of the export. `commit` then moves them to
their places one by one, keeping what they replace in `.shaftscore-partial/old`, and the manifest last:
with it the export is done. Whatever goes wrong before is undone. If even the process dies, the next
export finds the journal of the moves, undoes them, and clears the folder.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.make.exporting.lock import LOCK_NAME, FolderLock
from shaftscore.make.files.names import is_export_name

PARTIAL_NAME = ".shaftscore-partial"
MANIFEST_NAME = "manifest.json"
JOURNAL_NAME = "moves.json"


class Staging:
    """The staging folder of one export; made by `staging`."""

    def __init__(self, out: Path) -> None:
        """Name the folder of the export."""
        self.out = out
        self._partial = out / PARTIAL_NAME
        self._new = self._partial / "new"
        self._old = self._partial / "old"
        self._names: list[str] = []
        self._is_open = False

    def open(self) -> None:
        """Clear what a dead export left and make the staging folder; the lock must be held."""
        self._clear()
        self._is_open = True
        for folder in (self._partial, self._new, self._old):
            folder.mkdir()

    def write(self, name: str, data: bytes) -> Path:
        """Write a file into the staging folder; gives where it lies for now.

        Raises OSError if the disk does not take it.
        """
        path = self._new / name
        path.write_bytes(data)
        self._names.append(name)
        return path

    @property
    def folder(self) -> Path:
        """Where files lie until they are moved; one that is written there by other means is `added`."""
        return self._new

    def added(self, name: str) -> None:
        """Take a file in, which was written into the folder."""
        self._names.append(name)

    def refuse_foreign(self, names: Collection[str], owned: Collection[str]) -> None:
        """Raise ExportError if a name is taken by a file that no earlier export made."""
        taken = sorted(name for name in names if name not in owned and os.path.lexists(self.out / name))
        if taken:
            more = f" (and {len(taken) - 1} more)" if len(taken) > 1 else ""
            raise ExportError(
                f"{self.out / taken[0]}{more} was not made by an export and is not replaced: "
                "move it away or choose another folder"
            )

    def commit(self, manifest: bytes, owned: Collection[str]) -> None:
        """Move all files to their places, remove the other `owned` ones, and put the manifest last.

        owned: names in the manifest before. Raises ExportError or OSError, with everything undone.
        """
        self.refuse_foreign(self._names, owned)
        (self._new / MANIFEST_NAME).write_bytes(manifest)
        (self._partial / JOURNAL_NAME).write_text(json.dumps(self._names), encoding="utf-8")
        try:
            self._move(owned)
            os.replace(self._new / MANIFEST_NAME, self.out / MANIFEST_NAME)
        except BaseException:
            self._undo(self._names)
            raise

    def _move(self, owned: Collection[str]) -> None:
        for name in sorted(owned):
            if os.path.lexists(self.out / name):
                os.replace(self.out / name, self._old / name)
        for name in self._names:
            os.replace(self._new / name, self.out / name)

    def _clear(self) -> None:
        """Undo the moves of an export that died among them, then remove the staging folder."""
        if self._partial.is_symlink() or self._partial.is_file():
            self._partial.unlink()
        if not self._partial.exists():
            return
        strange = next(self._strange(), None)
        if strange is not None:
            raise ExportError(
                f"{strange} is a file that no export left there: move it away or choose another folder"
            )
        if (self._new / MANIFEST_NAME).exists():
            self._undo(self._journal())
        shutil.rmtree(self._partial)

    def _strange(self) -> Iterator[Path]:
        """Yield what a dead export cannot have left: it would be lost, or would take a file's place."""
        for path in sorted(self._partial.iterdir()):
            folder = path in (self._new, self._old)
            if path.is_symlink() or (not path.is_dir() if folder else path.name != JOURNAL_NAME):
                yield path
            elif folder:
                yield from (file for file in sorted(path.iterdir()) if not _is_ours(file))
        names = self._journal()
        for kept in self._old.glob("*"):
            there = os.path.lexists(self.out / kept.name)
            if there and (kept.name not in names or os.path.lexists(self._new / kept.name)):
                yield kept

    def _journal(self) -> list[str]:
        """Read which files were to be moved; none if nothing was moved yet."""
        try:
            names = [str(name) for name in json.loads((self._partial / JOURNAL_NAME).read_bytes())]
        except (OSError, ValueError, TypeError, RecursionError):
            return []
        return [name for name in names if is_export_name(name)]

    def _undo(self, names: Collection[str]) -> None:
        """Take back every file that left the staging folder, and put back what it replaced.

        Only moves, and the journal goes last: dying in here and starting again comes to the same end.
        """
        for name in names:
            if not os.path.lexists(self._new / name) and os.path.lexists(self.out / name):
                os.replace(self.out / name, self._new / name)
        for kept in sorted(self._old.iterdir()):
            os.replace(kept, self.out / kept.name)
        (self._partial / JOURNAL_NAME).unlink(missing_ok=True)

    def close(self) -> None:
        """Remove the staging folder; one that was never opened is not this export's."""
        if not self._is_open:
            return
        shutil.rmtree(self._partial, ignore_errors=True)


def _is_ours(file: Path) -> bool:
    known = is_export_name(file.name) or file.name == MANIFEST_NAME
    return known and file.is_file() and not file.is_symlink()


@contextmanager
def staging(out: Path) -> Iterator[Staging]:
    """Lock a folder (made if need be) and stage an export into it.

    A folder that was made for an export that fails is removed again. Raises ExportError, in one line,
    if the folder is in use, or the disk refuses.
    """
    made: list[Path] = []
    lock = FolderLock(out)
    try:
        _make(out, made)
        lock.take()
        stage = Staging(out)
        try:
            stage.open()
            yield stage
        finally:
            stage.close()
            lock.release()
    except OSError as error:
        raise ExportError(f"cannot write to {out}: {_reason(error)}") from error
    finally:
        _remove_empty(made)


def _make(out: Path, made: list[Path]) -> None:
    """Make a folder and the missing ones above it, noting them from the top down."""
    missing = [folder for folder in (out, *out.parents) if not os.path.lexists(folder)]
    for folder in reversed(missing):
        folder.mkdir()
        made.append(folder)
    if not out.is_dir():
        raise ExportError(f"{out} is not a folder: name a folder to export to")


def _remove_empty(made: list[Path]) -> None:
    """Remove the folders of an export that wrote nothing; one that holds something stays."""
    for folder in reversed(made):
        if folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()


def _reason(error: OSError) -> str:
    name = Path(error.filename).name if isinstance(error.filename, str) else ""
    text = error.strerror or str(error)
    return f"{text} ({name})" if name and name not in (LOCK_NAME, PARTIAL_NAME) else text
