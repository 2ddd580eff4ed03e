"""Lanes for the tests of motion, made in one line, and strategies that make any lane."""

from __future__ import annotations

from hypothesis import strategies as st

from shaftscore.base.angles import wrap
from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.model import Block, Lane

LEVELS = {"low": 0.0, "mid": 4.0, "high": 9.0, "top": 15.0}


def block(level: str, start: float, end: float, law: str | None = None) -> Block:
    return Block(level=level, start_deg=float(start), end_deg=float(end), law=law)


def lane(*blocks: Block, law: str = "modified-sine", **fields: object) -> Lane:
    return Lane(**{"id": "lane", "levels": LEVELS, "blocks": blocks, "law": law, **fields})


def motion(*blocks: Block, law: str = "modified-sine", **fields: object) -> LaneMotion:
    made = program(lane(*blocks, law=law, **fields))
    assert isinstance(made, LaneMotion), made
    return made


def turned(one: Lane, by: float) -> Lane:
    """The same lane with every block later by `by` degrees, blocks sorted again."""
    blocks = [
        block(b.level, wrap(b.start_deg + by), wrap(b.start_deg + by) + b.length_deg, b.law)
        for b in one.blocks
    ]
    return lane(*sorted(blocks, key=lambda b: b.start_deg), law=one.law)


@st.composite
def any_lane(draw: st.DrawFn, laws: tuple[str, ...] = (*LAWS, "blend-345")) -> Lane:
    """A lane whose blocks leave time for every move, some of them momentary, one perhaps through 0."""
    count = draw(st.integers(2, 6))
    shares = draw(st.lists(st.floats(0.05, 1.0), min_size=count, max_size=count))
    dwells = draw(st.lists(st.sampled_from((0.0, 0.3, 0.8)), min_size=count, max_size=count))
    levels = draw(st.lists(st.sampled_from(tuple(LEVELS)), min_size=count, max_size=count))
    names = draw(st.lists(st.sampled_from((None, *laws)), min_size=count, max_size=count))
    first = draw(st.floats(0.0, 359.0))
    blocks, at = [], first
    for share, dwell, level, law in zip(shares, dwells, levels, names, strict=True):
        room = 360.0 * share / sum(shares)
        start = wrap(at)
        blocks.append(block(level, start, start + room * dwell, law))
        at += room
    return lane(*sorted(blocks, key=lambda b: b.start_deg), law=draw(st.sampled_from(laws)))
