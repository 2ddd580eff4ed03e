"""Edits of the law by which a lane moves."""

from __future__ import annotations

from shaftscore.base.errors import EditError
from shaftscore.edits.base import Edited, changed, consistent, lane_of, with_lane
from shaftscore.model.lanes import Block, LawName
from shaftscore.model.project import Project

OWN_WAYS = ("drop",)
"""Laws of single moves that stay: what they do no other law does."""


def use_law(project: Project, lane_id: str, law: LawName) -> Edited:
    """Let all moves of a lane follow one law: the lane's law, and no block with its own; drops stay.

    Raises EditError if the lane has no blocks, so no moves, or there is no such lane.
    """
    lane = lane_of(project, lane_id)
    if not lane.blocks:
        raise EditError(f"{lane.label} has no blocks, so no moves that could follow a law")
    blocks = tuple(_without_law(block) for block in lane.blocks)
    edited = consistent(with_lane(project, changed(lane, law=law, blocks=blocks)))
    return Edited(edited, f"Use {law.replace('-', ' ')} for {lane.label}", lane_id=lane_id)


def _without_law(block: Block) -> Block:
    own = block.law is not None and block.law not in OWN_WAYS
    return changed(block, law=None) if own else block
