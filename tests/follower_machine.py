"""A machine with one follower of each kind as parts: slide A1, lever A2, straight-line lever A3."""

from __future__ import annotations

from typing import Any

from shaftscore.model import Disc, FollowerParts, Lane, Project, SwingingRoller, TranslatingRoller
from tests.machines import lane, machine

LEVELS = {"low": 0.0, "middle": 8.0, "high": 16.0}

SWINGING: dict[str, Any] = {
    "kind": "swinging-roller",
    "bearing": "624",
    "arm_mm": 60.0,
    "pivot_distance_mm": 76.0,
    "pivot_side": "clockwise",
    "body_width_mm": 12.0,
}


def moved_lane(name: str, code: str, station_deg: float, follower: Any, parts: Any, **more: Any) -> Lane:
    blocks = (("low", 0, 60), ("middle", 100, 150), ("high", 200, 260))
    return lane(
        name,
        *blocks,
        levels=LEVELS,
        follower=follower,
        parts=parts,
        station_deg=station_deg,
        code=code,
        **{"disc": Disc(base_radius_mm=40.0), **more},
    )


def slide_lane(**more: Any) -> Lane:
    follower = TranslatingRoller(
        kind="translating-roller",
        bearing="624",
        guide_start_mm=72.0,
        guide_length_mm=30.0,
        body_width_mm=12.0,
    )
    parts = FollowerParts(kind="slide", arm_mm=68.0, spring_hook_mm=10.0)
    return moved_lane("Slide", "A1", 0.0, follower, parts, **more)


def lever_lane(**more: Any) -> Lane:
    follower = more.pop("follower", SwingingRoller(**SWINGING, output_arm_mm=120.0))
    parts = FollowerParts(kind="lever", arm_mm=60.0, output_arm_mm=120.0, spring_hook_mm=92.0)
    return moved_lane("Lever", "A2", 120.0, follower, parts, **more)


def straight_lane(**more: Any) -> Lane:
    follower = SwingingRoller(**(SWINGING | more.pop("follower", {})))
    given = {"kind": "straight-line", "arm_mm": 60.0, "output_arm_mm": 120.0} | more.pop("parts", {})
    if given["kind"] == "slide":
        del given["output_arm_mm"]
    station = more.pop("station_deg", 240.0)
    return moved_lane("Straight", "A3", station, follower, FollowerParts(**given), **more)


def follower_machine(**more: Any) -> Project:
    return machine(slide_lane(), lever_lane(), straight_lane(), **more)
