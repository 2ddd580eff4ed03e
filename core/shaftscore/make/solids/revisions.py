"""The revisions of all discs of a machine, as they would be engraved now."""

from __future__ import annotations

from shaftscore.make.solids.revision import disc_hash, revision_of
from shaftscore.solution import Solution


def disc_revisions(solution: Solution) -> dict[str, str]:
    """Return the revision of every disc by its code; lanes whose disc cannot be made are left out."""
    project = solution.project
    return {
        solved.lane.code: revision_of(disc_hash(project, solved.lane, solved.profile))
        for solved in solution.lanes.values()
        if solved.lane.code is not None and solved.lane.has_disc and solved.profile is not None
    }
