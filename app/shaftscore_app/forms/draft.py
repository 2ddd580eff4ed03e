"""What may stand in the draft that a form edits, and how a key of one is read.

A draft is what stands in a file (`shaftscore.edits.drafts`): mappings, tuples, numbers, texts. What is not
given is absent, for which an editor says `ABSENT`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeAlias

Scalar: TypeAlias = bool | int | float | str
"""A plain value that is typed or chosen."""

Value: TypeAlias = "Scalar | tuple[Value, ...] | Mapping[str, Value] | None"
"""What may stand under a key of a draft."""

Draft: TypeAlias = Mapping[str, Value]
"""The draft of a record."""


class Absent:
    """The value that is not given."""

    def __repr__(self) -> str:
        """Describe what it is."""
        return "ABSENT"


ABSENT = Absent()
"""The one `Absent`."""

Entry: TypeAlias = "Value | Absent"
"""What an editor holds."""


def scalar_of(value: Entry) -> Scalar | None:
    """Return a plain value as it is; None for anything else."""
    return value if isinstance(value, bool | int | float | str) else None


def text_of(draft: Draft, key: str, otherwise: str = "") -> str:
    """Return the text under a key; `otherwise` where there is none."""
    found = draft.get(key)
    return found if isinstance(found, str) else otherwise


def number_of(draft: Draft, key: str) -> float:
    """Return the number under a key; 0 where there is none."""
    found = draft.get(key)
    return found if isinstance(found, int | float) else 0.0


def draft_in(value: Entry, key: str = "") -> Draft:
    """Return the draft that a value is, or that stands under a key of it; empty where there is none."""
    found = value.get(key) if key and isinstance(value, Mapping) else value
    return found if isinstance(found, Mapping) else {}


def drafts_in(value: Entry) -> tuple[Draft, ...]:
    """Return the drafts that a value holds; none where it is no tuple of them."""
    return tuple(part for part in value if isinstance(part, Mapping)) if isinstance(value, tuple) else ()


_STEP = re.compile(r"\.?(?:\[(\d+)\]|(\w+))(.*)", re.DOTALL)


def first_step(path: str) -> tuple[int | str | None, str]:
    """Return the first step of a path, a place in a list or a key, and the rest; None and "" for no path."""
    match = _STEP.fullmatch(path)
    if match is None:
        return None, ""
    return int(match[1]) if match[1] else match[2], match[3]
