"""The saved form: a project as the bytes of a file.

Keys are in the order of the records, defaults are left out, a block takes one line, numbers are as short as
they can be, lines end in LF. So a difference between two files can be read, and the same project gives
the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from shaftscore.model.project import Project

_WIDTH = 120
"""Characters up to which an object or a list stays on its line."""

_INDENT = "  "
_ALWAYS_APART = ("lanes", "stacks", "rules")
"""Lists of the project whose entries each begin a line of their own."""


def saved_form(project: Project) -> bytes:
    """Return the bytes of a project's file; reading them gives an equal project."""
    values = project.model_dump(mode="python", by_alias=True, exclude_defaults=True)
    return ("".join(_apart(values, 0)) + "\n").encode()


def _apart(value: Any, depth: int) -> Iterator[str]:
    """Write a value over several lines."""
    inner = _INDENT * (depth + 1)
    if isinstance(value, Mapping):
        parts = [(f"{inner}{_text(key)}: ", key, item) for key, item in value.items()]
        opening, closing = "{", "}"
    else:
        parts = [(inner, "", item) for item in value]
        opening, closing = "[", "]"
    yield opening + "\n"
    for place, (start, key, item) in enumerate(parts):
        yield start
        yield from _placed(item, key, len(start), depth + 1)
        yield "\n" if place == len(parts) - 1 else ",\n"
    yield _INDENT * depth + closing


def _placed(value: Any, key: str, column: int, depth: int) -> Iterator[str]:
    """Write a value on its line if it fits there, else over several."""
    line = _line(value)
    fits = column + len(line) <= _WIDTH or not isinstance(value, (Mapping, tuple, list)) or not value
    if _is_block(value) or (fits and not _holds_blocks(key, value)):
        yield line
    else:
        yield from _apart(value, depth)


def _is_block(value: Any) -> bool:
    return isinstance(value, Mapping) and "start_deg" in value and "end_deg" in value


def _holds_blocks(key: str, value: Any) -> bool:
    return bool(value) and key in ("blocks", *_ALWAYS_APART) and isinstance(value, Sequence)


def _line(value: Any) -> str:
    """Write a value on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_text(key)}: {_line(item)}" for key, item in value.items()) + "}"
    if isinstance(value, (tuple, list)):
        return "[" + ", ".join(map(_line, value)) + "]"
    return _number(value) if isinstance(value, float) else _text(value)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _number(value: float) -> str:
    """Write a float with the fewest digits that read back as the same float."""
    text = repr(value)
    return text.removesuffix(".0")
