"""Judging what a reader found in a file: every part against its shape and its program, every copy's place.

Files of one export hold the same bodies several times. What was found of one is used for those with the
same corners, unless each is to be judged by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shaftscore.make.proof.compare import ReadPart, compare
from shaftscore.make.proof.expected import ExpectedPart
from shaftscore.make.proof.faults import FileFault, unreadable
from shaftscore.make.proof.fits import FitProof, FitProver, FitTask
from shaftscore.make.proof.placing import ExpectedCopies, misplaced
from shaftscore.make.proof.prove import STEP_DEG, DiscProof, ProofTask, prove
from shaftscore.make.proof.reading import FileContents
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.rim import RimError

FULL_STEP_DEG = 0.01
"""Angle between two places at which the lift is compared where everything is looked at most closely."""


@dataclass(frozen=True, eq=False)
class PartTask:
    """What a part in a file is held against.

    expected: its shape. program: what its follower should do, None where none runs on it or the program is
    not compared. running_mm: heights between which the running edge is upright. grooved: it is a groove's.
    fits: what it is put on. scale: by which the file is larger in plan, because the part will shrink.
    """

    code: str
    expected: ExpectedPart
    program: ProofTask | None = None
    running_mm: tuple[float, float] = (0.0, 0.0)
    grooved: bool = False
    fits: tuple[FitTask, ...] = ()
    scale: float = 1.0


@dataclass(frozen=True)
class FileVerdict:
    """What was found in a file: proofs, one a disc that a follower was run over, its fits, and all faults."""

    proofs: tuple[DiscProof, ...] = ()
    faults: tuple[FileFault, ...] = ()
    fits: tuple[FitProof, ...] = ()


class Judge:
    """Judges files, one after the other; full: at the finest step, and each body by itself.

    bodies: those of files for a printer, by code.
    """

    def __init__(self, *, full: bool = False) -> None:
        """Begin without anything found."""
        self.full = full
        self._found: dict[PartTask, dict[bytes, FileVerdict]] = {}
        self._fits = FitProver()
        self.bodies: dict[str, SolidPart] = {}

    def found(self, task: PartTask) -> dict[bytes, FileVerdict]:
        """Return what was found of a task, by the digest of what was read; more may be put into it."""
        return self._found.setdefault(task, {})

    def keep_bodies(self, contents: FileContents, tasks: Sequence[PartTask]) -> None:
        """Keep a file's bodies for the proof of the assembly; of each part the first one read."""
        for task in tasks:
            part = contents.parts.get(task.code)
            if isinstance(part, SolidPart):
                self.bodies.setdefault(task.code, part)

    def judge(
        self, contents: FileContents, tasks: Sequence[PartTask], copies: ExpectedCopies | None = None
    ) -> FileVerdict:
        """Judge a file."""
        name = contents.name
        found = [self._part(name, contents.parts.get(task.code), task) for task in tasks]
        wanted = {task.code for task in tasks}
        faults = [FileFault(name, "", said) for said in contents.strays]
        faults += [
            FileFault(name, "", f"part {code} does not belong in it")
            for code in contents.parts
            if code not in wanted
        ]
        faults += [fault for verdict in found for fault in verdict.faults]
        if copies is not None:
            faults += misplaced(name, contents.copies, contents.parts, copies)
        return FileVerdict(
            tuple(proof for verdict in found for proof in verdict.proofs),
            tuple(faults),
            tuple(fit for verdict in found for fit in verdict.fits),
        )

    def _part(self, file: str, part: ReadPart | None, task: PartTask) -> FileVerdict:
        if part is None:
            return FileVerdict(faults=(FileFault(file, task.code, f"part {task.code} is not in it"),))
        found = self.found(task)
        if self.full or part.digest not in found:
            found[part.digest] = self._judged(file, part, task)
        return _renamed(found[part.digest], file)

    def _judged(self, file: str, part: ReadPart, task: PartTask) -> FileVerdict:
        try:
            faults = compare(file, task.code, part, task.expected)
            fits, wrong = self._fits.prove(file, task.code, part, task.expected, task.fits)
            faults += wrong
            if task.program is None:
                return FileVerdict((), tuple(faults), fits)
            rim = part.rim(*task.running_mm, grooved=task.grooved)
            if task.program.runs_inside:  # where a mark may be nearer to the follower than the contour
                rim = rim.outermost(part.area(sum(task.running_mm) / 2, task.expected))
            step_deg = FULL_STEP_DEG if self.full else STEP_DEG
            proof = prove(file, task.program, rim.scaled(1 / task.scale), step_deg)
        except RimError as error:
            return FileVerdict(faults=(unreadable(file, error, task.code),))
        return FileVerdict((proof,), (*faults, *proof.found), fits)


def _renamed(verdict: FileVerdict, file: str) -> FileVerdict:
    return FileVerdict(
        tuple(replace(proof, file=file) for proof in verdict.proofs),
        tuple(replace(fault, file=file) for fault in verdict.faults),
        tuple(replace(fit, file=file) for fit in verdict.fits),
    )
