"""The manual as a whole: its pages in their order, with what stands on every one of them."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Any

from shaftscore.make.drawing.fonts import written
from shaftscore.make.drawing.paper_sizes import PaperSize
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.document import Edges, document_bytes
from shaftscore.make.manual.pages.assembly import assembly
from shaftscore.make.manual.pages.before import before
from shaftscore.make.manual.pages.cover import cover
from shaftscore.make.manual.pages.crank_cards import crank_cards
from shaftscore.make.manual.pages.followers import followers
from shaftscore.make.manual.pages.operation import operation
from shaftscore.make.manual.pages.plan import plan
from shaftscore.make.manual.pages.proof import proof
from shaftscore.make.manual.pages.section import sections
from shaftscore.make.manual.pages.timing import timing
from shaftscore.make.manual.pages.trouble import trouble
from shaftscore.make.manual.words import foot_text
from shaftscore.make.proof import DiscProof, FitProof
from shaftscore.model import Project
from shaftscore.model.saved import saved_form

PAGES = (cover, before, plan, assembly, sections, followers, timing, crank_cards, trouble, operation, proof)
"""The sections in their order."""


def book_bytes(
    order: MakeOrder, size: PaperSize, proofs: Sequence[DiscProof], fits: Sequence[FitProof]
) -> bytes:
    """Write the manual; same order, proofs and fits, same bytes."""
    context = ManualContext(order, size, proofs, fits)
    story: list[Any] = [part for page in PAGES for part in page(context)]
    project = context.project
    edges = Edges(written(project.name), f"Discs of program {program_code(project)}", foot_text(context))
    return document_bytes(story, size, f"{written(project.name)}: build manual", edges)


def program_code(project: Project) -> str:
    """Return six letters that name the state of a project: the start of its hash in the manifest."""
    return hashlib.sha256(saved_form(project)).hexdigest()[:6].upper()
