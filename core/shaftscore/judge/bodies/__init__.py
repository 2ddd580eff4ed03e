"""Bodies: which parts of a stack could meet, and how much room they keep at every angle.

`shapes` and `rim` measure distances in plan view, `parts` says what stands where, `clearance` bounds the
least distance of two parts over a whole turn.
"""

from shaftscore.judge.bodies.clearance import (
    BodyPair,
    Clearance,
    Nearest,
    keeps_apart,
    least_clearance,
    nearest_of,
    on_one_rod,
    pairs_of,
    too_near,
)
from shaftscore.judge.bodies.parts import BodyPart, parts_of

__all__ = [
    "BodyPair",
    "BodyPart",
    "Clearance",
    "Nearest",
    "keeps_apart",
    "least_clearance",
    "nearest_of",
    "on_one_rod",
    "pairs_of",
    "parts_of",
    "too_near",
]
