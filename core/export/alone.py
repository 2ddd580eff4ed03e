"""The build sheet by itself, without any other file: so it says nothing of a proof."""

from __future__ import annotations

from core.export import sheet
from core.export.gather import gather
from core.export.sheet.paper import Size
from core.model import Project
from core.progress import Progress, Share, Silent
from core.report import examine


def sheet_alone(project: Project, size: Size, progress: Progress | None = None) -> bytes:
    """Write the sheet of a project; raises ExportError if it has nothing to make."""
    progress = progress or Silent()
    progress.report(0.0, "Checking the project")
    report = examine(project)
    order = gather(report, ("pdf",), Share(progress, 0.2, 0.7), True)
    progress.report(0.7, "Writing the sheet")
    return sheet.sheet_bytes(order, size, ())
