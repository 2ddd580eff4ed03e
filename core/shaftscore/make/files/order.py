"""What an export is to make: the parts with their programs, and the files planned from them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from shaftscore.base.angles import Arcs
from shaftscore.judge.report import Report
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.bed import stack_material
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.files.estimate import PrintEstimate, printed_estimate, solid_estimate
from shaftscore.make.files.names import file_stem
from shaftscore.make.proof import (
    DiscProof,
    ExpectedCopies,
    ExpectedPart,
    FitProof,
    PartTask,
    ProofTask,
    shape_of,
)
from shaftscore.make.proof.mates import FitInputs
from shaftscore.make.proof.shape import Made
from shaftscore.make.solids import MadePart, Mesh, part_mesh, printed
from shaftscore.model import Print, Project
from shaftscore.model.materials import density_g_cm3, is_printed

MADE: dict[str, Made] = {"3mf": "printed", "stl": "printed", "step": "exact", "dxf": "drawn", "svg": "drawn"}
"""How each format that holds parts holds them."""


def part_material(project: Project, part: MadePart) -> str:
    """Return what a part is made of: its disc's material, of other parts that of the discs beside it."""
    if part.kind == "disc" and part.lane_id is not None:
        return project.lane(part.lane_id).disc.material
    if part.kind == "plate" and project.frame is not None:
        return project.frame.material
    return stack_material(project, part.stack_id)


@dataclass(frozen=True, eq=False)
class OrderedPart:
    """A part to make. profile, spans: what its files are held against (None and empty for a spacer).

    fits: of its stack, None if they are not compared.
    """

    part: MadePart
    profile: Profile | None
    spans: tuple[Arcs, ...]
    fits: FitInputs | None = None

    @cached_property
    def stem(self) -> str:
        """Name of the part's files, without their ending."""
        return file_stem(self.part.code, self.part.label)

    @cached_property
    def body(self) -> Mesh:
        """The body as a printer's file holds it; made once for all formats."""
        return part_mesh(printed(self.part))

    @cached_property
    def _estimates(self) -> dict[tuple[Print, str], PrintEstimate]:
        """What was found by `estimate`."""
        return {}

    def take(self, project: Project, body: Mesh, need: PrintEstimate) -> None:
        """Take body and estimate, which were found elsewhere, as its own."""
        vars(self)["body"] = body
        self.take_estimate(project, need)

    def take_estimate(self, project: Project, need: PrintEstimate) -> None:
        """Take what it needs on a printer, which was found elsewhere."""
        self._estimates[project.print, part_material(project, self.part)] = need

    def known_estimate(self, project: Project) -> PrintEstimate | None:
        """Return what was found that it needs on a printer, None if nothing was yet."""
        return self._estimates.get((project.print, part_material(project, self.part)))

    def estimate(self, project: Project) -> PrintEstimate:
        """Estimate what one of it needs on a printer, or only its mass where its material is not printed.

        Raises SolidError if it has no closed body.
        """
        material = part_material(project, self.part)
        key = project.print, material
        if key not in self._estimates:
            density = density_g_cm3(project, material)
            self._estimates[key] = (
                printed_estimate(self.body, project.print, density)
                if is_printed(material)
                else solid_estimate(self.body.volume / self.part.scale**2, density)
            )
        return self._estimates[key]

    @cached_property
    def _tasks(self) -> dict[Made, PartTask]:
        """What was made by `task`."""
        return {}

    def task(self, kind: str) -> PartTask:
        """Return what the part is held against in a file of a format; always the same object."""
        made = MADE[kind]
        if made not in self._tasks:
            self._tasks[made] = self._task(made)
        return self._tasks[made]

    def _task(self, made: Made) -> PartTask:
        part = self.part
        program = None
        if self.profile is not None:
            contour = part.contour_mm if made == "printed" else 0.0
            program = ProofTask(part.code, self.profile, self.spans, contour)
        expected = ExpectedPart(shape_of(part, made), drawn=made == "drawn")
        fits = self.fits.tasks(made, coupon=part.kind == "coupon") if self.fits else ()
        scale = part.scale if made == "printed" else 1.0
        grooved = part.groove is not None
        return PartTask(part.code, expected, program, part.running_mm, grooved, fits, scale)


@dataclass(frozen=True)
class MakeOrder:
    """All that is to be written: the parts, in which formats, and what was noted on the way.

    fresh: codes of the parts that have to be made, None for all of them. frame: of the machine, if any.
    known: what formats found of it, for one another; orders made from this one have the same.
    """

    report: Report
    items: tuple[OrderedPart, ...]
    notes: tuple[str, ...]
    formats: tuple[str, ...]
    fresh: frozenset[str] | None = None
    frame: FramePlan | None = None
    known: dict[tuple[object, ...], Any] = field(default_factory=dict, repr=False)

    def of_stack(self, stack_id: str) -> tuple[OrderedPart, ...]:
        """Return the discs and spacers of a stack: what is on its shaft."""
        return tuple(item for item in self.items if item.part.stack_id == stack_id and item.part.is_on_stack)

    @property
    def stack_fits(self) -> tuple[FitInputs, ...]:
        """What the parts of each stack are put on, each once."""
        return tuple(dict.fromkeys(item.fits for item in self.items if item.fits is not None))

    @property
    def to_make(self) -> tuple[OrderedPart, ...]:
        """The parts that have to be made."""
        return tuple(item for item in self.items if self.fresh is None or item.part.code in self.fresh)


@dataclass(frozen=True)
class Planned:
    """One file to be written.

    items: the parts in it. make: gives its bytes. whole: it describes the whole machine. always: it holds
    more than the parts' geometry, so that an old one never serves. make_proved: for a file that states what
    the proofs of the files before it found, gives its bytes in place of make. copies: how often and where a
    printer builds its parts, for a format that says so.
    """

    name: str
    format: str
    items: tuple[OrderedPart, ...]
    make: Callable[[], bytes]
    whole: bool = False
    always: bool = False
    make_proved: Callable[[Sequence[DiscProof], Sequence[FitProof]], bytes] | None = None
    copies: ExpectedCopies | None = None
