"""Drafts: a part of the project as plain values, while a person is changing it.

A *draft* is what a file holds: mappings, tuples, numbers, texts; what is not given is absent. It may
be wrong, and `faults` says where, with paths from the part on. A *part* names a place in the project and
knows how a draft gets there: as one edit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Protocol

from pydantic import Field, TypeAdapter, ValidationError

from shaftscore.base.errors import EditError, Fault
from shaftscore.edits.base import Edited, changed, lane_of
from shaftscore.edits.followers import follower_fields
from shaftscore.edits.lanes import set_lane
from shaftscore.model.base import Record
from shaftscore.model.faults import faults_of, records_in
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.references import reference_faults

Draft = Any
"""Plain values as in a file."""


def draft_of(value: Any) -> Draft:
    """Return the draft of a record, of a tuple of records, or of a plain value; defaults are left out."""
    if isinstance(value, Record):
        return value.model_dump(mode="python", by_alias=True, exclude_defaults=True)
    return tuple(draft_of(item) for item in value) if isinstance(value, tuple) else value


class DraftPart(Protocol):
    """A place in the project."""

    def draft(self, project: Project) -> Draft:
        """Return what stands there, as a draft."""
        ...

    def faults(self, project: Project, draft: Draft) -> list[Fault]:
        """Describe what is wrong with a draft in this place; paths begin at the part."""
        ...

    def edited(self, project: Project, draft: Draft) -> Edited:
        """Put a draft there; raises EditError if it cannot be."""
        ...


@dataclass(frozen=True)
class ProjectPart:
    """A field of the project, such as `flow`; edit: puts its record (or records) there."""

    field: str
    edit: Callable[[Project, Any], Edited]

    def draft(self, project: Project) -> Draft:
        """Return what stands there, as a draft."""
        return draft_of(getattr(project, self.field))

    def faults(self, project: Project, draft: Draft) -> list[Fault]:
        """Describe what is wrong with a draft in this place."""
        made = _made(Project, self.field, draft)
        if isinstance(made, list):
            return made
        try:
            candidate = changed(project, **{self.field: made})
        except EditError as error:
            return [Fault("", str(error))]
        return self.within(reference_faults(candidate)) or _tried(lambda: self.edit(project, made))

    def edited(self, project: Project, draft: Draft) -> Edited:
        """Put a draft there."""
        return self.edit(project, _sure(_made(Project, self.field, draft)))

    def records(self, draft: Draft) -> Any:
        """Make the records of a draft, or give what is wrong with it as a list."""
        return _made(Project, self.field, draft)

    def within(self, faults: Iterable[Fault]) -> list[Fault]:
        """Let paths begin at the part."""
        return [_within(fault, self.field) for fault in faults]


@dataclass(frozen=True)
class LanePart:
    """A field of a lane, such as its `follower`."""

    lane_id: str
    field: str

    def draft(self, project: Project) -> Draft:
        """Return what stands there, as a draft."""
        return draft_of(getattr(lane_of(project, self.lane_id), self.field))

    def faults(self, project: Project, draft: Draft) -> list[Fault]:
        """Describe what is wrong with a draft in this place."""
        made = _made(Lane, self.field, draft)
        if isinstance(made, list):
            return made
        lane = lane_of(project, self.lane_id)
        try:
            fields = self._fields(project, made)
        except EditError as error:
            return [Fault("", str(error))]
        values = {key: getattr(lane, key) for key in lane.model_fields_set} | fields
        try:
            Lane(**values)
        except ValidationError as error:
            return [_within(fault, self.field) for fault in faults_of(error, values, [Lane])]
        return _tried(lambda: set_lane(project, self.lane_id, **fields))

    def edited(self, project: Project, draft: Draft) -> Edited:
        """Put a draft there."""
        made = _sure(_made(Lane, self.field, draft))
        return set_lane(project, self.lane_id, **self._fields(project, made))

    def _fields(self, project: Project, made: Any) -> dict[str, Any]:
        """Return the fields of the lane that the value changes: parts follow their follower."""
        if self.field == "follower":
            return follower_fields(lane_of(project, self.lane_id), made)
        return {self.field: made}


@lru_cache(maxsize=64)
def _adapter(record: type[Record], field: str) -> TypeAdapter[Any]:
    info = record.model_fields[field]
    # Any: what an annotation holds is no type that a checker knows.
    annotation: Any = info.rebuild_annotation()
    if info.discriminator:
        annotation = Annotated[annotation, Field(discriminator=str(info.discriminator))]
    return TypeAdapter(annotation)


def _made(record: type[Record], field: str, draft: Draft) -> Any:
    """Make the value of a record's field of a draft, or give what is wrong with it as a list."""
    try:
        return _adapter(record, field).validate_python(draft, by_name=False, by_alias=True)
    except ValidationError as error:
        return faults_of(error, draft, records_in(record.model_fields[field].annotation))


def _sure(made: Any) -> Any:
    if isinstance(made, list):
        raise EditError("; ".join(str(fault) for fault in made))
    return made


def _tried(edit: Callable[[], Edited]) -> list[Fault]:
    """Describe why an edit cannot be made, as one fault of the whole part; none if it can."""
    try:
        edit()
    except EditError as error:
        return [Fault("", str(error))]
    return []


def _within(fault: Fault, field: str) -> Fault:
    """Let a fault's path begin at the part; a fault elsewhere keeps its path, in its words."""
    if fault.path == field:
        return Fault("", fault.message)
    for mark in (f"{field}.", f"{field}["):
        if fault.path.startswith(mark):
            return Fault(fault.path.removeprefix(field).removeprefix("."), fault.message)
    return Fault("", str(fault))


def inside(faults: list[Fault], step: str) -> list[Fault]:
    """Return the faults under a step of the path (a key, or "[3]"), with the rest of their paths."""
    found = []
    for fault in faults:
        if fault.path == step:
            found.append(Fault("", fault.message))
        elif fault.path.startswith((f"{step}.", f"{step}[")):
            found.append(Fault(fault.path.removeprefix(step).removeprefix("."), fault.message))
    return found
