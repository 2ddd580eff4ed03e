"""An edit of a very long lane costs work by its blocks, not by their square."""

from __future__ import annotations

import pytest

from shaftscore.edits import BlockRef, place_block, setting_in
from shaftscore.model import Block, Lane, Project, Shaft


def machine(count: int) -> Project:
    step = 360.0 / count
    blocks = tuple(
        Block(level="high" if n % 2 else "low", start_deg=n * step, end_deg=(n + 0.3) * step)
        for n in range(count)
    )
    lane = Lane(id="long", levels={"low": 0.0, "high": 3.0}, blocks=blocks)
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    return Project(format="shaftscore-project", version=2, shaft=shaft, lanes=(lane,))


@pytest.mark.parametrize("count", [90, 360, 720])
def test_blocks_are_read_by_their_number_not_by_its_square(
    monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    """Each dwell of the level is a place; of most places only the ends are read."""
    read: list[float] = []
    real = setting_in.UnrolledBlock.later

    def later(self: setting_in.UnrolledBlock, by: float) -> setting_in.UnrolledBlock:
        read.append(by)
        return real(self, by)

    monkeypatch.setattr(setting_in.UnrolledBlock, "later", later)
    project = machine(count)
    start = project.lanes[0].blocks[5].start_deg
    edited = place_block(project, BlockRef("long", 5), start + 36.0 / count)
    assert len(edited.project.lanes[0].blocks) == count
    assert edited.project.lanes[0].blocks[5].start_deg == pytest.approx(start + 36.0 / count)
    assert len(read) < 20 * count
