"""Levels of an arrangement, simple ones first: whole groups turn, whole lanes turn, single blocks move.

At a level some variables follow from others: all starts of a lane from its first where it turns as a whole,
and those from one lane of its group where groups turn. A rule whose slack does not change at a level, such
as one between two lanes of a group, does not limit the margin there: it has to hold, and no more.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Literal

from shaftscore.placing.affine import Affine, var
from shaftscore.placing.lanes import MovableLane
from shaftscore.placing.model import Arranging
from shaftscore.placing.problem import Inequality, Problem

Level = Literal["groups", "lanes", "blocks"]

LEVELS: tuple[Level, ...] = ("groups", "lanes", "blocks")
"""Simple ones first."""

SAME = 1e-9
"""A slack that changes by no more than this share of a step does not change."""


def groups_of(model: Arranging) -> tuple[tuple[MovableLane, ...], ...]:
    """Return the lanes that can move by group; those of no group by base-circle group, or alone."""
    found: dict[tuple[str, str], list[MovableLane]] = {}
    for lane_id, moving in model.lanes.moving.items():
        if moving.own_starts:
            lane = moving.lane
            key = ("group", lane.group) if lane.group else ("base", lane.disc.base_group or "")
            found.setdefault(key if key[1] else ("lane", lane_id), []).append(moving)
    return tuple(tuple(lanes) for lanes in found.values())


def levels_of(model: Arranging) -> tuple[Level, ...]:
    """Return the levels that differ: whole groups only where a group has several lanes."""
    groups = groups_of(model)
    several = len(groups) > 1 and any(len(group) > 1 for group in groups)
    return LEVELS if several else LEVELS[1:]


def kept_at(model: Arranging, level: Level) -> tuple[Affine, ...]:
    """Return what is at least 0 at a level; nothing where single blocks move."""
    if level == "blocks":
        return ()
    kept = list(model.as_drawn())
    if level == "groups":
        drawn = model.drawn_positions()
        for first, *others in groups_of(model):
            for other in others:
                kept += _together(first, other, drawn)
    return tuple(kept)


def _together(one: MovableLane, other: MovableLane, drawn: Mapping[int, int]) -> Iterator[Affine]:
    """Yield what is at least 0 while two lanes turn by the same angle of the master shaft."""
    (first, *_), (second, *_) = one.own_starts, other.own_starts
    by = (var(first) - float(drawn[first])) * float(other.turns)
    also = (var(second) - float(drawn[second])) * float(one.turns)
    yield by - also
    yield also - by


def follows_at(model: Arranging, level: Level) -> Mapping[int, tuple[int, float] | None]:
    """Return, for each variable that does not move freely at a level, what it follows and by what factor.

    None stands for a variable that does not move at all.
    """
    # Whole turns bring two intervals beside each other; they come and go without any change of the timing.
    found: dict[int, tuple[int, float] | None] = {one.variable: None for one in model.problem.derived}
    if level == "blocks":
        return found
    for group in groups_of(model) if level == "groups" else [(one,) for one in model.lanes.moving.values()]:
        leader = group[0]
        for moving in group:
            for number in moving.own_starts:
                found[number] = (leader.own_starts[0], moving.turns / leader.turns)
            found |= dict.fromkeys(moving.own_lengths)
    return found


def problem_at(model: Arranging, level: Level) -> Problem:
    """Return the problem in which only what changes at a level limits the margin."""
    follows = follows_at(model, level)
    problem = model.problem
    inequalities = [_at(inequality, follows) for inequality in problem.inequalities]
    return replace(problem, inequalities=inequalities)


def _at(inequality: Inequality, follows: Mapping[int, tuple[int, float] | None]) -> Inequality:
    if inequality.margin and not changes(inequality.expression, follows):
        return replace(inequality, margin=0.0)
    return inequality


def changes(expression: Affine, follows: Mapping[int, tuple[int, float] | None]) -> bool:
    """Return whether an expression changes while its variables follow others; whole turns do not count."""
    total: dict[int, float] = {}
    for number, by in expression.terms.items():
        to = follows.get(number, (number, 1.0))
        if to is not None:
            total[to[0]] = total.get(to[0], 0.0) + by * to[1]
    return any(abs(by) > SAME for by in total.values())
