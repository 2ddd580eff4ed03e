"""What `export` prints, and how it ends."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from shaftscore.base.errors import ShaftscoreError
from shaftscore.base.wording import counted, percent
from shaftscore.judge.report import Report
from shaftscore.make.assembly import assembly_text
from shaftscore.make.exporting import ExportResult, changes_text, exit_code, export_project
from shaftscore.model import Project
from shaftscore_app.runtime.both_cores import BothCores
from shaftscore_app.runtime.left_words import left_text, removed_lines

SECOND_LOADS = ("shaftscore.make.exporting.proved", "shaftscore.make.exporting.parts", "manifold3d")
"""What the second process of an export loads while this one looks at the project."""


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
    project: Project | Report,
    out: Path,
    formats: Sequence[str] | None,
    *,
    only_changed: bool = False,
    despite_errors: bool = False,
) -> int:
    """Export, say what was written or why nothing was, and give the exit code."""
    progress = Lines()
    try:
        with BothCores(SECOND_LOADS) as beside:
            result = export_project(
                project,
                out,
                formats,
                only_changed=only_changed,
                despite_errors=despite_errors,
                progress=progress,
                beside=beside,
            )
    except ShaftscoreError as error:
        progress.done()
        print(error, file=sys.stderr)
        return exit_code(error)
    progress.done()
    print("\n".join(export_lines(result)))
    return 0


def export_lines(result: ExportResult) -> Iterator[str]:
    """Yield lines that say what an export wrote and kept, what differs from the one before, and its notes."""
    yield from result.verdict
    yield from result.notes
    yield from removed_lines(result.removed)
    said = changes_text(result.changes)
    if said:
        yield f"Parts: {said}."
    kept = f", {counted(len(result.kept), 'file')} kept" if result.kept else ""
    if result.left:
        yield f"{left_text(len(result.left))}."
    if result.assembly is not None:
        yield assembly_text(result.assembly)
    written = f"{counted(len(result.files), 'file')} written to {result.out}{kept}"
    failed = sorted({proof.part for proof in result.proofs if proof.faults})
    if failed:
        yield f"{written}; read back, but NOT proved: {', '.join(failed)}, as listed above."
    elif result.proofs:
        yield f"{written}; every disc was read back and proved."
    else:
        yield f"{written}; no disc file is among them, so nothing was proved."
