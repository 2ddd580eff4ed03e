"""Proof from the files: read an exported disc back, run its follower over it, compare with the program.

`rim` reads files into the edges that a follower can touch, `contact` finds the lift at which it does,
`prove` compares. Nothing here uses the formula of the profile: the contact comes from the triangles.
"""

from shaftscore.make.proof.contact import Running, contact_lift
from shaftscore.make.proof.prove import DiscProof, ProofTask, prove
from shaftscore.make.proof.rim import Rim, RimError, read_dxf, read_stl, rim_of_triangles

__all__ = [
    "DiscProof",
    "ProofTask",
    "Rim",
    "RimError",
    "Running",
    "contact_lift",
    "prove",
    "read_dxf",
    "read_stl",
    "rim_of_triangles",
]
