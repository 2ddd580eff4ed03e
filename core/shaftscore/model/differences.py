"""What is different between two projects, lane by lane, in words for a table with two columns."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from shaftscore.base.wording import counted, degrees, listed
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project

MOST_BLOCKS = 4
"""As many blocks of a lane are named; of more the rest are counted."""

ABSENT = "not there"
LONGEST = 60
WORDS = {
    "name": "name",
    "notes": "notes",
    "shaft": "shaft and steps",
    "drive": "motor and drive train",
    "stacks": "stacks and order",
    "rules": "rules between lanes",
    "flow": "flow of items",
    "tolerances": "tolerances",
    "limits": "limits",
    "materials": "materials",
    "print": "printer",
    "frame": "frame",
    "measured": "measurements",
    "duty": "duty",
    "not_needed": "areas not needed",
    "grid": "places of lanes",
    "home": "home angle",
    "log": "log-book",
    "bring_up": "what was seen",
}
"""What the parts of a project beside its lanes are called."""


@dataclass(frozen=True)
class Difference:
    """One thing that is different.

    lane: the lane's label, empty where it is about the whole machine. what: which part. before, after:
    how it is in either project.
    """

    lane: str
    what: str
    before: str
    after: str


def differences(before: Project, after: Project) -> list[Difference]:
    """List what is different between two projects: lanes in the order of `after`, then the machine."""
    old = {lane.id: lane for lane in before.lanes}
    found: list[Difference] = []
    for lane in after.lanes:
        found += _of_lane(old.pop(lane.id, None), lane)
    found += [Difference(lane.label, "lane", _summary(lane), ABSENT) for lane in old.values()]
    if [lane.id for lane in before.lanes if lane.id in after.lane_index] != [
        lane.id for lane in after.lanes if lane.id in before.lane_index
    ]:
        found.append(Difference("", "order of lanes", _order(before), _order(after)))
    return found + list(_of_machine(before, after))


def _of_lane(before: Lane | None, after: Lane) -> Iterator[Difference]:
    if before is None:
        yield Difference(after.label, "lane", ABSENT, _summary(after))
        return
    if before is after or before == after:
        return
    if before.blocks != after.blocks:
        yield Difference(after.label, "blocks", _blocks(before, after.blocks), _blocks(after, before.blocks))
    for name in type(after).model_fields:
        was, now = getattr(before, name), getattr(after, name)
        if name not in ("id", "blocks") and was != now:
            yield Difference(after.label, name.replace("_", " "), _short(was), _short(now))


def _of_machine(before: Project, after: Project) -> Iterator[Difference]:
    for name, words in WORDS.items():
        was, now = getattr(before, name), getattr(after, name)
        if was != now:
            yield Difference("", words, _short(was), _short(now))


def _summary(lane: Lane) -> str:
    return counted(len(lane.blocks), "block")


def _order(project: Project) -> str:
    return _cut(", ".join(lane.label for lane in project.lanes))


def _blocks(lane: Lane, others: tuple[Block, ...]) -> str:
    """Name the blocks that the other lane does not have."""
    own = [
        f"{b.level} {degrees(b.start_deg)} to {degrees(b.end_deg)}" for b in lane.blocks if b not in others
    ]
    if len(own) > MOST_BLOCKS:
        own = [*own[: MOST_BLOCKS - 1], f"{len(own) - MOST_BLOCKS + 1} more"]
    return listed(own) or "none of these"


def _short(value: Any) -> str:
    """Write a value as the file would have it, cut where it is long."""
    if value is None:
        return ABSENT
    if isinstance(value, tuple):
        return counted(len(value), "entry") if value else "none"
    if hasattr(value, "model_dump"):
        plain = value.model_dump(mode="python", by_alias=True, exclude_defaults=True)
        return _cut(", ".join(f"{key} {_plain(item)}" for key, item in plain.items()) or "as by default")
    return _cut(_plain(value))


def _plain(value: Any) -> str:
    if isinstance(value, str):
        return value
    return json.dumps(value if not hasattr(value, "items") else dict(value), ensure_ascii=False, default=str)


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[:LONGEST].rstrip()}…"
