"""Which rules judge which area of the verdict, so that findings are shown beside what was described."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from shaftscore.model.project import Area

CHANCE = "chance"
"""The rules that judge many machines, not one: beside the areas."""

RULES_OF: Mapping[Area | str, tuple[str, ...]] = MappingProxyType(
    {
        "timing": (
            "no-time",
            "pass-through",
            "overlap",
            "interlock",
            "velocity-jump",
            "acceleration-jump",
            "drop-late",
            "drop-one-way",
        ),
        "items": (
            "starvation",
            "collision",
            "double-release",
            "missed-release",
            "misrouted",
            "wrong-order",
        ),
        "forces": ("float", "contact-stress", "weak-spring", "spring-solid", "spring-stress"),
        "torque": ("overload", "wrong-hand", "off-speed", "weak-gear", "weak-stage"),
        "fits": ("free-part", "joint-slips"),
        "heights": ("interference", "off-edge", "between-layers"),
        "shaft": ("shaft-bends", "joint-opens"),
        "parts": (
            "pressure-angle",
            "self-locking",
            "undercut",
            "sharp-crest",
            "tight-hollow",
            "knife-edge",
            "face-width",
            "weak-part",
            "too-large",
            "bad-part",
        ),
        CHANCE: ("thin-margin", "unlikely"),
    }
)
"""Each area with its rules; what is not checked belongs to none."""

AREA_OF: Mapping[str, str] = MappingProxyType(
    {rule: area for area, rules in RULES_OF.items() for rule in rules}
)
"""The area of each rule."""
