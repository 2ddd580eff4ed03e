"""Files written as a whole or not at all."""

from __future__ import annotations

import errno
import logging
import os
import stat
import sys
import tempfile
import time
from pathlib import Path

log = logging.getLogger(__name__)

LEFTOVER_S = 60.0
"""A temporary file that is this old belongs to a program that died."""


class OddFileError(OSError):
    """A name that no file can be put in the place of; strerror is a sentence without its full stop."""

    def __str__(self) -> str:
        """Return the name and the sentence."""
        return f"{self.filename}: {self.strerror}."


def not_a_file(path: Path) -> str:
    """Return what a name is that is there and is neither a file nor a folder: "a pipe"; else nothing."""
    try:
        mode = path.stat().st_mode
    except OSError:
        return ""
    kinds = {stat.S_IFIFO: "a pipe", stat.S_IFCHR: "a device", stat.S_IFBLK: "a device"}
    return kinds.get(stat.S_IFMT(mode), "") or ("a socket" if stat.S_ISSOCK(mode) else "")


def refuse_odd(path: Path) -> None:
    """Raise OddFileError where a file that is written whole would not do what its person expects.

    A pipe or device would be replaced by a file; a hard link would be parted from its other names.
    """
    what = not_a_file(path)
    if what:
        why = f"It is {what}, not a file: save under another name"
        raise OddFileError(errno.EINVAL, why, str(path))
    if path.is_file() and path.stat().st_nlink > 1:
        why = (
            "The file has a second name (a hard link), and saving would leave the old contents there: "
            "save under another name"
        )
        raise OddFileError(errno.EMLINK, why, str(path))


def private_folder(folder: Path) -> None:
    """Make a folder, or take it, that only its owner reads. Raises OSError."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if stat.S_IMODE(folder.stat().st_mode) & 0o077:
        folder.chmod(0o700)


def write_whole(path: Path, data: bytes, *, mode: int | None = None) -> None:
    """Write `data` to `path` so that a crash leaves the old file or the new one, never a part.

    The bytes go to a temporary file in the same folder, are forced to the disk, and then take the
    old file's place in one step, which is forced to the disk too. A link keeps pointing at the file that
    it names, and the file keeps its rights; mode: rights of a new one, else what any new file has. Raises
    OSError; the old file is then untouched. A file that may only be read is not replaced
    (PermissionError), although its folder would let us; nor is what `refuse_odd` names.
    """
    target = path.resolve()
    refuse_odd(target)
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))
    handle, name = tempfile.mkstemp(prefix=_prefix(target), suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, _rights(target) if mode is None else mode)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Force a folder's list of names to the disk, where the system can do so."""
    if sys.platform == "win32":
        return  # a folder cannot be opened there; the system keeps its own journal of names
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some network disks cannot
            raise
    finally:
        os.close(handle)


def clear_leftovers(path: Path) -> None:
    """Remove temporary files beside `path` that a program left which died while it wrote."""
    target = path.resolve()
    try:
        for part in target.parent.glob(f"{glob_plain(_prefix(target))}*.part"):
            if time.time() - part.stat().st_mtime > LEFTOVER_S:
                part.unlink(missing_ok=True)
    except OSError as error:
        log.info("leftovers stay in %s: %s", target.parent, error)


def glob_plain(name: str) -> str:
    """Write a name so that a pattern matches just it."""
    return "".join(f"[{sign}]" if sign in "*?[" else sign for sign in name)


def _prefix(target: Path) -> str:
    return f".{target.name[:40]}."  # a name may have 255 bytes in all


def _rights(target: Path) -> int:
    """Return the rights of the old file, or those of any new one (mkstemp's are private)."""
    if target.exists():
        return target.stat().st_mode & 0o7777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
