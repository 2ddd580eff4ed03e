"""Taking over an arrangement, all of it or some of its lanes, as one edit."""

from __future__ import annotations

from collections.abc import Collection

from shaftscore.base.wording import listed
from shaftscore.edits import Edited
from shaftscore.model import Project, replaced

MOST_NAMES = 3
"""As many lanes are named in the undo step; of more all are meant."""


def accepted(project: Project, arranged: Project, lanes: Collection[str]) -> Edited:
    """Return the project with the chosen lanes as they were arranged; their other fields stay."""
    taken = [
        replaced(lane, blocks=arranged.lane(lane.id).blocks) if lane.id in lanes else lane
        for lane in project.lanes
    ]
    names = [lane.label for lane in project.lanes if lane.id in lanes]
    named = listed(names) if len(names) <= MOST_NAMES else "timing"
    return Edited(replaced(project, lanes=tuple(taken)), f"Arrange {named}")
