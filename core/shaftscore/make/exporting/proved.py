"""The files that state what the proof of all others found: the manuals, one a size of paper.

They can be made in another process. What was gathered of a project cannot be handed over, since it holds
functions; so it is gathered anew there, and only what the files before showed is taken along.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

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
    """What another process needs to gather an order anew; needs: estimates of parts, by code."""

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

    def __getstate__(self) -> dict[str, Any]:
        """Return what another process makes the files from."""
        order, project = self.order, self.order.report.project
        known = {item.part.code: item.known_estimate(project) for item in order.items}
        needs = {code: need for code, need in known.items() if need is not None}
        gathered = _Gathered(project, order.formats, order.fresh, self.despite_errors, needs)
        names = [file.name for file in self.files]
        return {"gathered": gathered, "names": names, "proofs": self.proofs, "fits": self.fits}

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Gather and plan the same files."""
        gathered: _Gathered = state["gathered"]
        order = gathered.order()
        planned = {file.name: file for file in planned_files(order)}
        files = [planned[name] for name in state["names"]]
        self.__init__(order, files, state["proofs"], state["fits"], gathered.despite_errors)  # type: ignore[misc]
