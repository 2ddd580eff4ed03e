"""What all records share: strictness, bounds by unit, and the way a changed copy is made.

Records are immutable. An edit never patches a record: it constructs a new one, so that every value
is checked again (`replaced`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, PlainSerializer
from pydantic_core import PydanticCustomError

from shaftscore.model.letters import Named

Contradiction = tuple[str, str]
"""(path from the record on, what contradicts what with the values)."""


class Record(BaseModel):
    """Base of every record: strict types, no unknown keys, finite numbers, immutable.

    A record whose fields are each in bounds may still contradict itself: `contradictions` says so, and
    such a record cannot be made.
    """

    model_config = ConfigDict(
        frozen=True, strict=True, extra="forbid", allow_inf_nan=False, ignored_types=(property,)
    )

    def contradictions(self) -> Iterator[Contradiction]:
        """Yield what in this record contradicts something else in it."""
        return iter(())

    def model_post_init(self, _context: Any) -> None:
        """Refuse a record that contradicts itself, once, when it is made.

        A validator would look again whenever the record is put into another, and an edit of one lane
        would cost as much as all of them. Raises PydanticCustomError with all contradictions, which pydantic
        reports as one of its ValidationError.
        """
        found = tuple(self.contradictions())
        if found:
            text = "; ".join(f"{path}: {what}" for path, what in found)
            raise PydanticCustomError("contradiction", "{text}", {"text": text, "found": found})


R = TypeVar("R", bound=Record)


def replaced(record: R, **changes: Any) -> R:
    """Make a copy with some fields changed, all of it validated.

    Field names are the attribute names. What is not changed stays the same object, so that what was worked
    out from it before is known to hold. Raises pydantic.ValidationError for a value out of bounds,
    TypeError for a field that the record does not have.
    """
    fields = type(record).model_fields
    unknown = set(changes) - set(fields)
    if unknown:
        raise TypeError(f"{type(record).__name__} has no field {', '.join(sorted(unknown))}")
    values = {
        field.alias or name: changes.get(name, getattr(record, name))
        for name, field in fields.items()
        if name in changes or name in record.model_fields_set
    }
    made = type(record)(**values)
    for name in record.model_fields_set - set(changes):
        if getattr(made, name) == getattr(record, name):  # validation builds new tuples and mappings
            made.__dict__[name] = getattr(record, name)
    return made


def _read_only(levels: Mapping[str, float]) -> Mapping[str, float]:
    return MappingProxyType(dict(levels))


Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{1,40}$")]
"""An id, unique in its kind."""

Name = Named
"""A name as people read it: any text up to 200 characters."""

LevelName = Named
"""The name of a level of a lane."""

StartDeg = Annotated[float, Field(ge=0, lt=360)]
"""An angle in its turn: 0 <= angle < 360 degrees."""

TurnedDeg = Annotated[float, Field(ge=-360, le=360)]
"""An angle of a place or a correction, degrees, either way round."""

LengthDeg = Annotated[float, Field(ge=0, le=360)]
"""A stretch of the turn, degrees."""

Mm = Annotated[float, Field(ge=0, le=2000)]
"""A length, mm, not negative."""

PositiveMm = Annotated[float, Field(gt=0, le=2000)]
"""A length, mm, greater than 0."""

SignedMm = Annotated[float, Field(ge=-2000, le=2000)]
"""A distance to either side, mm."""

Seconds = Annotated[float, Field(ge=0, le=1e6)]
"""A time, s, not negative."""

Percent = Annotated[float, Field(ge=0, le=100)]
"""A share, per cent."""

Fraction = Annotated[float, Field(gt=0, le=1)]
"""An efficiency, greater than 0, at most 1."""

Friction = Annotated[float, Field(ge=0, le=10)]
"""A coefficient of friction."""

Rpm = Annotated[float, Field(ge=1e-3, le=1e4)]
"""A speed, rev/min."""

MOST_FORCE_N = 1e6
"""Greatest force that a record holds, N."""

Force = Annotated[float, Field(ge=-MOST_FORCE_N, le=MOST_FORCE_N)]
"""A force, N, of either sign."""

PositiveForce = Annotated[float, Field(ge=0, le=MOST_FORCE_N)]
"""A force, N, not negative."""

Levels = Annotated[
    Mapping[LevelName, Mm], Field(max_length=64), AfterValidator(_read_only), PlainSerializer(dict)
]
"""Level name to output, mm (at least 0); read-only."""
