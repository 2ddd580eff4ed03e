"""Which characters a name may hold: what every file of an export can, and what a reader sees in its order.

XML 1.0 (section 2.2, `Char`) has no place for most control characters, for U+FFFE and U+FFFF and for halves
of surrogate pairs, so no SVG or 3MF file could hold them; of those up to U+009F that it has a place for it
advises against, and terminals obey some. Bidirectional controls (property Bidi_Control of Unicode, UAX #9)
show a text in another order than it has: "gpj.exe" as "exe.jpg". Tabs and line ends stay: they are spaces.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from shaftscore.base.errors import BIDI_CONTROLS

_REFUSED = re.compile(f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff\ud800-\udfff{BIDI_CONTROLS}]")


def refused_letter(text: str) -> tuple[int, str] | None:
    """Return place (from 1) and code point of the first character that no text may hold: (3, "U+202E")."""
    if text.isascii() and text.isprintable():
        return None
    found = _REFUSED.search(text)
    return None if found is None else (found.start() + 1, f"U+{ord(found[0]):04X}")


def _without_refused(text: str) -> str:
    """Return a text as it is; raises PydanticCustomError where it holds what it may not."""
    found = refused_letter(text)
    if found is not None:
        place, code = found
        kind = "changes the direction of writing" if _is_bidi(code) else "is a control character"
        raise PydanticCustomError(
            "letter",
            "character {place} ({code}) {kind}, which no text may hold",
            {"place": place, "code": code, "kind": kind},
        )
    return text


def _is_bidi(code: str) -> bool:
    return chr(int(code[2:], 16)) in BIDI_CONTROLS


Letters: Any = AfterValidator(_without_refused)
"""Refuses what `refused_letter` finds; part of the type of every text."""

ShortText = Annotated[str, Field(max_length=200), Letters]
"""Any text of up to 200 characters, or none."""

Named = Annotated[str, Field(min_length=1, max_length=200), Letters]
"""Any text of 1 to 200 characters."""
