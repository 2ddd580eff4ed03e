"""The build manual: a PDF from which one person builds the machine, for A4 and for Letter.

`document` makes pages of flowables with head and foot, `flow` and `markup` make flowables, `pages` says what
stands on each page, in the order in which it is needed at the bench; drawings come from `make.drawing`.
It is written after all other files, because it states what their proof found.

The PDF library is loaded where a manual is written: the rest of the library does without it.
"""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.make.drawing.fonts import MISSING, missing_letters
from shaftscore.make.drawing.paper_sizes import A4, LETTER, PaperSize
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.proof import DiscProof, FitProof

NAMED = 20
"""A note names this many missing letters at most."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a manual a size of paper."""
    return [_planned(order, size) for size in (A4, LETTER)]


def _planned(order: MakeOrder, size: PaperSize) -> Planned:
    return Planned(
        f"build_manual_{size.name.lower()}.pdf",
        "pdf",
        order.items,
        lambda: manual_bytes(order, size, ()),
        whole=True,
        always=True,
        make_proved=lambda proofs, fits: manual_bytes(order, size, proofs, fits),
    )


def manual_bytes(
    order: MakeOrder, size: PaperSize, proofs: Sequence[DiscProof], fits: Sequence[FitProof] = ()
) -> bytes:
    """Write the manual; same order, proofs and fits, same bytes."""
    # The PDF library takes a second to load.
    from shaftscore.make.manual.book import book_bytes

    return book_bytes(order, size, proofs, fits)


def notes(order: MakeOrder) -> list[str]:
    """Name the letters that the manual's font does not have; empty if it has all, or none is planned."""
    if "manual" not in order.formats:
        return []
    missing = missing_letters(texts_of(order))
    if not missing:
        return []
    more = f" and {len(missing) - NAMED} more" if len(missing) > NAMED else ""
    told = " ".join(f"{letter} (U+{ord(letter):04X})" for letter in missing[:NAMED])
    return [f"the font of the build manual does not have {told}{more}: {MISSING} is printed instead"]


def texts_of(order: MakeOrder) -> list[str]:
    """Return all words of the maker that stand in the manual, to see whether the font has their letters."""
    project = order.report.project
    found = [project.name, project.notes, *project.shaft.step_names]
    found += [stack.label for stack in project.stacks]
    for lane in project.lanes:
        found += [lane.label, lane.group, lane.disc.material, lane.follower.material, *lane.levels]
    return found
