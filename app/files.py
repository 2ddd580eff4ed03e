"""Files written as a whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` so that a crash leaves the old file or the new one, never a part.

    The bytes go to a temporary file in the same folder, are forced to the disk, and then take the
    old file's place in one step. Raises OSError; the old file is then untouched.
    """
    target = path.resolve()  # a link keeps pointing at the file that it names
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _keep_mode(target, name)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _keep_mode(target: Path, name: str) -> None:
    """Give the new file the old one's rights, or those of any new file (mkstemp's are private)."""
    if target.exists():
        mode = target.stat().st_mode & 0o7777
    else:
        mask = os.umask(0)
        os.umask(mask)
        mode = 0o666 & ~mask
    os.chmod(name, mode)
