"""A machine of two stacks with a Geneva stage between them, for tests."""

from __future__ import annotations

import json

from shaftscore.model import Project


def _lane(name: str, stack: str, code: str) -> dict[str, object]:
    moves = [
        {"level": "off", "start_deg": 0, "end_deg": 100},
        {"level": "on", "start_deg": 150, "end_deg": 300},
    ]
    return {
        "id": name,
        "code": code,
        "stack": stack,
        "levels": {"off": 0, "on": 6},
        "blocks": moves if stack == "ones" else moves[:1],
        "follower": {
            "kind": "swinging-roller",
            "roller_radius_mm": 4,
            "arm_mm": 40,
            "pivot_distance_mm": 50,
            "pivot_side": "clockwise",
            "arm_thickness_mm": 3,
        },
        "station_deg": 180 if stack == "ones" else 0,
        "disc": {"base_radius_mm": 18},
    }


def stage_machine(*, end: str = "top", turn: str = "clockwise", **steps: object) -> Project:
    """Return the machine: a stack "ones" steps "tens" on; steps: fields of the stage that are changed."""
    stage = {
        "kind": "geneva",
        "slots": 10,
        "centre_distance_mm": 72,
        "pin_diameter_mm": 4,
    }
    return _machine(end, turn, stage | steps)


def counted_machine(*, end: str = "top", turn: str = "clockwise", **steps: object) -> Project:
    """Return the same machine with counted teeth: 2 of 20 on a wheel of 20, shafts 72 mm apart."""
    stage = {"kind": "counted-gear", "teeth": 20, "counted": 2, "driven_teeth": 20, "module_mm": 3.6}
    return _machine(end, turn, stage | steps)


def _machine(end: str, turn: str, steps: dict[str, object]) -> Project:
    bore = {"shape": "hex", "across_mm": 5}
    stage = {"stack": "ones", "start_deg": 100, "thickness_mm": 5, **steps}
    other = "bottom" if end == "top" else "top"
    stacks = [
        {"id": "ones", "bore": bore, "driven_end": other},
        {"id": "tens", "bore": bore, "driven_end": end, "steps_from": stage},
    ]
    record = {
        "format": "shaftscore-project",
        "version": 2,
        "shaft": {"turn": turn, "speed_rpm": 6},
        "stacks": stacks,
        "lanes": [_lane("a", "ones", "A1"), _lane("b", "tens", "B1")],
    }
    return Project.model_validate_json(json.dumps(record))
