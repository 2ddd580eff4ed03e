"""Names and purposes of holes, and holes that run into one another, against every pair by shapely."""

from __future__ import annotations

from itertools import combinations, islice

import numpy as np
import pytest
from shapely import Point

from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_holes import refuse_crossing, station_letters
from shaftscore.layout.frame_plan import BOTH, FrameError, FrameHole
from shaftscore.model import replaced
from shaftscore.solution import solve
from tests.core.layout.test_pivots import bank


def test_letters_go_on_for_all_lanes_of_a_machine() -> None:
    """A project has up to 4,096 lanes, each of which may be at a station of its own."""
    letters = list(islice(station_letters(), 4096))
    assert letters[:2] == ["P", "Q"]
    assert len(set(letters)) == 4096
    assert not set("".join(letters)) & set("SFMGIO")


def test_a_shared_hole_names_each_lane_that_it_serves() -> None:
    """Also one whose name is the start of another's."""
    first, second = bank().lanes
    plan = machine_frame(solve(replaced(bank(), lanes=(first, replaced(second, name="Lev")))))
    assert plan is not None
    (hole,) = [hole for hole in plan.holes if "pivot" in hole.purpose]
    assert hole.purpose == "pivot of Lever, pivot of Lev"


def test_holes_that_cross_are_those_that_shapely_finds() -> None:
    random = np.random.default_rng(3)
    refused = 0
    for _ in range(60):
        holes = [
            FrameHole(
                f"H{n}", complex(*random.uniform(0, 60, 2)), float(random.uniform(2, 8)), "a hole", BOTH
            )
            for n in range(8)
        ]
        discs = [Point(hole.at.real, hole.at.imag).buffer(hole.across_mm / 2, quad_segs=64) for hole in holes]
        crossing = [(a, b) for a, b in combinations(range(8), 2) if discs[a].intersects(discs[b])]
        if not crossing:
            refuse_crossing(holes)
            continue
        refused += 1
        one, other = crossing[0]
        with pytest.raises(FrameError, match=f"holes H{one} .* and H{other} "):
            refuse_crossing(holes)
    assert 0 < refused < 60


def test_holes_of_different_plates_do_not_cross() -> None:
    low = FrameHole("A1", 0j, 4.0, "a foot", ("bottom",))
    refuse_crossing([low, FrameHole("T1", 0j, 4.0, "a screw", ("top",))])
    with pytest.raises(FrameError, match=r"A1 \(a foot\) and B1 \(a shaft\) run into one another by 1\.0 mm"):
        refuse_crossing([low, FrameHole("B1", 3 + 0j, 4.0, "a shaft", BOTH)])
