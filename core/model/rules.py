"""Rules between lanes: which states may, must or must not hold together, and in which order."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from core.model.base import Id, LengthDeg, LevelName, Mm, Record, Seconds


class LevelState(Record):
    """The lane is AT one of its levels."""

    lane: Id
    level: LevelName


class RangeState(Record):
    """The lane's output lies within from_mm to to_mm."""

    lane: Id
    from_mm: Mm
    to_mm: Mm


def _state_kind(value: Any) -> str:
    keys = value.keys() if isinstance(value, dict) else vars(value) if isinstance(value, Record) else ()
    return "range" if "from_mm" in keys or "to_mm" in keys else "level"


State = Annotated[
    Annotated[LevelState, Tag("level")] | Annotated[RangeState, Tag("range")],
    Discriminator(_state_kind),
]
"""A state that a rule or a gate speaks of: a level, or a range of openings."""


class Exclusive(Record):
    """At most one of `states` holds at a time, with a gap in degrees or in seconds between them."""

    kind: Literal["exclusive"]
    states: Annotated[tuple[State, ...], Field(min_length=2, max_length=4096)]
    gap_deg: LengthDeg | None = None
    gap_s: Seconds | None = None


class Requires(Record):
    """While `when` holds, from lead before to lag after, `need` holds too."""

    kind: Literal["requires"]
    when: State
    need: State
    lead_deg: LengthDeg | None = None
    lead_s: Seconds | None = None
    lag_deg: LengthDeg | None = None
    lag_s: Seconds | None = None


class Order(Record):
    """From each begin of `first` to the next begin of `then` it takes min_s to max_s."""

    kind: Literal["order"]
    first: State
    then: State
    min_s: Seconds = 0.0
    max_s: Seconds | None = None


Rule = Annotated[Exclusive | Requires | Order, Field(discriminator="kind")]
"""Any rule of the file format."""
