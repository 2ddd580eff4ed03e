"""Reading files of any size and kind, names for new ones, and noticing that somebody else wrote one."""

from __future__ import annotations

import errno
import hashlib
import logging
import os
import re
from dataclasses import dataclass
from pathlib import Path

from shaftscore.base.errors import Fault, ProjectError
from shaftscore.base.whole_files import OddFileError, not_a_file
from shaftscore.model.parse import MOST_BYTES

log = logging.getLogger(__name__)


def plain_name(text: str) -> str:
    """Make a file's name of any text: it cannot lead into another folder, nor is it a hidden file."""
    name = re.sub(r'[\\/:*?"<>|\x00-\x1f\x7f-\x9f]+', "-", text)[:80].strip(" .-")
    return name or "Untitled"


def read_within(path: Path) -> bytes:
    """Read a file that is not too large; raises ProjectError where it cannot be read."""
    refuse_to_wait(path)
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise ProjectError(path.name, [Fault("", error.strerror or str(error))]) from error
    if len(data) > MOST_BYTES:
        raise ProjectError(path.name, [Fault("", f"has over {MOST_BYTES:,} bytes, which are the most")])
    return data


def refuse_to_wait(path: Path) -> None:
    """Raise ProjectError for a pipe or device: a window that reads it could wait for ever."""
    what = not_a_file(path)
    if what:
        raise ProjectError(path.name, [Fault("", f"it is {what}, not a file")])


@dataclass(frozen=True)
class Stamp:
    """What a file was when it was read or written: enough to tell whether somebody wrote it since.

    size, time, number: as the system gives them (bytes, ns, inode). digest: SHA-256 of its bytes.
    """

    size: int
    time: int
    number: int
    digest: str

    @staticmethod
    def of(path: Path) -> Stamp | None:
        """Look at a file; None where there is none or it cannot be read."""
        if not_a_file(path):
            return None
        try:
            with path.open("rb") as file:
                there = os.fstat(file.fileno())
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            return None
        return Stamp(there.st_size, there.st_mtime_ns, there.st_ino, digest)

    def still(self, path: Path) -> bool:
        """Return whether the file still holds what it held; costs a glance where nobody touched it."""
        try:
            there = path.stat()
        except OSError:
            return False
        if (there.st_size, there.st_mtime_ns, there.st_ino) == (self.size, self.time, self.number):
            return True
        now = Stamp.of(path)
        return now is not None and now.digest == self.digest


def why_not_written(error: OSError) -> str:
    """Write in a person's words why a file could not be written."""
    if isinstance(error, OddFileError):
        return f"{error.strerror}."
    known = {
        errno.ENOSPC: "The disk is full.",
        errno.EDQUOT: "Your share of the disk is used up.",
        errno.EROFS: "The disk can only be read.",
        errno.EACCES: "The file, or its folder, may only be read.",
        errno.EPERM: "The file, or its folder, may only be read.",
        errno.ENOENT: "The folder is no longer there.",
        errno.ENAMETOOLONG: "The name is too long for this disk.",
        errno.EFBIG: "The file is larger than this disk or account allows.",
    }
    return known.get(error.errno or 0, f"The system says: {error.strerror or error}.")
