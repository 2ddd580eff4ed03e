"""How an export ends: the result, and the errors that mean something else than a disk that refuses.

Each maps to an exit code of the command line: 0 written; 1 errors in the project or a proof that
failed; 2 bad input, usage or disk; 130 cancelled (128 + SIGINT, as shells count).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from shaftscore.base.errors import Cancelled, ExportError, ShaftscoreError
from shaftscore.make.assembly import AssemblyProof
from shaftscore.make.exporting.changes import Changes
from shaftscore.make.proof import DiscProof, FitProof


class FaultyProjectError(ExportError):
    """The project has errors; nothing was written, because nobody asked for it despite them."""


class ProofError(ExportError):
    """A file does not do what the program says; nothing was written.

    place: id of the lane whose disc fails first, and the angle of its own stack, degrees.
    """

    def __init__(self, text: str, place: tuple[str, float] | None = None) -> None:
        """Keep the place of the first fault (an error that comes from another process is made without)."""
        self.place = place
        super().__init__(text)


class AnotherMachineError(ExportError):
    """The folder holds the export of another machine; nothing was written, nor removed.

    theirs, ours: the names of the machine in the folder and of the one that was to be exported.
    """

    def __init__(self, text: str, names: tuple[str, str] = ("", "")) -> None:
        """Keep both names (an error that comes from another process is made without)."""
        self.theirs, self.ours = names
        super().__init__(text)


@dataclass(frozen=True)
class RemovedFile:
    """A file of an earlier export that was removed, and why, as the end of "..., because"."""

    name: str
    why: str


@dataclass(frozen=True)
class ExportResult:
    """What an export wrote.

    out: the folder. files: names of the files written, in order. kept: names of old files that serve as well.
    manifest: what manifest.json holds. proofs: one a disc in a file that its follower was run over. changes:
    against the export before. notes: what could not be made. left: names of old files of other formats, which
    are still true. removed: old files that are not. verdict: the lines of the verdict on the project. fits:
    one a fit of a part in a file. assembly: what was found of all parts put together, None where no part was
    read back.
    """

    out: Path
    files: tuple[str, ...]
    kept: tuple[str, ...]
    manifest: Mapping[str, object]
    proofs: tuple[DiscProof, ...]
    changes: Changes
    notes: tuple[str, ...]
    left: tuple[str, ...] = ()
    removed: tuple[RemovedFile, ...] = ()
    verdict: tuple[str, ...] = ()
    fits: tuple[FitProof, ...] = ()
    assembly: AssemblyProof | None = None


def exit_code(error: ShaftscoreError | None) -> int:
    """Return the exit code for how an export ended (None: it was written)."""
    if error is None:
        return 0
    if isinstance(error, Cancelled):
        return 130
    return 1 if isinstance(error, FaultyProjectError | ProofError) else 2
