"""The same part of several lanes as one draft: what is changed in it goes to all of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shaftscore.base.errors import EditError, Fault
from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited, lane_of
from shaftscore.edits.drafts import Draft, LanePart
from shaftscore.model.project import Project


@dataclass(frozen=True)
class LanesPart:
    """A field of several lanes, such as their `load`; the first lane is the one that is shown.

    What differs from the first lane's goes to all. A lane that has no such part gets all of it; where a
    follower of another kind is chosen, the lanes keep what both kinds have.
    """

    lane_ids: tuple[str, ...]
    field: str

    @property
    def _first(self) -> LanePart:
        return LanePart(self.lane_ids[0], self.field)

    def draft(self, project: Project) -> Draft:
        """Return what stands in the first lane, as a draft."""
        return self._first.draft(project)

    def faults(self, project: Project, draft: Draft) -> list[Fault]:
        """Describe what is wrong with a draft: at its fields by the first lane, then in the other lanes."""
        if faults := self._first.faults(project, draft):
            return faults
        found = []
        for lane_id in self.lane_ids[1:]:
            part = LanePart(lane_id, self.field)
            faults = part.faults(project, self._own(project, lane_id, draft))
            found += [
                Fault("", f"{lane_of(project, lane_id).label}: {fault.message}") for fault in faults[:1]
            ]
        return found

    def edited(self, project: Project, draft: Draft) -> Edited:
        """Put a draft there; raises EditError with the lane in which it cannot be."""
        made = project
        for lane_id in self.lane_ids:
            own = self._own(project, lane_id, draft)
            try:
                made = LanePart(lane_id, self.field).edited(made, own).project
            except EditError as error:
                raise EditError(f"{lane_of(project, lane_id).label}: {error}") from error
        return Edited(made, f"Change the {self.field} of {counted(len(self.lane_ids), 'lane')}")

    def _own(self, project: Project, lane_id: str, draft: Draft) -> Draft:
        """Return the draft of one lane: its own with what was changed in the first lane's."""
        own, before = LanePart(lane_id, self.field).draft(project), self.draft(project)
        return _merged(own, before, draft)


def _merged(own: Draft, before: Draft, draft: Draft) -> Draft:
    """Return a draft with the changes from `before` to `draft`, field by field."""
    if not all(isinstance(one, Mapping) for one in (own, before, draft)):
        return draft
    if draft == before:
        return own
    keys = dict.fromkeys((*own, *draft))
    made = {}
    for key in keys:
        if draft.get(key) == before.get(key):
            value = own.get(key)
        elif key in draft:
            value = _merged(own.get(key), before.get(key), draft[key])
        else:
            value = None
        if value is not None:
            made[key] = value
    return made
