"""The drilling templates on paper: plates at full size, planned for each size of paper."""

from __future__ import annotations

from functools import partial

from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.drawing.paper_sizes import A4, LETTER, PaperSize
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.model import Project


def plan(order: MakeOrder) -> list[Planned]:
    """Plan the templates for each size of paper; none without a frame."""
    if order.frame is None:
        return []
    project = order.report.project
    return [
        Planned(
            f"drill_template_{size.name.lower()}.pdf",
            "pdf",
            (),
            partial(template_bytes, project, order.frame, size),
            whole=True,
            always=True,
        )
        for size in (A4, LETTER)
    ]


def template_bytes(project: Project, frame: FramePlan, size: PaperSize) -> bytes:
    """Write the templates of both plates; same frame, same bytes."""
    # The PDF library takes a second to load.
    from shaftscore.make.manual.template_pages import template_pages

    return template_pages(project, frame, size)
