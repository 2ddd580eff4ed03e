"""The editor in a fresh process, from its start until its window is painted for the first time.

Run with `python -m benchmarks.first_paint FILE`; prints the seconds of processor time and of the clock, and
ends. The settings of whoever runs it are neither read nor written.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import asdict, dataclass
from pathlib import Path

from benchmarks.memory import as_installed

MOST_S = 60.0
"""A start that takes longer has failed."""


@dataclass(frozen=True)
class Started:
    """What a start took: seconds of processor time and of the clock."""

    processor: float
    clock: float


def started(file: Path) -> Started:
    """Start the editor in a fresh process. Raises CalledProcessError if it fails."""
    with tempfile.TemporaryDirectory() as home:
        homes = dict.fromkeys(("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"), home)
        command = [sys.executable, "-m", "benchmarks.first_paint", str(file)]
        begin = time.perf_counter()
        done = subprocess.run(
            command, env=as_installed() | homes, check=True, capture_output=True, text=True, timeout=MOST_S
        )
        ended = time.perf_counter() - begin
    started = Started(**json.loads(done.stdout.splitlines()[-1]))
    return Started(started.processor, ended)


def main() -> None:
    """Start the editor as the command does, and end at the first paint."""
    begin = time.perf_counter()
    from PySide6.QtCore import QTimer
    from PySide6.QtGui import QPaintEvent

    from benchmarks import as_command  # noqa: F401 - before the modules of the window
    from shaftscore_app.cli import program as cli
    from shaftscore_app.frame import running
    from shaftscore_app.frame.main_window import MainWindow

    class Watched(MainWindow):
        def paintEvent(self, event: QPaintEvent) -> None:
            super().paintEvent(event)
            QTimer.singleShot(0, self, lambda: _report(begin))

    sys.argv = ["shaftscore", sys.argv[1]]
    vars(running)["MainWindow"] = Watched
    cli.main()


def _report(begin: float) -> None:
    print(json.dumps(asdict(Started(time.process_time(), time.perf_counter() - begin))), flush=True)
    os._exit(0)


if __name__ == "__main__":
    main()
