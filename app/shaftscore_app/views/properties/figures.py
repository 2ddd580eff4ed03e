"""Figures of a block's move and state, as Properties shows them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import Arcs, wrap
from shaftscore.kinematics.motion.segments import Move
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Gate, Lane, Project
from shaftscore.solution import LaneSolution

NONE = "–"
"""Stands where there is no such number."""


@dataclass(frozen=True)
class MoveTexts:
    """What is said of the move that leads to a block; texts: length, peak velocity, peak acceleration."""

    title: str
    where: str
    texts: tuple[str, str, str]


def move_to(solution: LaneSolution, block: int) -> Move | None:
    """Return the move that leads to a block; None where the lane rests before it or has no motion."""
    if solution.motion is None:
        return None
    moves = (segment for segment in solution.motion.segments if isinstance(segment, Move))
    return next((move for move in moves if move.block == block), None)


def move_figures(solution: LaneSolution, block: int) -> MoveTexts:
    """Return as texts length and peaks of the move that leads to a block, at the machine's nominal speed."""
    move = move_to(solution, block)
    if move is None:
        return MoveTexts("No move to this block", "", (NONE, NONE, NONE))
    time = move.length_deg / solution.deg_per_s
    travel = abs(move.rise_mm)
    texts = (
        f"{wording.degrees(move.length_deg)}, {wording.seconds(time)}",
        f"{_three(move.law.cv * travel / time)} mm/s",
        f"{_three(move.law.ca * travel / time**2)} mm/s²" if math.isfinite(move.law.ca) else "a jump",
    )
    title = "Rise to this block" if move.rise_mm > 0 else "Fall to this block"
    where = wording.angle_range(Arcs.span(move.start_deg, move.length_deg))
    return MoveTexts(title, where, texts)


def peak_pressure(solution: LaneSolution, block: int) -> str:
    """Write the steepest pressure angle of the move that leads to a block, and its limit."""
    move, profile = move_to(solution, block), solution.profile
    if move is None or profile is None or solution.motion is None:
        return NONE
    number = next(i for i, segment in enumerate(solution.motion.segments) if segment is move)
    places = [place for place in profile.steep_places if place.segment == number]
    if not places:
        return NONE
    worst = max(places, key=lambda place: place.value)
    return f"{wording.degrees(worst.value)} of {wording.degrees(worst.limit)}"


def interval_of(solution: LaneSolution, lane: Lane, block: int) -> StateInterval | None:
    """Return the state interval that holds a block, master angles."""
    intervals = solution.states.get(lane.blocks[block].level, ())
    return next((interval for interval in intervals if block in interval.blocks), None)


@dataclass(frozen=True)
class StateTexts:
    """What is said of the state that a block makes.

    interval: where it lies and how long it is. leaves: when an item leaves by it, with the item's name;
    None where the lane is no gate.
    """

    interval: str
    leaves: tuple[str, str] | None


def state_texts(project: Project, solution: LaneSolution, lane: Lane, block: int) -> StateTexts:
    """Return as texts the state interval of a block, and when an item leaves by it (a gate's opening)."""
    interval = interval_of(solution, lane, block)
    gates = [gate for gate in (project.flow.gates if project.flow else ()) if gate.state.lane == lane.id]
    leaves = (gates[0].item, NONE) if gates else None
    if interval is None:
        return StateTexts(NONE, leaves)
    said = f"{wording.angle_range(interval.span)}, {wording.degrees(interval.span.length)}"
    found = (_leaves(project, solution, gate, block) for gate in gates)
    return StateTexts(said, next((pair for pair in found if pair is not None), leaves))


def _leaves(project: Project, solution: LaneSolution, gate: Gate, block: int) -> tuple[str, str] | None:
    """Describe what leaves a gate first while it is open by this block, and when."""
    for interval in solution.intervals(gate.state):
        if block in interval.blocks:
            late = gate.item_s if gate.mode == "stream" else 0.0
            at = wrap(interval.span.start + late * 6.0 * project.shaft.speed_rpm)
            time = at / (6.0 * project.shaft.speed_rpm)
            return gate.item, f"{wording.degrees(at)}, {wording.seconds(time)}"
    return None


def _three(value: float) -> str:
    """Write about three significant figures."""
    if value == 0 or not np.isfinite(value):
        return wording.number(value, 1)
    return wording.number(value, max(0, 2 - math.floor(math.log10(abs(value)))))
