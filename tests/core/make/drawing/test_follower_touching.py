"""Where a follower goes into another part: a known rectangle is hatched, and nothing where all is clear."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.judge.bodies.follower import Still
from shaftscore.judge.bodies.parts import BodyPart
from shaftscore.judge.bodies.shapes import StraightStrip
from shaftscore.make.drawing.follower import DrawnShape
from shaftscore.make.drawing.follower_scene import shape_marks
from shaftscore.make.drawing.follower_touching import overlap_text, overlaps, pairs_that_may_overlap
from shaftscore.make.drawing.scene import Path
from shaftscore.model import Stack

SHEET = DrawnShape("disc", np.array([-100 - 100j, 100 - 100j, 100 + 100j, -100 + 100j]))


def bar(lane: str, start: complex, along: complex, bottom_mm: float) -> BodyPart:
    """Return a bar 40 long, 10 wide and 4 high."""
    strip = StraightStrip(np.array([start]), np.array([along]), 40.0, 5.0)
    return BodyPart(f"{lane}'s lever", "lever", lane, lane, bottom_mm, bottom_mm + 4.0, Still((strip,)))


@pytest.mark.parametrize(
    ("start", "bottom_mm", "meets"), [(35 - 20j, 2.0, True), (50 - 20j, 2.0, False), (35 - 20j, 4.5, False)]
)
def test_what_two_bars_share_is_hatched(start: complex, bottom_mm: float, meets: bool) -> None:
    """By hand: x 0..40, y -5..5 and x 30..40, y -20..20 share x 30..40, y -5..5 where heights meet."""
    parts = (bar("red", 0j, 1 + 0j, 0.0), bar("blue", start, 1j, bottom_mm))
    pairs = pairs_that_may_overlap(parts, Stack(id="main"), "red")
    found = overlaps(pairs, 30.0, 1 + 0j, [SHEET])
    assert overlap_text(found) == ("red's lever and blue's lever overlap" if meets else "")
    for mark in shape_marks(shape for one in found for shape in one.shapes):
        assert isinstance(mark, Path)
        assert mark.pattern == "crossed"
        assert {complex(corner) for corner in mark.corners} == {30 - 5j, 40 - 5j, 40 + 5j, 30 + 5j}
