"""The table of rules: every rule that a finding can break, with its title, severity and meaning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType


class Severity(StrEnum):
    """How bad a finding is."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for errors, 1 for warnings, 2 for notes."""
        return _RANKS[self]


_RANKS = {severity: rank for rank, severity in enumerate(Severity)}


@dataclass(frozen=True)
class RuleText:
    """A row of the table.

    name: as in files and JSON. title: as people read it. severity: its usual one. meaning: one sentence.
    """

    name: str
    title: str
    severity: Severity
    meaning: str


_E, _W, _N = Severity.ERROR, Severity.WARNING, Severity.NOTE

_TABLE = (
    RuleText("no-time", "No time", _E, "Blocks of different levels overlap or touch."),
    RuleText("pass-through", "Pass-through", _E, "On its way a lane sweeps through a guarded level."),
    RuleText(
        "overlap", "Overlap", _E, "Two states that exclude each other hold together, or without the gap."
    ),
    RuleText(
        "interlock",
        "Interlock",
        _E,
        "A state lacks what it requires, or two states follow too soon or too late.",
    ),
    RuleText("starvation", "Starvation", _E, "A gate opens with nothing to let out."),
    RuleText("collision", "Collision", _E, "Two items meet in a channel."),
    RuleText("double-release", "Double release", _E, "An opening lets more items through than intended."),
    RuleText("missed-release", "Missed release", _E, "An opening lets fewer items through than intended."),
    RuleText("misrouted", "Misrouted", _E, "An item finds its diverter elsewhere or moving."),
    RuleText(
        "wrong-order",
        "Wrong order",
        _E,
        "An outlet receives other items, or in another order, than expected.",
    ),
    RuleText(
        "pressure-angle",
        "Pressure angle",
        _W,
        "The disc presses its follower more sideways than recommended.",
    ),
    RuleText("self-locking", "Self-locking", _E, "So steep that the guide's friction locks the follower."),
    RuleText("undercut", "Undercut", _E, "The roller cannot touch the whole profile."),
    RuleText("sharp-crest", "Sharp crest", _W, "A crest too sharp to make or to last."),
    RuleText("tight-hollow", "Tight hollow", _W, "A hollow hardly wider than the roller."),
    RuleText("knife-edge", "Knife edge", _W, "A follower without a roller."),
    RuleText("velocity-jump", "Velocity jump", _E, "A corner in the motion."),
    RuleText(
        "acceleration-jump", "Acceleration jump", _N, "A step in acceleration that costs contact force."
    ),
    RuleText("drop-late", "Drop late", _E, "A drop lands after the next block begins."),
    RuleText("drop-one-way", "Drop one way", _N, "The machine may not be turned backwards here."),
    RuleText("face-width", "Face width", _E, "The contact leaves the flat face."),
    RuleText("float", "Float", _E, "The spring cannot hold contact at this speed."),
    RuleText("weak-spring", "Weak spring", _E, "The spring does not return its follower against friction."),
    RuleText("spring-solid", "Spring solid", _E, "The coils of a spring touch before its travel is done."),
    RuleText("spring-stress", "Spring stress", _W, "A spring is stressed too much, or buckles."),
    RuleText("contact-stress", "Contact stress", _W, "The line contact is over the material's limit."),
    RuleText("overload", "Overload", _E, "The peak torque is over what the drive gives, with reserve."),
    RuleText("shaft-bends", "Shaft bends", _W, "The shaft bends more than the discs may be off, or yields."),
    RuleText("joint-opens", "Joint opens", _W, "Bending opens a joint of the clamped stack."),
    RuleText("interference", "Interference", _E, "A follower's body meets another part."),
    RuleText("weak-gear", "Weak gear", _W, "A tooth is bent by more than its material allows."),
    RuleText("weak-stage", "Weak stage", _W, "A pin, slot or counted tooth is bent too much, or too fast."),
    RuleText("wrong-hand", "Wrong hand", _W, "The drive turns the shaft against the program."),
    RuleText("off-speed", "Off speed", _W, "The drive turns the shaft at another speed than planned."),
    RuleText("weak-part", "Weak part", _W, "A wall, web or dog is too thin."),
    RuleText("bad-part", "Bad part", _E, "A part cannot be made: a wall, floor, web or opening is missing."),
    RuleText("off-edge", "Off edge", _W, "A roller does not run on enough of its disc's rim."),
    RuleText("between-layers", "Between layers", _N, "A thickness is no whole number of layers."),
    RuleText("too-large", "Too large", _W, "A disc is larger than may be made."),
    RuleText("free-part", "Free part", _E, "A disc turns freely on what should turn it."),
    RuleText(
        "joint-slips", "Joint slips", _W, "The clamp does not hold a joint, so that its play comes back."
    ),
    RuleText("thin-margin", "Thin margin", _W, "It holds, but the tolerances could break it."),
    RuleText("unlikely", "Unlikely", _E, "It holds as drawn, but too few built machines would work."),
    RuleText("not-checked", "Not checked", _W, "The project uses what this version does not check."),
)

RULES: Mapping[str, RuleText] = MappingProxyType({row.name: row for row in _TABLE})
"""Every rule by its name, in the order in which people read them."""
