"""What is selected: a lane, blocks of lanes, and a finding.

A block reference is valid for one project only, so a selection belongs to the project beside which it
is kept.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from core.edits import BlockRef
from core.model.project import Project

FindingKey = Hashable
"""The stable name of a finding (rule, lanes, subjects, turn): `Finding.key`."""


@dataclass(frozen=True)
class Selection:
    """What is selected; lane_id is the lane of the last block where blocks are selected."""

    lane_id: str | None = None
    blocks: tuple[BlockRef, ...] = ()
    finding: FindingKey | None = None

    @staticmethod
    def of_blocks(blocks: tuple[BlockRef, ...], finding: FindingKey | None = None) -> Selection:
        """Select blocks, and with them the lane of the last one."""
        return Selection(blocks[-1].lane_id if blocks else None, blocks, finding)

    def within(self, project: Project) -> Selection:
        """Leave out what `project` does not have."""
        blocks = tuple(ref for ref in self.blocks if _has(project, ref))
        lane_id = self.lane_id if self.lane_id in project.lane_index else None
        if blocks == self.blocks and lane_id == self.lane_id:
            return self
        return Selection(lane_id, blocks, self.finding)


def _has(project: Project, ref: BlockRef) -> bool:
    return ref.lane_id in project.lane_index and ref.index < len(project.lane(ref.lane_id).blocks)
