"""What makes real machines differ from the drawing, kind by kind, and what another module adds to it.

A *cause* is one kind of error. Each can be switched off in the same drawn machines (`Errors.muted`), which
shows how much it costs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from shaftscore.built.arrays import Flags, Reals

Cause = Literal[
    "play",
    "seat",
    "disc-angle",
    "profile",
    "station",
    "zero",
    "backlash",
    "link-play",
    "shaft",
    "friction",
    "spring",
    "speed",
    "travel",
    "rate",
]
"""A kind of error; in the order in which causes that cost the same are named."""

CAUSES: tuple[Cause, ...] = get_args(Cause)
"""Every cause."""

OF_JOINTS: frozenset[Cause] = frozenset(("play", "seat"))
"""Causes that come from the fit of the stacks."""

Fails = Callable[[Reals, Reals], Flags]
"""Whether a lane fails: (friction, spring) unit draws (n,) each -> (n,). Friction is uniform, 0 the least
and 1 the most; the spring is normal, -1 and 1 its limits."""


@dataclass(frozen=True)
class BuiltEffects:
    """What other modules know of the built machine, by lane id; all empty by default.

    lift_mm: fixed errors of lift at the roller, mm, not drawn (a shaft that bends). angle_deg: fixed angles
    by which a lane comes later, degrees of its stack (a shaft that twists). fails: whether a lane fails in a
    machine, by the friction and the spring that it has. reads: what all that was computed from; while it is
    the same (by identity), the chance that was drawn with it still holds.
    """

    lift_mm: Mapping[str, float] = field(default_factory=dict)
    angle_deg: Mapping[str, float] = field(default_factory=dict)
    fails: Mapping[str, Fails] = field(default_factory=dict)
    reads: tuple[object, ...] = ()


NO_EFFECTS = BuiltEffects()
"""Nothing is added."""
