"""Sentences about the files of an earlier export; loads none of the export's libraries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from shaftscore.base.wording import counted

if TYPE_CHECKING:
    from shaftscore.make.exporting import RemovedFile


def left_text(count: int) -> str:
    """Return how many files of formats that were not asked for are kept."""
    are = "is" if count == 1 else "are"
    return f"{counted(count, 'file')} of other formats {are} still true and {are} kept"


def removed_lines(removed: Sequence[RemovedFile], most: int | None = None) -> Iterator[str]:
    """Yield a line for each reason why files were removed, with their names.

    most: names that a line holds, all if None; of the others it gives the number.
    """
    reasons: dict[str, list[str]] = {}
    for file in removed:
        reasons.setdefault(file.why, []).append(file.name)
    for why, names in reasons.items():
        shown = names[:most]
        more = f" and {len(names) - len(shown)} more" if len(names) > len(shown) else ""
        yield f"Removed, because {why}: {', '.join(shown)}{more}."
