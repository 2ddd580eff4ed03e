"""Levels that lanes of a table share: the same words are the same levels in the same order.

Each column of a table of states has its words. Columns whose words are the same make one *level set*, and
one that uses only some words of a larger set belongs to that set: a selector that never goes right has a
right level too. Upper and lower case make no difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.edits.state_table.visits import parts_of

Cells = Sequence[Sequence[str]]
"""Rows of texts: the first names the lanes, the first column the steps."""


@dataclass(frozen=True)
class LevelSet:
    """Columns of a table that share their levels.

    columns: their numbers, counted from 0 with the column of steps; lanes: their heads. words: their levels,
    in the order in which they first come, column by column.
    """

    columns: tuple[int, ...]
    lanes: tuple[str, ...]
    words: tuple[str, ...]


def words_below(rows: Cells, column: int) -> list[str]:
    """Return the words of a column below its head, empty cells included."""
    return [row[column] if column < len(row) else "" for row in rows[1:]]


def level_sets(rows: Cells) -> list[LevelSet]:
    """Return the level sets of a table, in the order of their first columns.

    Columns without a head or without words belong to none.
    """
    used = {
        column: words
        for column, head in enumerate(rows[0])
        if column and head and (words := _spelled(words_below(rows, column)))
    }
    largest: list[frozenset[str]] = []
    for keys in sorted(map(frozenset, used.values()), key=len, reverse=True):
        if not any(keys <= other for other in largest):
            largest.append(keys)
    found: dict[frozenset[str], list[int]] = {keys: [] for keys in largest}
    for column, words in used.items():
        own = [keys for keys in largest if words.keys() <= keys]
        found[max(own, key=lambda keys: len(found[keys]))].append(column)
    return sorted((_set_of(rows, columns) for columns in found.values()), key=lambda one: one.columns)


def _set_of(rows: Cells, columns: Sequence[int]) -> LevelSet:
    words = _spelled([word for column in columns for word in words_below(rows, column)])
    return LevelSet(tuple(columns), tuple(rows[0][column] for column in columns), tuple(words.values()))


def _spelled(words: Sequence[str]) -> dict[str, str]:
    """Return the levels of cells by their form without case, as they are first spelled."""
    spelled: dict[str, str] = {}
    for word in words:
        for level in parts_of(word):
            if level:
                spelled.setdefault(level.casefold(), level)
    return spelled
