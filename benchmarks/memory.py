"""How much memory a piece of work takes: run in a process of its own; Linux and macOS."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

_TELL = """
import sys
from benchmarks.memory import peak_mib
print(peak_mib(), file=sys.stderr)
"""
_ROOT = Path(__file__).resolve().parents[1]


@dataclass(frozen=True)
class Used:
    """Seconds from start to end of the process, and its greatest resident size, MiB."""

    seconds: float
    mib: float


def peak_mib() -> float:
    """Return this process's greatest resident size so far, MiB.

    On Linux by /proc: getrusage also counts what the process was a copy of before it ran its own program.
    """
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used / (2**20 if sys.platform == "darwin" else 1024)


def as_installed() -> dict[str, str]:
    """Return an environment in which modules stay compiled, as those of an installed program are."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def used_by(program: str) -> Used:
    """Run a Python program in a fresh process. Raises CalledProcessError if it fails."""
    begin = time.perf_counter()
    command = [sys.executable, "-c", program + _TELL]
    done = subprocess.run(command, env=as_installed(), cwd=_ROOT, check=True, capture_output=True, text=True)
    return Used(time.perf_counter() - begin, float(done.stderr.splitlines()[-1]))
