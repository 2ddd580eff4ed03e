"""The same formulas as a plain program: one angle after the other, floats and math only.

For gates with the modified-sine law and an in-line roller it gives output, its derivatives, profile point,
pressure angle and curvature at every 0.1 degree, the states by looking at each angle, and the clashes of a
pair of states; what a person would write first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from shaftscore.model import Lane, Project

STEPS = 3600
K = 1.0 / (4.0 + math.pi)


@dataclass(frozen=True)
class PlainFigures:
    """What is found out about a lane."""

    points: list[tuple[float, float]]
    worst_angle: float
    least_radius: float
    open_at: list[bool]


def modified_sine(x: float) -> tuple[float, float, float]:
    """Return output and two derivatives of the law at 0 <= x <= 1."""
    p = math.pi
    if x < 0.125:
        return (
            K * (p * x - math.sin(4 * p * x) / 4),
            K * p * (1 - math.cos(4 * p * x)),
            K * 4 * p * p * math.sin(4 * p * x),
        )
    if x < 0.875:
        u = 4 * p * x / 3 + p / 3
        return (
            K * (2 + p * x - 2.25 * math.sin(u)),
            K * p * (1 - 3 * math.cos(u)),
            K * 4 * p * p * math.sin(u),
        )
    return (
        K * (4 + p * x - math.sin(4 * p * x) / 4),
        K * p * (1 - math.cos(4 * p * x)),
        K * 4 * p * p * math.sin(4 * p * x),
    )


def output(lane: Lane, theta: float) -> tuple[float, float, float]:
    """Return output and two derivatives by radian at an angle of the turn, degrees."""
    blocks = lane.blocks
    for i, block in enumerate(blocks):
        after = blocks[(i + 1) % len(blocks)]
        level, next_level = lane.levels[block.level], lane.levels[after.level]
        along = math.fmod(theta - block.start_deg + 720.0, 360.0)
        length = block.end_deg - block.start_deg
        if along <= length:
            return level, 0.0, 0.0
        until = math.fmod(after.start_deg - block.start_deg + 720.0, 360.0) or 360.0
        if along < until:
            y, v, a = modified_sine((along - length) / (until - length))
            beta, rise = math.radians(until - length), next_level - level
            return level + rise * y, rise * v / beta, rise * a / beta**2
    raise ValueError(f"{theta} degrees lies in no block or move of {lane.name}")


def look_at(lane: Lane) -> PlainFigures:
    """Compute a lane angle by angle."""
    roller, base = 5.0, 75.0
    points, open_at = [], []
    worst, least = 0.0, math.inf
    for n in range(STEPS):
        theta = n * 360.0 / STEPS
        s, v, a = output(lane, theta)
        y = base + roller + s
        steep = math.atan2(v, y)
        t = math.radians(-theta)
        px, py = y - roller * math.cos(steep), roller * math.sin(steep)
        points.append((px * math.cos(t) - py * math.sin(t), px * math.sin(t) + py * math.cos(t)))
        curve = (y * y + 2 * v * v - y * a) / (y * y + v * v) ** 1.5
        worst = max(worst, abs(math.degrees(steep)))
        if curve > 0:
            least = min(least, 1 / curve - roller)
        open_at.append(abs(s - 10.0) <= 1.0)
    return PlainFigures(points, worst, least, open_at)


def look_at_all(project: Project) -> tuple[dict[str, PlainFigures], list[int]]:
    """Compute every lane, and at how many angles the rules are broken."""
    found = {lane.id: look_at(lane) for lane in project.lanes}
    clashes = []
    for rule in project.rules:
        first, second = (found[state.lane].open_at for state in rule.states)
        clashes.append(sum(a and b for a, b in zip(first, second, strict=True)))
    return found, clashes
