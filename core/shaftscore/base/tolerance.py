"""Every numeric tolerance of the project, in one place.

State intervals are closed. Angles are exact to `ANGLE_DEG`. A limit counts as broken only when it is
passed by more than `LIMIT`, so that a value typed from a message always cures.
"""

from __future__ import annotations

ANGLE_DEG = 1e-9
"""Roots (ends of state intervals, extremes) are found to this many degrees."""

LIMIT = 1e-6
"""A limit is broken when passed by more than this (degrees, mm; relative for forces)."""

EDIT_DEG = 1e-6
"""Edits by mouse or keys round angles to this many degrees."""

CURE_DEG = 0.1
"""Angles in cures are rounded outward to this many degrees, then checked by solving again."""

CURE_MM = 0.1
"""Lengths in cures are rounded outward to this many mm, then checked likewise."""

CHORD_MM = 0.002
"""Largest distance between a profile and the chord that stands for it in an exported file."""

PROOF_LIFT_MM = 0.02
"""Largest difference between the lift read back from a file and the program's."""

PROOF_STATE_DEG = 0.05
"""Allowed shift of a state's end in a file, unless `PROOF_STATE_MM` over the slope is greater."""

PROOF_STATE_MM = 0.005
"""Height error that a state's end may show in a file, turned into degrees by the slope there."""


PROOF_SHAPE_MM = 0.01
"""Largest distance between an edge or a face in a file and where the part should have it."""

PROOF_MARK_MM = 0.05
"""The same for what is engraved: no follower and no fit depends on it."""

PROOF_PLAY_DEG = 0.05
"""Largest difference between the play read back from a file and the program's."""

PROOF_SEAT_MM = 0.02
"""Largest difference between how far a part in a file can shift and how far the program's can."""

PROOF_DEPTH_MM = 0.02
"""How deep parts read back from files may go into one another in the assembled machine."""


def over(value: float, limit: float, scale: float = 1.0) -> bool:
    """Return whether `value` passes the upper `limit` by more than the tolerance.

    scale: 1 for degrees and mm; the size of the quantity for forces, torques and stresses.
    """
    return value > limit + LIMIT * scale


def under(value: float, limit: float, scale: float = 1.0) -> bool:
    """Return whether `value` falls below the lower `limit`, both in one unit, by more than the tolerance."""
    return value < limit - LIMIT * scale
