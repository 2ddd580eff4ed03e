"""What is kept of the built machine: its home angle, a log-book, and what was seen while it was cranked.

A *sheet* (`BringUp`) is one time at the bench: *checks*, each at an angle of the master shaft, and in each a
*sighting* of some lanes: the level that a lane was seen at, or its output where that was measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property
from types import MappingProxyType
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, PlainSerializer
from pydantic_core import PydanticCustomError

from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import plain
from shaftscore.model.base import Contradiction, Id, LevelName, Record, SignedMm, StartDeg
from shaftscore.model.letters import Letters

MOST_SHEETS = 100
"""Most sheets that a project keeps."""

MOST_CHECKS = 1000
"""Most checks of a sheet."""

MOST_NOTES = 10_000
"""Most entries of the log-book."""

MOST_CODES = 10_000
"""Most parts whose revisions one entry names."""

MOST_COUNTED_TURNS = 3
"""First turns of a run in which items are counted."""

MOST_ITEMS = 1_000_000
"""Most items of one count."""

MOST_SEEN = 4096
"""Most lanes that one check names: as many as a project has."""


def _of_calendar(text: str) -> str:
    """Return a date as it is; raises PydanticCustomError where the calendar has no such day."""
    try:
        date.fromisoformat(text)
    except ValueError as error:
        raise PydanticCustomError("no_day", "no such day") from error
    return text


Date = Annotated[str, Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"), AfterValidator(_of_calendar)]
"""A day of the calendar (ISO 8601, extended form): year, month, day."""

PartCode = Annotated[str, Field(pattern=r"^[A-Za-z0-9+._ -]{1,40}$")]
"""The code of a part, as it is engraved."""

Revision = Annotated[str, Field(pattern=r"^R[0-9A-F]{3}$")]
"""The revision of a part, as it is engraved: R and three digits (0 to 9, A to F)."""


def _frozen(values: Mapping[str, object]) -> Mapping[str, object]:
    return MappingProxyType(dict(values))


Revisions = Annotated[
    Mapping[PartCode, Revision],
    Field(max_length=MOST_CODES),
    AfterValidator(_frozen),
    PlainSerializer(dict),
]
"""Revision of each part by its code; read-only."""


def _seen_value(value: object) -> object:
    """Return a value as it is; raises PydanticCustomError where it can be no sighting."""
    if isinstance(value, bool) or not isinstance(value, str | int | float | None):
        raise PydanticCustomError("sighting", "no sighting")
    return value


Sighting = Annotated[LevelName | SignedMm | None, BeforeValidator(_seen_value)]
"""What was seen of a lane: a level, an output in mm, or None: it cannot be seen there."""

Seen = Annotated[
    Mapping[Id, Sighting], Field(max_length=MOST_SEEN), AfterValidator(_frozen), PlainSerializer(dict)
]
"""Sighting of each lane by its id; a lane that is not named was not looked at. Read-only."""


Arrived = Annotated[
    Mapping[
        Id,
        Annotated[
            tuple[Annotated[int, Field(ge=0, le=MOST_ITEMS)] | None, ...],
            Field(max_length=MOST_COUNTED_TURNS),
        ],
    ],
    Field(max_length=MOST_SEEN),
    AfterValidator(_frozen),
    PlainSerializer(dict),
]
"""Items that came to each outlet or magazine in the first turns, None where not counted. Read-only."""


class Home(Record):
    """Where the machine stands when it is switched on.

    angle_deg: of the master shaft, degrees.
    """

    angle_deg: StartDeg


class LogEntry(Record):
    """One note of the log-book.

    date: year, month, day. text: for people. revisions: of the parts that it is about, by their codes.
    """

    date: Date
    text: Annotated[str, Field(min_length=1, max_length=2000), Letters]
    revisions: Revisions | None = None


class BringUpCheck(Record):
    """What was seen with the machine at one angle.

    angle_deg: of the master shaft, degrees. seen: level or output in mm by lane, null where the lane cannot
    be seen.
    """

    angle_deg: StartDeg
    seen: Seen


class BringUp(Record):
    """One sheet of what was seen while the machine was cranked by hand.

    date: on which it was begun. revisions: of the discs that were on the machine, by their codes. checks: in
    the order of their angles. arrived: items that came to each outlet or magazine, by its id, in turns 1 to 3
    from the start; null where not counted. Ends that the flow no longer has are kept and not compared.
    """

    date: Date
    revisions: Revisions | None = None
    checks: Annotated[tuple[BringUpCheck, ...], Field(max_length=MOST_CHECKS)] = ()
    arrived: Arrived | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse checks that are not in the order of their angles, and two at one angle."""
        for index, check in enumerate(self.checks[1:], start=1):
            before = self.checks[index - 1].angle_deg
            if check.angle_deg - before < EDIT_DEG / 2:
                told, least = plain(check.angle_deg), plain(before)
                where = f"checks[{index}].angle_deg"
                yield where, f"must be greater than that of the check before, {least}°, got {told}°"

    def check_at(self, angle_deg: float) -> BringUpCheck | None:
        """Return the check at an angle, degrees, to half the grid of edits; None if there is none."""
        near = (one for one in self.checks if abs(one.angle_deg - angle_deg) <= EDIT_DEG / 2)
        return next(near, None)

    @cached_property
    def named(self) -> Mapping[tuple[str, str | None], str]:
        """Where each lane with each level (None: no level) is named first: its path inside the sheet."""
        found: dict[tuple[str, str | None], str] = {}
        for index, check in enumerate(self.checks):
            for lane_id, sighting in check.seen.items():
                level = sighting if isinstance(sighting, str) else None
                found.setdefault((lane_id, level), f"checks[{index}].seen.{lane_id}")
        return found
