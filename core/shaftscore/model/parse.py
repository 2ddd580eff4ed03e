"""From the bytes of a file to plain values, within bounds and with a path for every fault.

The bounds keep a wrong file from costing more than a glance: size, count of separators, depth and
lengths are looked at before anything is built from them. Lists become tuples.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NoReturn

from shaftscore.base.errors import Fault, ProjectError
from shaftscore.model.faults import Location, path_text, shown

MOST_BYTES = 16 * 1024 * 1024
"""Largest file that is read (4,096 lanes of 10 full blocks are 6.4 MB)."""

MOST_SEPARATORS = 2_000_000
"""Most commas, colons and opening brackets in a file."""

MOST_DEPTH = 32
"""Most objects and lists inside one another."""

MOST_ENTRIES = 100_000
"""Most entries of any one list; no record has a longer one."""

MOST_KEYS = 10_000
"""Most keys of any one object; a note of the log-book may name the revisions of so many parts."""

MOST_FAULTS = 100
"""Reading stops after this many faults."""

_LONG_NUMBER = 400
"""Characters from which a whole number is read as a float (and so found too large)."""


def parse(data: bytes, source: str) -> Any:
    """Read JSON bytes to dicts, tuples, texts, numbers; raises ProjectError with the faults.

    Refuses: too large, not UTF-8, not JSON, too deep, a key twice in one object, numbers that are not
    finite, text that is no Unicode.
    """
    _refuse_size(data, source)
    text = _decoded(data, source)
    doubles: list[tuple[dict[str, Any], str]] = []
    value = _json(text, source, doubles)
    walk = _Walk({id(found): key for found, key in doubles})
    value = walk.converted(value, ())
    if walk.faults:
        refuse(source, walk.faults)
    return value


def refuse(source: str, faults: Sequence[Fault]) -> NoReturn:
    """Raise ProjectError with at most `MOST_FAULTS` faults, saying so where there are more."""
    raise ProjectError(source, faults[:MOST_FAULTS], more=len(faults) > MOST_FAULTS)


def _refuse_size(data: bytes, source: str) -> None:
    if len(data) > MOST_BYTES:
        refuse(source, [Fault("", f"the file has {len(data):,} bytes; {MOST_BYTES:,} are the most")])
    count = sum(data.count(sign) for sign in (b",", b":", b"[", b"{"))
    if count > MOST_SEPARATORS:
        what = f"the file has {count:,} commas, colons and opening brackets; {MOST_SEPARATORS:,} are the most"
        refuse(source, [Fault("", what)])


def _decoded(data: bytes, source: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        refuse(source, [Fault("", "the file is UTF-16; a project is UTF-8 text")])
    if data.startswith(b"\xef\xbb\xbf"):
        refuse(
            source, [Fault("", "the file begins with a byte order mark (EF BB BF); save it as UTF-8 without")]
        )
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = f"byte {error.start} (0x{data[error.start]:02X}, line {line}) is not UTF-8"
        refuse(source, [Fault("", what)])
    if not text.strip():
        refuse(source, [Fault("", "the file is empty")])
    return text


def _json(text: str, source: str, doubles: list[tuple[dict[str, Any], str]]) -> Any:
    def keep_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(pairs)
        if len(made) < len(pairs):
            doubles.append((made, _first_double(pairs)))
        return made

    try:
        return json.loads(text, object_pairs_hook=keep_doubles, parse_int=_whole)
    except json.JSONDecodeError as error:
        what = f"not JSON: {error.msg} at line {error.lineno}, column {error.colno}"
        refuse(source, [Fault("", what)])
    except RecursionError:
        refuse(source, [Fault("", f"objects and lists lie deeper than {MOST_DEPTH} in one another")])


def _whole(text: str) -> int | float:
    return int(text) if len(text) < _LONG_NUMBER else float(text)


def _first_double(pairs: list[tuple[str, Any]]) -> str:
    seen: set[str] = set()
    for key, _ in pairs:
        if key in seen:
            return key
        seen.add(key)
    raise AssertionError("called only where a key occurs twice")


@dataclass
class _Walk:
    """Looks at every value once: lists become tuples, faults are kept with their paths."""

    doubles: dict[int, str]
    faults: list[Fault] = field(default_factory=list)

    def converted(self, value: Any, place: Location) -> Any:
        if len(self.faults) > MOST_FAULTS:
            return None
        if isinstance(value, float) and not math.isfinite(value):
            return self._fault(place, f"{'NaN' if math.isnan(value) else 'Infinity'} is not a finite number")
        if isinstance(value, str):
            return self._text(value, place)
        if isinstance(value, dict):
            return self._object(value, place)
        return self._list(value, place) if isinstance(value, list) else value

    def _fault(self, place: Location, message: str) -> None:
        self.faults.append(Fault(path_text(place), message))

    def _text(self, value: str, place: Location) -> str:
        if not value.isascii() and any("\ud800" <= sign <= "\udfff" for sign in value):
            self._fault(place, f"{json.dumps(value)[:60]} is not Unicode text: half a surrogate pair")
        return value

    def _object(self, value: dict[str, Any], place: Location) -> dict[str, Any] | None:
        if not self._fits(len(value), MOST_KEYS, "keys", place):
            return None
        if id(value) in self.doubles:
            self._fault(place, f"the key {shown(self.doubles[id(value)])} occurs twice in one object")
        return {self._text(key, place): self.converted(inner, (*place, key)) for key, inner in value.items()}

    def _list(self, value: list[Any], place: Location) -> tuple[Any, ...] | None:
        if not self._fits(len(value), MOST_ENTRIES, "entries", place):
            return None
        return tuple(self.converted(inner, (*place, index)) for index, inner in enumerate(value))

    def _fits(self, count: int, most: int, what: str, place: Location) -> bool:
        if count > most:
            self._fault(place, f"has {count:,} {what}; {most:,} are the most")
        elif len(place) >= MOST_DEPTH:
            self._fault(place[:3], f"objects and lists lie deeper than {MOST_DEPTH} in one another")
        else:
            return True
        return False
