"""What is on each build plate when all parts are printed, and what each plate needs: estimates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from shaftscore.make.files.estimate import PrintEstimate, summed
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.files.threemf import on_plates


@dataclass(frozen=True)
class PlateLoad:
    """One plate: its number from 1, how many of each part are on it by code, and what it needs."""

    number: int
    counts: Mapping[str, int]
    estimate: PrintEstimate

    @property
    def parts_text(self) -> str:
        """The parts on it: "A1, A2, 3 x SPACER"."""
        return ", ".join(code if count == 1 else f"{count} x {code}" for code, count in self.counts.items())


def plate_loads(order: MakeOrder) -> tuple[PlateLoad, ...]:
    """Return every plate of all parts of an order; raises SolidError if one has no closed body."""
    project = order.report.project
    placed = on_plates(replace(order, fresh=None))
    loads = []
    for plate in sorted({one.plate for one in placed}):
        items = [one.item for one in placed if one.plate == plate]
        counts = Counter(item.part.code for item in items)
        loads.append(PlateLoad(plate + 1, counts, summed(item.estimate(project) for item in items)))
    return tuple(loads)
