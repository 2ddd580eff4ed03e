"""The table of checks: one module a subject, one row here.

To add a check, write its module and add its row.
"""

from core.checks.base import Check, Kept, LaneCheck, MachineCheck, Memo, run_checks
from core.checks.drop import DROP
from core.checks.exclusive import OVERLAP
from core.checks.interference import INTERFERENCE
from core.checks.interlock import INTERLOCK
from core.checks.no_time import NO_TIME
from core.checks.not_checked import UNSOLVED
from core.checks.parts import PARTS
from core.checks.pass_through import PASS_THROUGH
from core.checks.shape import FACE_WIDTH, KNIFE_EDGE, SHAPE
from core.checks.velocity_jump import VELOCITY_JUMP
from core.checks.walls import WALLS

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
    INTERFERENCE,
    UNSOLVED,
)
"""Every check, in the order in which they run."""

__all__ = ["CHECKS", "Check", "Kept", "LaneCheck", "MachineCheck", "Memo", "run_checks"]
