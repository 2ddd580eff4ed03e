"""How much memory a piece of work takes: run in a process of its own; Linux and macOS."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass

_TELL = "\nimport resource, sys; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)"


@dataclass(frozen=True)
class Used:
    """Seconds from start to end of the process, and its greatest resident size, MiB."""

    seconds: float
    mib: float


def as_installed() -> dict[str, str]:
    """Give an environment in which modules stay compiled, as those of an installed program are."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def used_by(program: str) -> Used:
    """Run a Python program in a fresh process. Raises CalledProcessError if it fails."""
    begin = time.perf_counter()
    command = [sys.executable, "-c", program + _TELL]
    done = subprocess.run(command, env=as_installed(), check=True, capture_output=True, text=True)
    seconds = time.perf_counter() - begin
    kib = int(done.stderr.splitlines()[-1]) / (1024 if sys.platform == "darwin" else 1)
    return Used(seconds, kib / 1024)
