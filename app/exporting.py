"""What `export` prints, and how it ends."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from core.errors import ShaftscoreError
from core.export import exit_code, export_project
from core.model import Project
from core.report import Report
from core.wording import counted, percent


class Lines:
    """Progress as one line of a terminal that is written over; silent elsewhere."""

    def __init__(self) -> None:
        """Look whether stderr is a terminal."""
        self.shown = sys.stderr.isatty()

    def report(self, fraction: float, what: str) -> None:
        """Show how far it is."""
        if self.shown:
            print(f"\r\x1b[K{percent(fraction * 100)} {what}", end="", file=sys.stderr, flush=True)

    def done(self) -> None:
        """Clear the line."""
        if self.shown:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def print_export(
    project: Project | Report, out: Path, formats: Sequence[str] | None, *, despite_errors: bool = False
) -> int:
    """Export, say what was written or why nothing was, and give the exit code."""
    progress = Lines()
    try:
        result = export_project(project, out, formats, despite_errors=despite_errors, progress=progress)
    except ShaftscoreError as error:
        progress.done()
        print(error, file=sys.stderr)
        return exit_code(error)
    progress.done()
    for note in result.notes:
        print(note)
    print(f"{counted(len(result.files), 'file')} written to {result.out}, each read back and proved.")
    return 0
