"""Rows of the Findings view: causes, and below each what follows from it, folded or open.

A cause with up to three consequences shows them; with more they are folded into one line. Opened, it shows
two examples and a line that opens all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Literal

from shaftscore.base.wording import counted
from shaftscore.judge.findings import RULES, Cure, Finding, Words, words
from shaftscore.model import Flow, Project
from shaftscore_app.document.selection import FindingKey

ALWAYS_OPEN, EXAMPLES = 3, 2
"""So many consequences are never folded at first, and so many are shown as examples."""

NAMED = 3
"""So many lanes of one rule are named in the line of a fold."""

Fold = Literal["folded", "open", "all"]
"""How much of what follows from a cause is shown."""


class RowKind(StrEnum):
    """What a row is: a cause, the line of its fold, a consequence, or the line that opens the others."""

    CAUSE = "cause"
    FOLD = "fold"
    CONSEQUENCE = "consequence"
    MORE = "more"


@dataclass(frozen=True)
class FindingRow:
    """A row about a finding and the project it was found in; stale: an earlier one than what is shown.

    For the lines of a fold the finding is the cause. line: what such a line says. following: how many
    findings follow from a cause. is_open: whether they are shown.
    """

    finding: Finding
    project: Project
    stale: bool
    kind: RowKind = RowKind.CAUSE
    line: str = ""
    following: int = 0
    is_open: bool = False

    @cached_property
    def words(self) -> Words:
        """The finding in words, made when they are first seen."""
        return words(self.finding, self.project)

    @cached_property
    def cure_text(self) -> str:
        """The cure as people read it, with what it changes where that is not the discs."""
        owned = owned_text(self.finding.cure, self.project) if self.finding.cure is not None else ""
        return " ".join(filter(None, (self.words.cure, owned)))

    @property
    def is_finding(self) -> bool:
        """Whether it is a finding itself, and not a line of a fold."""
        return self.kind in (RowKind.CAUSE, RowKind.CONSEQUENCE)

    @property
    def text(self) -> str:
        """All of it as text, a line for each of its lines."""
        said = self.words
        head = f"{self.finding.severity.value.capitalize()}: {said.title}"
        place = ", ".join(filter(None, (head, said.lanes, said.where)))
        more = f"{counted(self.following, 'consequence')} folded in" if self.following else ""
        return "\n".join(filter(None, (place, said.what, self.cure_text, more)))

    @property
    def spoken(self) -> str:
        """The row as it is read aloud."""
        if not self.is_finding:
            return self.line
        said = self.words
        state = "open" if self.is_open else "folded"
        more = f" {counted(self.following, 'consequence')}, {state}." if self.following else ""
        kind = "Consequence: " if self.kind is RowKind.CONSEQUENCE else ""
        place = ", ".join(filter(None, (said.title, said.lanes, said.where)))
        cure = f" Fix: {self.cure_text}" if self.cure_text else ""
        return f"{kind}{self.finding.severity.value.capitalize()}: {place}. {said.what}{cure}{more}"

    def has(self, sought: str) -> bool:
        """Return whether every word of `sought` is in its text, however written."""
        text = self.text.casefold()
        return all(word in text for word in sought.casefold().split())

    @property
    def place(self) -> tuple[float | str, ...]:
        """Sorting key by place in the cycle: angle, then turn; what has no place comes first."""
        finding = self.finding
        start = -1.0 if finding.start_deg is None else float(finding.facts.get("at_deg", finding.start_deg))
        return (start, finding.turn or 0, *finding.order)


OWNED: Mapping[str, str] = {
    "set_drive": "Changes the drive, not the discs.",
    "set_load": "Changes the load, not the discs.",
    "set_shaft": "Changes the speed of the machine, not the discs.",
}
"""Edits of what the maker owns beside the discs, with what is said of them."""


def owned_text(cure: Cure, project: Project) -> str:
    """Return what a cure changes that is not a disc but the maker's own, such as a feed rate; else empty."""
    if cure.edit != "set_flow":
        return OWNED.get(cure.edit or "", "")
    after, before = cure.arguments.get("flow"), project.flow
    if not isinstance(after, Flow) or before is None:
        return ""
    parts = ["supply"] * (after.supplies != before.supplies) + ["magazine"] * (
        after.magazines != before.magazines
    )
    return f"Changes the {' and the '.join(parts)}, not the discs." if parts else ""


@dataclass(frozen=True)
class CauseGroup:
    """A cause with what follows from it."""

    cause: FindingRow
    following: tuple[FindingRow, ...]


def rows_of(groups: Iterable[CauseGroup], fold_of: Callable[[FindingKey, int], Fold]) -> Iterator[FindingRow]:
    """Yield the rows of groups, each opened as `fold_of` says of its key and count."""
    for group in groups:
        cause, following = group.cause, group.following
        fold: Fold = fold_of(cause.finding.key, len(following)) if following else "folded"
        yield _with(cause, RowKind.CAUSE, "", len(following), is_open=fold != "folded")
        if not following:
            continue
        yield _with(cause, RowKind.FOLD, fold_line(following), len(following), is_open=fold != "folded")
        shown = {"folded": 0, "open": EXAMPLES, "all": len(following)}[fold]
        for one in following[:shown]:
            yield _with(one, RowKind.CONSEQUENCE, "", 0, is_open=False)
        if fold == "open" and len(following) > shown:
            yield _with(cause, RowKind.MORE, f"and {len(following) - shown:,} more", 0, is_open=False)


def first_fold(count: int) -> Fold:
    """Return how a fold of so many consequences is shown at first."""
    return "all" if count <= ALWAYS_OPEN else "folded"


def fold_line(following: Sequence[FindingRow]) -> str:
    """Return what follows in one line: "5 consequences: Starvation G1, G2, G3 and 2 more"."""
    rules: dict[str, dict[tuple[str, ...], FindingRow]] = {}
    for row in following:
        rules.setdefault(row.finding.rule, {}).setdefault(row.finding.lanes, row)
    named = [f"{RULES[rule].title} {_some(list(rows.values()))}".rstrip() for rule, rows in rules.items()]
    return f"{counted(len(following), 'consequence')}: {'; '.join(named)}"


def _some(rows: Sequence[FindingRow]) -> str:
    """Return the lanes of the first rows, and how many more; only those named are put into words."""
    different = [row for row in rows if row.finding.lanes]
    more = len(different) - NAMED
    named = ", ".join(row.words.lanes for row in different[:NAMED])
    return named + (f" and {more:,} more" if more > 0 else "")


def _with(row: FindingRow, kind: RowKind, line: str, following: int, *, is_open: bool) -> FindingRow:
    return FindingRow(row.finding, row.project, row.stale, kind, line, following, is_open)
