"""Sheets: what the modules of this room found, in words for screen and paper.

A *sheet* has one sentence that can be read alone, further sentences, tables and cautions. The sheets are made
by `stuck_sheet`, `feed_sheet`, `restart_sheet` and `wear_sheet`, which compute nothing.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

UNKNOWN = "not known"

PINCH_CAUTION = (
    "Unplug the motor before you reach in: a stalled motor starts again as soon as the jam gives way."
)
SPRING_CAUTION = (
    "Springs stay loaded at a standstill: unhook them before you free a lane; wear eye protection."
)
FINGER_CAUTION = "Keep fingers away from discs, rollers and levers while the shaft turns, also by hand."
CURRENT_CAUTION = (
    "A stalled motor draws its greatest current and becomes hot: protect it by a fuse or a current limit, as "
    "its maker and local codes require."
)


@dataclass(frozen=True)
class SheetTable:
    """A table: its caption, heads and rows; keys: the lane or supply that each row is about, or empty."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    keys: tuple[str, ...] = ()


@dataclass(frozen=True)
class OperationSheet:
    """A sheet; see the module's text."""

    head: str
    sentences: tuple[str, ...] = ()
    tables: tuple[SheetTable, ...] = ()
    cautions: tuple[str, ...] = ()


MOST_LISTED = 5
"""Names in one list; further ones are counted."""


def listed(texts: Collection[str], most: int = MOST_LISTED) -> str:
    """Return names in one sentence: "a, b and c", the rest counted where there are many."""
    names = list(texts)
    if len(names) > most:
        return ", ".join(names[:most]) + f" and {len(names) - most} more"
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)


def lowered(name: str) -> str:
    """Return a name as it is within a sentence: only its first letter is another."""
    return name[:1].lower() + name[1:]
