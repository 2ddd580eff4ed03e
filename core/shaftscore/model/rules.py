"""Rules between lanes: which states may, must or must not hold together, and in which order."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from shaftscore.base.wording import plain
from shaftscore.model.base import Contradiction, Id, LengthDeg, LevelName, Mm, Record, Seconds


class LevelState(Record):
    """The lane is AT one of its levels: `lane` is its id, `level` the level's name."""

    lane: Id
    level: LevelName


class RangeState(Record):
    """The output of the lane with id `lane` lies within from_mm to to_mm, mm."""

    lane: Id
    from_mm: Mm
    to_mm: Mm

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a range that runs downwards."""
        if self.from_mm > self.to_mm:
            yield "to_mm", f"must be at least from_mm, {plain(self.from_mm)} mm, got {plain(self.to_mm)} mm"


_LEVEL, _RANGE = "a state at a level", "a state in a range"
# Names with spaces, so that no key of a file is ever taken for one of them in a fault's path.


def _state_kind(value: Any) -> str:
    keys = value.keys() if isinstance(value, dict) else vars(value) if isinstance(value, Record) else ()
    return _RANGE if "from_mm" in keys or "to_mm" in keys else _LEVEL


State = Annotated[
    Annotated[LevelState, Tag(_LEVEL)] | Annotated[RangeState, Tag(_RANGE)],
    Discriminator(_state_kind),
]
"""A state that a rule or a gate speaks of: a level, or a range of openings."""


def _one_unit(rule: Record, name: str) -> Iterator[Contradiction]:
    """Yield a contradiction if `name` is given both in degrees and in seconds."""
    deg, sec = getattr(rule, f"{name}_deg"), getattr(rule, f"{name}_s")
    if deg is not None and sec is not None:
        what = f"{plain(sec)} s is given together with {name}_deg, {plain(deg)}°; give one of them"
        yield f"{name}_s", what


class Exclusive(Record):
    """At most one of `states` holds at a time.

    gap_deg or gap_s: least distance between two of them, degrees of the master shaft or seconds.
    """

    kind: Literal["exclusive"]
    states: Annotated[tuple[State, ...], Field(min_length=2, max_length=4096)]
    gap_deg: LengthDeg | None = None
    gap_s: Seconds | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a gap in two units, and a state named twice."""
        yield from _one_unit(self, "gap")
        for index, state in enumerate(self.states):
            if state in self.states[:index]:
                yield (
                    f"states[{index}]",
                    f"is states[{self.states.index(state)}] again; name every state once",
                )


class Requires(Record):
    """While `when` holds, `need` holds too.

    lead_deg or lead_s: from how long before, degrees of the master shaft or seconds. lag_deg or lag_s:
    until how long after.
    """

    kind: Literal["requires"]
    when: State
    need: State
    lead_deg: LengthDeg | None = None
    lead_s: Seconds | None = None
    lag_deg: LengthDeg | None = None
    lag_s: Seconds | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a lead or a lag in two units."""
        yield from _one_unit(self, "lead")
        yield from _one_unit(self, "lag")


class Order(Record):
    """From each begin of `first` to the next begin of `then` it takes min_s to max_s, seconds."""

    kind: Literal["order"]
    first: State
    then: State
    min_s: Seconds = 0.0
    max_s: Seconds | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a least time over the greatest."""
        if self.max_s is not None and self.min_s > self.max_s:
            yield "max_s", f"must be at least min_s, {plain(self.min_s)} s, got {plain(self.max_s)} s"


Rule = Annotated[Exclusive | Requires | Order, Field(discriminator="kind")]
"""Any rule of the file format."""
