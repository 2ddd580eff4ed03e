"""The joints of an assembly: how far each part can turn and shift on what it is put on.

What was found of a part in its file (`shaftscore.make.proof.fits`) counts: bore on rod, pin holes on pins,
pegs and pockets against nominal ones. In the assembly the pegs of one file meet the pockets of another: these
are fitted into one another as read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from shaftscore.make.files.order import MADE, MakeOrder, OrderedPart
from shaftscore.make.proof.fits import FitName, FitProof, ReadOutlines, joined, read_rings
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.model import Stack
from shaftscore.stack import stack_plan

PRINTED = tuple(kind for kind, made in MADE.items() if made == "printed")
"""Formats that a printer reads; a part's shape is the same in all of them."""


def assembly_joints(
    order: MakeOrder, solids: Mapping[str, SolidPart], fits: Sequence[FitProof]
) -> list[FitProof]:
    """Return what was found of all joints of an assembly.

    solids: parts read back, by code. fits: what was found in their files. Raises RimError where pegs or
    pockets are missing.
    """
    coupons = {item.part.code for item in order.items if item.part.kind == "coupon"}
    own: dict[tuple[str, FitName], FitProof] = {}
    for fit in fits:
        if fit.part in solids and fit.part not in coupons and fit.file.endswith(PRINTED):
            own.setdefault((fit.part, fit.name), fit)
    stacks = (stack for stack in order.report.project.stacks if stack.dogs is not None)
    return [*own.values(), *(joint for stack in stacks for joint in _of_dogs(order, stack, solids))]


def _of_dogs(order: MakeOrder, stack: Stack, solids: Mapping[str, SolidPart]) -> Iterator[FitProof]:
    """Yield the fit of each part's pegs in the pockets of the part above it, the same two parts once."""
    items = {item.part.lane_id: item for item in order.of_stack(stack.id) if item.part.code in solids}
    layers = [layer.lane_id for layer in stack_plan(order.report.project, stack).layers]
    for below, above in dict.fromkeys(pairwise(layers)):
        if below in items and above in items:
            yield _peg_joint(items[below], items[above], solids)


def _peg_joint(below: OrderedPart, above: OrderedPart, solids: Mapping[str, SolidPart]) -> FitProof:
    pegs, pockets = _outlines(below, "dogs", solids), _outlines(above, "pockets", solids)
    return joined(solids[above.part.code].where, above.part.code, pegs, pockets)


def _outlines(item: OrderedPart, name: FitName, solids: Mapping[str, SolidPart]) -> ReadOutlines:
    """Read a part's pegs or pockets."""
    task, read = item.task(PRINTED[0]), solids[item.part.code]
    fit = next(fit for fit in task.fits if fit.name == name)
    return ReadOutlines(fit, read_rings(read, task.expected, fit) or [], read.chord_mm)
