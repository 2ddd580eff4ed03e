"""The build sheet by itself, without any other file: so it says nothing of a proof."""

from __future__ import annotations

from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.judge.report import examine
from shaftscore.make import sheet
from shaftscore.make.exporting.gather import gather
from shaftscore.make.sheet.paper import Size
from shaftscore.model import Project


def sheet_alone(project: Project, size: Size, progress: Progress | None = None) -> bytes:
    """Write the sheet of a project; raises ExportError if it has nothing to make."""
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = examine(project)
    order = gather(report, ("pdf",), Share(progress, 0.2, 0.7), True)
    progress.report(0.7, "Writing the sheet")
    return sheet.sheet_bytes(order, size, ())
