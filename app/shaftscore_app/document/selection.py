"""What is selected: a lane or several, or blocks of lanes; and a finding.

A block reference is valid for one project only, so a selection belongs to the project beside which it
is kept.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from shaftscore.edits import BlockRef
from shaftscore.model import Lane
from shaftscore.model.project import Project

FindingKey = Hashable
"""The stable name of a finding (rule, lanes, subjects, turn): `Finding.key`."""


@dataclass(frozen=True)
class Selection:
    """What is selected; lane_id is the lane of the last block where blocks are selected.

    lanes: where no blocks are selected, the lanes that are selected with `lane_id`, itself left out.
    """

    lane_id: str | None = None
    blocks: tuple[BlockRef, ...] = ()
    finding: FindingKey | None = None
    lanes: tuple[str, ...] = ()

    @property
    def lane_ids(self) -> tuple[str, ...]:
        """All lanes that are selected, or of which blocks are; the one selected last comes last."""
        last = () if self.lane_id is None else (self.lane_id,)
        own = (*(ref.lane_id for ref in self.blocks), *self.lanes)
        return (*dict.fromkeys(lane_id for lane_id in own if lane_id != self.lane_id), *last)

    @staticmethod
    def of_lanes(lane_ids: tuple[str, ...], finding: FindingKey | None = None) -> Selection:
        """Select lanes and none of their blocks; the last one is the one that single fields speak of."""
        return Selection(lane_ids[-1] if lane_ids else None, (), finding, lane_ids[:-1])

    @staticmethod
    def of_blocks(blocks: tuple[BlockRef, ...], finding: FindingKey | None = None) -> Selection:
        """Select blocks, and with them the lane of the last one."""
        return Selection(blocks[-1].lane_id if blocks else None, blocks, finding)

    def lane_in(self, project: Project) -> Lane | None:
        """Return the lane of `lane_id` in a project; None where none is selected, or it is not there."""
        lane_id = self.lane_id
        return project.lane(lane_id) if lane_id is not None and lane_id in project.lane_index else None

    def within(self, project: Project) -> Selection:
        """Leave out what `project` does not have."""
        blocks = tuple(ref for ref in self.blocks if _has(project, ref))
        there = tuple(lane_id for lane_id in self.lane_ids if lane_id in project.lane_index)
        if blocks == self.blocks and there == self.lane_ids:
            return self
        if self.lanes:
            return Selection.of_lanes(there, self.finding)
        lane_id = self.lane_id if self.lane_id in project.lane_index else None
        return Selection(lane_id, blocks, self.finding)


def _has(project: Project, ref: BlockRef) -> bool:
    return ref.lane_id in project.lane_index and ref.index < len(project.lane(ref.lane_id).blocks)
