"""The button of a view that is empty: what would give it something to show. No Qt."""

from __future__ import annotations

from shaftscore.model import Lane, Project
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.document import Document


def first_lane(document: Document) -> RowAction | None:
    """Return what makes the first lane, or a machine where none is open; None where there are lanes."""
    if document.project.lanes:
        return None
    return (
        RowAction("New lane…", "lane.new") if document.is_started else RowAction("New machine…", "file.new")
    )


def states_of(lane: Lane) -> RowAction:
    """Return what writes the states of a lane."""
    return RowAction("Go to state table", "view.table", lane.id)


def load_of(lane: Lane) -> RowAction:
    """Return what describes the load of a lane."""
    return RowAction("Describe load…", "lane.load", lane.id)


def motion_of(project: Project, lane_id: str | None) -> RowAction | None:
    """Return what gives a lane its motion; None where it has blocks or points already."""
    if lane_id is None or lane_id not in project.lane_index:
        return None
    lane = project.lane(project.lane(lane_id).program_id)
    return None if lane.blocks or lane.points is not None else states_of(lane)
