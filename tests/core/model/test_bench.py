"""What is kept of the built machine: every fault is told with its value and place."""

from __future__ import annotations

import json
from typing import Any

import pytest

from shaftscore.base.errors import ProjectError
from shaftscore.model import read_project

LANE = {
    "id": "mint",
    "name": "Mint",
    "levels": {"closed": 0, "open": 8},
    "follower": {"kind": "translating-roller", "roller_radius_mm": 5},
}

SEEN = "bring_up[0].checks[0].seen.mint"


def told(**more: Any) -> list[str]:
    """Return the faults of a small project with more in it."""
    shaft = {"turn": "clockwise", "speed_rpm": 6}
    raw = {"format": "shaftscore-project", "version": 2, "shaft": shaft, "lanes": [LANE], **more}
    try:
        read_project(json.dumps(raw).encode(), "typed")
    except ProjectError as error:
        return [str(fault) for fault in error.faults]
    return []


def sheet(seen: Any, *angles: float, **more: Any) -> dict[str, Any]:
    checks = [{"angle_deg": angle, "seen": seen} for angle in angles or (72.0,)]
    return {"bring_up": [{"date": "2026-03-15", "checks": checks, **more}]}


def note(**more: Any) -> dict[str, Any]:
    return {"log": [{"date": "2026-03-15", "text": "Printed", **more}]}


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ({"home": {"angle_deg": 360}}, "home.angle_deg: must be less than 360, got 360"),
        (note(date="2026-02-30"), 'log[0].date: "2026-02-30" is not a day of the calendar'),
        (
            note(date="15.3.2026"),
            'log[0].date: "15.3.2026" is not a date; write year, month and day, such as 2026-03-14',
        ),
        (note(text=""), "log[0].text: must not be empty"),
        (
            note(revisions={"A1": "r0f3"}),
            'log[0].revisions.A1: "r0f3" is not a revision: R and three digits, 0 to 9 and A to F',
        ),
        (
            sheet({"mint": "opn"}),
            f'{SEEN}: "opn" is not one of Mint\'s levels (closed, open); did you mean "open"?',
        ),
        (
            sheet({"mnt": "open"}),
            'bring_up[0].checks[0].seen.mnt: there is no lane "mnt"; did you mean "mint"?',
        ),
        (sheet({"mint": 2001}), f"{SEEN}: must be at most 2000, got 2001"),
        (sheet({"mint": True}), f"{SEEN}: must be the name of a level, an output in mm, or null, got true"),
        (
            sheet({"mint": "open"}, 90, 72),
            "bring_up[0].checks[1].angle_deg: must be greater than that of the check before, 90°, got 72°",
        ),
    ],
)
def test_what_is_wrong_is_told(more: dict[str, Any], fault: str) -> None:
    assert told(**more) == [fault]


def test_a_level_a_measured_value_and_what_cannot_be_seen_are_all_told_apart() -> None:
    assert told(**sheet({"mint": "open"}, 10, 20)) == []
    assert told(**sheet({"mint": 7.9}, 0)) == []
    assert told(**sheet({"mint": None})) == []


def test_a_list_that_is_too_long_is_told() -> None:
    entry = {"date": "2026-03-15", "text": "x"}
    assert told(log=[entry] * 10_001) == ["log: has 10,001 entries; 10,000 are the most"]
    one = {"date": "2026-03-15"}
    assert told(bring_up=[one] * 101) == ["bring_up: has 101 entries; 100 are the most"]
