"""The table of checks: one module a subject, one row here.

To add a check, write its module and add its row.
"""

from shaftscore.judge.checks.base import Check, LaneCheck, MachineCheck, Memo, run_checks
from shaftscore.judge.checks.drop import DROP
from shaftscore.judge.checks.exclusive import OVERLAP
from shaftscore.judge.checks.follower_parts import FOLLOWER_PARTS
from shaftscore.judge.checks.frame import FRAME
from shaftscore.judge.checks.gears import GEARS
from shaftscore.judge.checks.interference import INTERFERENCE
from shaftscore.judge.checks.interlock import INTERLOCK
from shaftscore.judge.checks.no_time import NO_TIME
from shaftscore.judge.checks.not_checked import UNREAD, UNSOLVED
from shaftscore.judge.checks.parts import PARTS
from shaftscore.judge.checks.pass_through import PASS_THROUGH
from shaftscore.judge.checks.shape import FACE_WIDTH, KNIFE_EDGE, SHAPE
from shaftscore.judge.checks.spring_ratio import SPRING_RATIO
from shaftscore.judge.checks.stepping import STEPPING
from shaftscore.judge.checks.velocity_jump import VELOCITY_JUMP
from shaftscore.judge.checks.walls import WALLS

CHECKS: tuple[Check, ...] = (
    NO_TIME,
    PASS_THROUGH,
    OVERLAP,
    INTERLOCK,
    VELOCITY_JUMP,
    DROP,
    SHAPE,
    KNIFE_EDGE,
    FACE_WIDTH,
    PARTS,
    WALLS,
    FOLLOWER_PARTS,
    GEARS,
    STEPPING,
    FRAME,
    SPRING_RATIO,
    INTERFERENCE,
    UNSOLVED,
    UNREAD,
)
"""Every check, in the order in which they run."""

BETWEEN_LANES: tuple[Check, ...] = (
    *(check for check in CHECKS if isinstance(check, LaneCheck)),
    OVERLAP,
    INTERLOCK,
)
"""Checks of lanes, and those of the rules between them."""

LANE_RULES = tuple(rule for check in CHECKS if isinstance(check, LaneCheck) for rule in check.rules)
"""Rules that are judged lane by lane."""

__all__ = [
    "BETWEEN_LANES",
    "CHECKS",
    "LANE_RULES",
    "Check",
    "LaneCheck",
    "MachineCheck",
    "Memo",
    "run_checks",
]
