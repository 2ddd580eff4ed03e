"""The proof of the assembly as an object of JSON, for manifest and `verify --json`, and as a sentence."""

from __future__ import annotations

from shaftscore.base.wording import counted
from shaftscore.make.assembly.proof import AssemblyFault, AssemblyProof

MOST_FAULTS = 50
"""Most faults that a record lists; `count` says how many there are."""


def assembly_text(proof: AssemblyProof) -> str:
    """Return in a sentence what was looked at and whether it holds."""
    steps = "in 1° steps through the cycle" if proof.full else "at a few angles of the cycle"
    looked = (
        f"{counted(proof.bodies, 'body')} in {counted(proof.pairs, 'pair')}, "
        f"{counted(len(proof.rollers), 'follower')} and {counted(proof.joints, 'joint')}, {steps}"
    )
    if proof.holds:
        return f"Assembly proved: {looked}."
    return f"Assembly not proved, {counted(len(proof.faults), 'fault')}: {looked}."


def assembly_json(proof: AssemblyProof) -> dict[str, object]:
    """Return the figures of a proof; lengths in mm, angles of the master shaft in degrees."""
    gap = proof.largest_gap_mm
    return {
        "holds": proof.holds,
        "steps": "1 degree" if proof.full else "quick",
        "bodies": proof.bodies,
        "pairs": proof.pairs,
        "fixed_pairs": proof.fixed,
        "followers": len(proof.rollers),
        "joints": proof.joints,
        "largest_gap_mm": None if gap is None else round(gap, 5),
        "count": len(proof.faults),
        "faults": [_fault(fault) for fault in proof.faults[:MOST_FAULTS]],
    }


def _fault(fault: AssemblyFault) -> dict[str, object]:
    return {
        "what": fault.what,
        "parts": list(fault.parts),
        "by": _short(fault.by_mm),
        "limit": _short(fault.limit_mm),
        "unit": None if fault.by_mm is None else "mm",
        "first_deg": _short(fault.first_deg),
        "worst_deg": _short(fault.worst_deg),
    }


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
