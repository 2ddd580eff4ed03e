"""The same machine by Shaftscore, from the same table: everything checked, and every file proved."""

from __future__ import annotations

from pathlib import Path

import shaftscore
from shaftscore.model import Block, Exclusive, Lane, LevelState, Project, Shaft, Stack
from shaftscore.model.project import VERSION


def lane(number, start):
    return Lane(
        id=f"g{number}",
        name=f"Gate {number}",
        code=f"G{number + 1}",
        stack="s",
        levels={"closed": 0.0, "open": 10.0},
        blocks=(
            Block(level="open", start_deg=start, end_deg=start + 12.0),
            Block(level="closed", start_deg=start + 36.0, end_deg=start + 336.0),
        ),
        follower={"kind": "translating-roller", "roller_radius_mm": 5.0},
        disc={"base_radius_mm": 75.0, "thickness_mm": 6.0},
    )


def machine(opens, pairs):
    """Describe the machine."""
    rules = [
        Exclusive(kind="exclusive", states=tuple(LevelState(lane=f"g{n}", level="open") for n in pair))
        for pair in pairs
    ]
    return Project(
        format="shaftscore-project",
        version=VERSION,
        name="gates",
        shaft=Shaft(turn="clockwise", speed_rpm=6.0),
        stacks=(Stack(id="s", bore={"across_mm": 12.0}),),
        lanes=tuple(lane(number, start) for number, start in enumerate(opens)),
        rules=tuple(rules),
    )


def run(opens, pairs, folder: Path):
    """Work out the machine; returns pressure angles, least radii, findings, and the export."""
    project = machine(opens, pairs)
    report = shaftscore.examine(project)
    result = shaftscore.export(project, folder, ["stl"])
    profiles = [report.solution.lanes[one.id].profile for one in project.lanes]
    pressures = [one.max_pressure_angle_deg for one in profiles]
    return pressures, [one.min_convex_radius_mm for one in profiles], report.findings, result
