"""not-checked: what is stated and not judged, so that clean means clean.

Lanes of which a motion or a disc is missing, and fields of the project that no check reads yet: the table
`NOT_CHECKED`. Whoever makes a check that reads a field removes its row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from shaftscore.base.wording import listed
from shaftscore.judge.checks.base import LaneCheck, MachineCheck, Memo
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.model import Record
from shaftscore.solution import LaneSolution, Solution


def unsolved(_solution: Solution, lane: LaneSolution) -> Iterator[Finding]:
    """Find lanes without a motion or a disc, for whatever reason but a clash of blocks.

    A follower that cannot be where it is put, or a law that cannot be followed, is an error: no disc can
    be made.
    """
    nothing, missing = lane.no_motion, lane.no_profile
    if nothing is not None and nothing.reason == "empty":
        yield found("not-checked", (lane.lane.id,), why="It has no blocks: there is nothing to check.")
    elif nothing is not None and nothing.reason != "clash":
        severity = Severity.ERROR if lane.lane.has_disc else None
        why = f"It has no motion to check: {nothing.what}."
        yield found("not-checked", (lane.lane.id,), severity=severity, why=why)
    elif missing is not None and missing.reason != "kind":
        why = f"There is no disc to check: {missing.what}."
        yield found("not-checked", (lane.lane.id,), severity=Severity.ERROR, why=why)
    elif nothing is None and lane.profile is None and lane.lane.load is not None:
        yield found("not-checked", (lane.lane.id,), why="Its load is not checked: it has no disc.")
    if nothing is None and lane.lane.load is not None and lane.course.is_stepped:
        what = "The reserve of its spring, its guide and steps in its acceleration are not checked"
        why = f"{what}: its stack is turned by an intermittent stage."
        yield found("not-checked", (lane.lane.id,), place=STEPPED_PLACE, why=why)


STEPPED_PLACE = 1
"""What tells the finding on the forces of a stepped lane from its others."""

UNSOLVED = LaneCheck(("not-checked",), unsolved)


@dataclass(frozen=True)
class UncheckedField:
    """A field that no check reads yet.

    what: it, as it follows "This version does not check". values: those that are meant; all but the
    default if empty.
    """

    what: str
    values: frozenset[Any] = frozenset()


NOT_CHECKED: Mapping[str, UncheckedField] = MappingProxyType(
    {}  # wear over the duty is worked out by `shaftscore.bringup.wear`
)
"""Path of a field, "[]" after a list, to what is not checked where it is stated."""


def unread(solution: Solution, _memo: Memo) -> Iterator[Finding]:
    """Find fields that are stated and that no check reads: one finding a field, with all its lanes."""
    project = solution.project
    for place, (path, row) in enumerate(NOT_CHECKED.items()):
        first, *rest = path.split(".")
        if first == "lanes[]":
            own = [one for one in project.lanes if one.id in solution.lanes]
            lanes = tuple(lane.id for lane in own if is_stated(lane, rest, row.values))
            if lanes:
                yield _finding(lanes, row.what, place)
        elif first == "stacks[]":
            names = [stack.label for stack in project.stacks if is_stated(stack, rest, row.values)]
            if names:
                of = f" of {listed(names)}" if len(project.stacks) > 1 else ""
                yield _finding((), row.what + of, place)
        elif is_stated(project, [first, *rest], row.values):
            yield _finding((), row.what, place)


def _finding(lanes: tuple[str, ...], what: str, place: int) -> Finding:
    return found("not-checked", lanes, place=place, why=f"This version does not check {what}.")


def is_stated(record: Record | None, steps: Sequence[str], values: frozenset[Any] = frozenset()) -> bool:
    """Return whether a field inside a record differs from its default, or is one of the values.

    steps: keys from the record on, "[]" after the key of a list. A field that the record does not have, such
    as the bearing of a flat face, is not stated.
    """
    key = steps[0].removesuffix("[]")
    if record is None or key not in record.model_fields_set:  # what was not given is the default
        return False
    value = getattr(record, key)
    if steps[0].endswith("[]"):
        return any(is_stated(one, steps[1:], values) for one in value)
    if len(steps) > 1:
        return is_stated(value, steps[1:], values)
    return value in values if values else value != type(record).model_fields[key].get_default()


UNREAD = MachineCheck(("not-checked",), unread)
