"""The proof of the assembly of an export from what its files hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shaftscore.base.progress import Progress
from shaftscore.make.assembly.joints import assembly_joints
from shaftscore.make.assembly.layout import other_parts
from shaftscore.make.assembly.machine import machine_assembly
from shaftscore.make.assembly.proof import AssemblyFault, AssemblyProof, prove_assembly
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof.fits import FitProof
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.rim import RimError


def assembly_of(
    order: MakeOrder,
    solids: Mapping[str, SolidPart],
    fits: Sequence[FitProof],
    progress: Progress,
    *,
    full: bool = False,
) -> AssemblyProof | None:
    """Prove the assembly of the parts that were read back; None where there is none of them.

    solids: by code. fits: what was found in their files. A part that cannot be put together is a fault.
    Raises Cancelled as the progress does.
    """
    if not any(item.part.code in solids for item in order.items if item.part.kind != "coupon"):
        return None
    try:
        machine, joints = (
            machine_assembly(order, solids, other_parts(order)),
            assembly_joints(order, solids, fits),
        )
        return prove_assembly(machine, joints, full=full, progress=progress)
    except RimError as error:
        return AssemblyProof(full, 0, 0, 0, 0, (), (AssemblyFault(str(error), (), ()),))
