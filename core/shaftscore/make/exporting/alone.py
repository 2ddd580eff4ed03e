"""The build manual by itself, without any other file: so it says nothing of a proof."""

from __future__ import annotations

from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.judge.report import examine
from shaftscore.make import manual
from shaftscore.make.drawing.paper_sizes import PaperSize
from shaftscore.make.exporting.gather import gather
from shaftscore.model import Project


def manual_alone(project: Project, size: PaperSize, progress: Progress | None = None) -> bytes:
    """Write the manual of a project; raises ExportError if it has nothing to make."""
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = examine(project)
    order = gather(report, ("pdf",), Share(progress, 0.2, 0.7), True)
    progress.report(0.7, "Writing the manual")
    return manual.manual_bytes(order, size, ())
