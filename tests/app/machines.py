"""Small machines for the editor's tests, written as their files are."""

from __future__ import annotations

import json
from typing import Any

from shaftscore.model import Project
from shaftscore.model.loader import read_project


def _lane(
    name: str, levels: dict[str, float], blocks: list[tuple[str, float, float]], **more: Any
) -> dict[str, Any]:
    made = [{"level": level, "start_deg": start, "end_deg": end} for level, start, end in blocks]
    follower = {"kind": "translating-roller", "roller_radius_mm": 5.0}
    return {
        "id": name.lower(),
        "name": name,
        "group": "Gates",
        "levels": levels,
        "blocks": made,
        "follower": follower,
        **more,
    }


def gates_file(**changes: Any) -> dict[str, Any]:
    """Two gates that are open together, and a flap that sweeps through its guarded middle level."""
    gate = {"closed": 0.0, "open": 10.0}
    flap = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
    project = {
        "format": "shaftscore-project",
        "version": 1,
        "name": "Two gates",
        "shaft": {"turn": "clockwise", "speed_rpm": 6.0, "steps": 12},
        "lanes": [
            _lane("Left", gate, [("open", 120.0, 132.0), ("closed", 160.0, 455.0)]),
            _lane("Right", gate, [("open", 139.5, 151.5), ("closed", 175.5, 475.5)]),
            _lane(
                "Flap",
                flap,
                [("shut", 0.0, 30.0), ("cup", 60.0, 280.0), ("tray", 306.0, 316.0)],
                guarded=["cup"],
            ),
        ],
        "rules": [
            {
                "kind": "exclusive",
                "states": [{"lane": "left", "level": "open"}, {"lane": "right", "level": "open"}],
                "gap_s": 0.1,
            }
        ],
    }
    return {**project, **changes}


def as_bytes(project: dict[str, Any]) -> bytes:
    """Write a project's file."""
    return json.dumps(project).encode()


def gates() -> Project:
    """Read the two gates with their flap: an overlap and a pass-through."""
    return read_project(as_bytes(gates_file()), "gates.shaft")


def clean_gates() -> Project:
    """Read two gates that never meet, with generous moves: nothing above a note is found."""
    gate = {"closed": 0.0, "open": 10.0}
    lanes = [
        _lane("Left", gate, [("open", 60.0, 80.0), ("closed", 140.0, 360.0)]),
        _lane("Right", gate, [("open", 240.0, 260.0), ("closed", 320.0, 540.0)]),
    ]
    return read_project(as_bytes(gates_file(lanes=lanes)), "clean.shaft")


def fed_gates_file(fed_per_min: float = 3.0, **changes: Any) -> dict[str, Any]:
    """Two gates that never meet, each with a magazine and one chute; the left one's is fed too slowly.

    At 6 turns a minute each gate lets 6 items a minute out. The left magazine holds 2 at the start.
    """
    gate = {"closed": 0.0, "open": 10.0}
    lanes = [
        _lane("Left", gate, [("open", 60.0, 80.0), ("closed", 140.0, 360.0)]),
        _lane("Right", gate, [("open", 240.0, 260.0), ("closed", 320.0, 540.0)]),
    ]
    flow = {
        "supplies": [{"id": "slow", "rate_per_min": fed_per_min}, {"id": "endless"}],
        "magazines": [
            {"id": "left_tube", "from": "slow", "travel_s": 6.0, "capacity": 4, "start_count": 2},
            {"id": "right_tube", "from": "endless", "travel_s": 1.5, "capacity": 3, "start_count": 3},
        ],
        "channels": [{"id": "main_chute", "travel_min_s": 0.25, "travel_max_s": 0.4, "to": "cup"}],
        "outlets": [{"id": "cup"}],
        "gates": [
            {
                "id": f"{side}_gate",
                "state": {"lane": side, "level": "open"},
                "from": f"{side}_tube",
                "to": "main_chute",
                "item": f"{side} bead",
            }
            for side in ("left", "right")
        ],
    }
    return gates_file(**{"lanes": lanes, "flow": flow, **changes})


def fed_gates(fed_per_min: float = 3.0) -> Project:
    """Read the fed gates."""
    return read_project(as_bytes(fed_gates_file(fed_per_min)), "fed.shaft")
