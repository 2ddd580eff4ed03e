"""What an arrangement is judged by, before and after, and what it changes: plain data to show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite

from shaftscore.edits import BlockRef
from shaftscore.model import Project
from shaftscore.placing.changes import MayChange
from shaftscore.placing.levels import Level
from shaftscore.placing.model import Arranging
from shaftscore.placing.standing import Standing


@dataclass(frozen=True)
class ArrangementFigures:
    """What a machine is judged by.

    chance: share of built machines that work, 0 to 1. margin: the least normalised slack among the rules that
    can be moved; margin_deg: the slack there, degrees; place: which rule it is, and its lanes. peak_nm: peak
    torque, N·m. largest_disc_mm: radius of the largest disc. shortest_dwell_deg: of all lanes. None, or an
    empty text, where there is none.
    """

    chance: float | None
    margin: float | None
    margin_deg: float | None
    place: str
    peak_nm: float | None
    largest_disc_mm: float | None
    shortest_dwell_deg: float | None
    errors: int
    warnings: int

    @staticmethod
    def of(standing: Standing) -> ArrangementFigures:
        """Read them off a machine that was judged."""
        slack = standing.smallest_deg
        return ArrangementFigures(
            chance=standing.chance,
            margin=standing.margin if isfinite(standing.margin) else None,
            margin_deg=slack if slack is not None and isfinite(slack) else None,
            place=standing.place_text(),
            peak_nm=standing.peak_nm,
            largest_disc_mm=standing.largest_disc_mm,
            shortest_dwell_deg=standing.shortest_dwell_deg,
            errors=len(standing.errors),
            warnings=standing.warnings,
        )


@dataclass(frozen=True)
class Moved:
    """A block that an arrangement moves: ref into the project as drawn; starts and ends, degrees."""

    ref: BlockRef
    level: str
    from_deg: tuple[float, float]
    to_deg: tuple[float, float]


@dataclass(frozen=True)
class Arrangement:
    """An arrangement that the real solver confirmed; the project as drawn where nothing better was found.

    before, after: figures. moved: what changes. by: the simplest level at which it was found; None where
    nothing changes. cancelled: whether the search was stopped, and this is the best until then. may: what was
    allowed to change.
    """

    project: Project
    before: ArrangementFigures
    after: ArrangementFigures
    moved: tuple[Moved, ...]
    by: Level | None = None
    cancelled: bool = False
    may: MayChange = field(default_factory=MayChange)


def moved_blocks(model: Arranging, values: Sequence[int]) -> tuple[Moved, ...]:
    """List the blocks that are elsewhere, in the order of lanes and of blocks as drawn."""
    return tuple(
        Moved(BlockRef(lane.id, index), old.level, (old.start_deg, old.end_deg), (new.start_deg, new.end_deg))
        for lane in model.project.lanes
        for index, (old, new) in enumerate(zip(lane.blocks, model.blocks(lane.id, values), strict=True))
        if old != new
    )
