"""What every page of a manual is made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from shaftscore.judge.report import Report
from shaftscore.make.drawing.paper_sizes import PaperSize
from shaftscore.make.drawing.pictures import PicturedMachine
from shaftscore.make.files.order import MakeOrder, OrderedPart
from shaftscore.make.files.plate_loads import PlateLoad, plate_loads
from shaftscore.make.manual.paper import room_mm
from shaftscore.make.proof import DiscProof, FitProof
from shaftscore.model import Project, Stack


@dataclass(frozen=True, eq=False)
class ManualContext:
    """An order and the paper that its manual is written on. proofs, fits: what the files before it showed."""

    order: MakeOrder
    size: PaperSize
    proofs: Sequence[DiscProof] = ()
    fits: Sequence[FitProof] = ()

    @property
    def project(self) -> Project:
        """The project."""
        return self.order.report.project

    @property
    def report(self) -> Report:
        """What is known of it."""
        return self.order.report

    @property
    def room_mm(self) -> tuple[float, float]:
        """Width and height of what a page holds."""
        return room_mm(self.size)

    @property
    def wide_mm(self) -> float:
        """Width of what a page holds."""
        return self.room_mm[0]

    @cached_property
    def stacks(self) -> tuple[Stack, ...]:
        """The stacks that carry discs that are made; those with a hub gear that drives others first."""
        made = {item.part.lane_id for item in self.order.items if item.part.kind == "disc"}
        project = self.project
        return tuple(
            stack for stack in project.stacks if any(lane.id in made for lane in project.discs_of(stack))
        )

    @cached_property
    def machine(self) -> PicturedMachine:
        """What pictures are drawn from."""
        parts = tuple(item.part for item in self.order.items)
        return PicturedMachine(self.report.solution, parts, self.order.frame)

    @cached_property
    def plates(self) -> tuple[PlateLoad, ...]:
        """The build plates of all parts."""
        return plate_loads(self.order)

    def of_kind(self, *kinds: str) -> tuple[OrderedPart, ...]:
        """Return the parts of some kinds, in order."""
        return tuple(item for item in self.order.items if item.part.kind in kinds)


def codes_text(codes: Sequence[str]) -> str:
    """Return codes in short: three or more in a row as "A1 to A6"."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and _follows(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    said: list[str] = []
    for run in runs:
        said += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else run
    return ", ".join(said)


def _follows(code: str, other: str) -> bool:
    """Return whether a code is the one after another: "A3" after "A2"."""
    head, number = code.rstrip("0123456789"), code[len(code.rstrip("0123456789")) :]
    return bool(number) and other == f"{head}{int(number) + 1}"
