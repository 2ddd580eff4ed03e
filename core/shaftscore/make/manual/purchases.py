"""What is to be bought, as people buy it: things of one kind and size together, with what they are for."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.make.files.order import MakeOrder
from shaftscore.make.files.tables import bought_rows
from shaftscore.make.manual.context import codes_text

PURPOSES = 3
"""So many purposes are named; of more, their count."""


@dataclass(frozen=True)
class Purchase:
    """One line of the shopping list: what, its size and material, how many, and what it is for."""

    what: str
    size: str
    count: int
    purpose: str

    @property
    def name(self) -> str:
        """What and size in one text, its first letter large."""
        told = f"{self.what} {self.size}".strip()
        return told[:1].upper() + told[1:]


def purchases(order: MakeOrder) -> tuple[Purchase, ...]:
    """Return what a machine needs besides printed parts, each kind and size once."""
    groups: dict[tuple[str, str], list[tuple[str, str, int]]] = {}
    for code, part, what, _stack, count, size, material, *_ in bought_rows(order):
        told = f"{size}, {material}" if material and material not in size else size
        groups.setdefault((what, told), []).append((code, part, int(count)))
    alone = len(order.report.project.stacks) == 1
    return tuple(
        Purchase(what, size, sum(count for *_, count in rows), _purpose(rows, alone=alone))
        for (what, size), rows in groups.items()
    )


def _purpose(rows: list[tuple[str, str, int]], *, alone: bool) -> str:
    """Return what some things are for: parts by name, of lanes what for and their codes.

    alone: whether there is one shaft, which need not be named.
    """
    words = list(
        dict.fromkeys(part.partition(" of ")[0] if code or alone else part for code, part, _ in rows)
    )
    codes = list(dict.fromkeys(code for code, *_ in rows if code))
    if not codes:
        return ", ".join(words[:PURPOSES]) + (
            f" and {len(words) - PURPOSES} more" if len(words) > PURPOSES else ""
        )
    return f"{', '.join(words)}: {codes_text(codes)}"
