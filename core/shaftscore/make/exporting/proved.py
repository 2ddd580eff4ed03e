"""The files that state what the proof of all others found: the manuals, one for each size of paper.

They can be made in another process. An order cannot be sent there, since it holds functions. That process
gathers it again from the project, and is sent only what the proof of the other files found.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Silent
from shaftscore.judge.report import examine
from shaftscore.make.exporting.formats import planned_files
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.estimate import PrintEstimate
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.proof import DiscProof, FitProof
from shaftscore.make.solids import SolidError
from shaftscore.model import Project


@dataclass(frozen=True)
class _Gathered:
    """What another process gathers an order from; needs: estimates of parts, by code."""

    project: Project
    formats: tuple[str, ...]
    fresh: frozenset[str] | None
    despite_errors: bool
    needs: Mapping[str, PrintEstimate]

    def order(self) -> MakeOrder:
        """Gather it."""
        order = gather(examine(self.project), self.formats, Silent(), self.despite_errors)
        for item in order.items:
            if item.part.code in self.needs:
                item.take_estimate(self.project, self.needs[item.part.code])
        return replace(order, fresh=self.fresh)


@dataclass(eq=False)
class ProvedMaker:
    """Makes the bytes of planned files by their numbers, from what was proved of all others."""

    order: MakeOrder
    files: Sequence[Planned]
    proofs: Sequence[DiscProof]
    fits: Sequence[FitProof]
    despite_errors: bool

    def __call__(self, number: int) -> tuple[int, bytes]:
        """Return the number of a file and its bytes; raises ExportError where a body cannot be made."""
        file = self.files[number]
        assert file.make_proved is not None, "only such files are taken"
        try:
            return number, file.make_proved(self.proofs, self.fits)
        except SolidError as error:
            raise ExportError(f"no file {file.name}: {error}") from error

    def __reduce__(self) -> tuple[Callable[..., ProvedMaker], tuple[object, ...]]:
        """Return how another process makes one that makes the same files."""
        order, project = self.order, self.order.report.project
        known = {item.part.code: item.known_estimate(project) for item in order.items}
        needs = {code: need for code, need in known.items() if need is not None}
        gathered = _Gathered(project, order.formats, order.fresh, self.despite_errors, needs)
        return _maker_of, (gathered, [file.name for file in self.files], self.proofs, self.fits)


def _maker_of(
    gathered: _Gathered, names: Sequence[str], proofs: Sequence[DiscProof], fits: Sequence[FitProof]
) -> ProvedMaker:
    order = gathered.order()
    planned = {file.name: file for file in planned_files(order)}
    return ProvedMaker(order, [planned[name] for name in names], proofs, fits, gathered.despite_errors)
