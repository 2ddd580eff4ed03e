"""Proof from the files: read exported parts back, and compare them with what they should be and do.

`reading` gives what a file of any format holds, `shape` and `expected` what a part should be, `compare`
and `placing` hold the two against one another. `rim` has the edges that a follower can touch, `contact`
finds the lift at which it does, `prove` compares that with the program. `mates` says what a part is put
on, `convex` and `turning` find how far it can turn and shift there, `fits` compares that with the program.
`judge` does all of it for a file. Nothing here uses the formula of the profile, or of the play: the contact
comes from the triangles.
"""

from shaftscore.make.proof.contact import Running, contact_lift
from shaftscore.make.proof.expected import ExpectedPart
from shaftscore.make.proof.faults import FileFault, unreadable
from shaftscore.make.proof.fits import FitProof, FitTask
from shaftscore.make.proof.judge import FileVerdict, Judge, PartTask
from shaftscore.make.proof.placing import ExpectedCopies
from shaftscore.make.proof.prove import DiscProof, ProofTask, prove
from shaftscore.make.proof.reading import (
    OWN_READERS,
    READERS,
    FileContents,
    read_3mf,
    read_dxf,
    read_step,
    read_stl,
    read_svg,
)
from shaftscore.make.proof.rim import ReadRim, RimError
from shaftscore.make.proof.shape import PartShape, read_shape, recorded_shape, shape_of

__all__ = [
    "OWN_READERS",
    "READERS",
    "DiscProof",
    "ExpectedCopies",
    "ExpectedPart",
    "FileContents",
    "FileFault",
    "FileVerdict",
    "FitProof",
    "FitTask",
    "Judge",
    "PartShape",
    "PartTask",
    "ProofTask",
    "ReadRim",
    "RimError",
    "Running",
    "contact_lift",
    "prove",
    "read_3mf",
    "read_dxf",
    "read_shape",
    "read_step",
    "read_stl",
    "read_svg",
    "recorded_shape",
    "shape_of",
    "unreadable",
]
