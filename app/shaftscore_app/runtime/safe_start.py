"""Starting so that nothing in the current folder is imported: it may be a download's, or a share's.

Python puts the current folder in front of all else where it runs a module (`python -m shaftscore_app`) or
a line of code. Processes that `multiprocessing` starts are lines of code, so a folder of that name in the
current one would run in their place, unless Python is asked for a *safe path*.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SAFE_PATH = "PYTHONSAFEPATH"
"""Variable of the environment: where it is set, Python leaves the current folder out (3.11 and newer)."""


class UnsafeStart(RuntimeError):  # noqa: N818 - what is refused, as its name reaches the person
    """A process would import what lies in the current folder."""


def forget_current_folder() -> None:
    """Take the current folder off the import path, unless this program itself lies there (a checkout)."""
    here, home = Path.cwd().resolve(), Path(__file__).resolve().parents[2]
    if here != home:
        sys.path[:] = [entry for entry in sys.path if entry and Path(entry).resolve() != here]


@contextmanager
def safe_path() -> Iterator[None]:
    """Let processes that begin in here, and theirs, start without the current folder on their import path.

    The environment is that of the whole program, so only one thread at a time may be in here. Raises
    UnsafeStart where Python was told to ignore its environment but not to leave that folder out.
    """
    if sys.flags.ignore_environment and not sys.flags.safe_path:
        raise UnsafeStart(
            "no second process is started: Python ignores its environment (-E), so files in the current "
            "folder could run in it. Start Shaftscore without -E, or with -I"
        )
    before = os.environ.get(SAFE_PATH)
    os.environ[SAFE_PATH] = "1"
    try:
        yield
    finally:
        if before is None:
            del os.environ[SAFE_PATH]
        else:
            os.environ[SAFE_PATH] = before
