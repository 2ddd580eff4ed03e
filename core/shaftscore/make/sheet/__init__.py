"""The build sheet: a PDF with all that the bench needs, for A4 and for Letter.

`paper` writes pages, `timing`, `section` and `picture` draw, `card` is the table to crank through, `bench`
says the rest in words. The sheet is written after all other files, because it states what their proof found.
"""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.make.drawing.fonts import MISSING, missing_letters
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.proof import DiscProof, FitProof
from shaftscore.make.sheet.bench import (
    texts_of,
    write_assembly,
    write_cards,
    write_coupons,
    write_parts,
    write_proof,
    write_title,
)
from shaftscore.make.sheet.paper import A4, LETTER, Paper, Size
from shaftscore.make.sheet.picture import draw_picture
from shaftscore.make.sheet.section import draw_plans, draw_section
from shaftscore.make.sheet.timing import draw_timing

NAMED = 20
"""A note names this many missing letters at most."""


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a sheet a size of paper."""
    return [_planned(order, size) for size in (A4, LETTER)]


def _planned(order: MakeOrder, size: Size) -> Planned:
    return Planned(
        f"buildsheet_{size.name.lower()}.pdf",
        "pdf",
        order.items,
        lambda: sheet_bytes(order, size, ()),
        whole=True,
        always=True,
        make_proved=lambda proofs, fits: sheet_bytes(order, size, proofs, fits),
    )


def sheet_bytes(
    order: MakeOrder, size: Size, proofs: Sequence[DiscProof], fits: Sequence[FitProof] = ()
) -> bytes:
    """Write the sheet; same order, proofs and fits, same bytes."""
    project = order.report.project
    paper = Paper(size, f"{project.name}: build sheet", f"{project.name}: build sheet")
    write_title(paper, order)
    paper.new_page()
    draw_timing(paper, order.report)
    for stack in project.stacks:
        draw_section(paper, order, stack)
        draw_picture(paper, order, stack)
    draw_plans(paper, [item for item in order.items if item.part.kind != "plate"])  # theirs is the template
    write_parts(paper, order)
    write_coupons(paper, order)
    write_assembly(paper, order)
    write_cards(paper, order)
    write_proof(paper, proofs, fits)
    return paper.finished()


def notes(order: MakeOrder) -> list[str]:
    """Name the letters that the sheet's font does not have; empty if it has all, or no sheet is planned."""
    if "pdf" not in order.formats:
        return []
    missing = missing_letters(texts_of(order))
    if not missing:
        return []
    more = f" and {len(missing) - NAMED} more" if len(missing) > NAMED else ""
    said = " ".join(f"{letter} (U+{ord(letter):04X})" for letter in missing[:NAMED])
    return [f"the font of the build sheet does not have {said}{more}: {MISSING} is printed instead"]
