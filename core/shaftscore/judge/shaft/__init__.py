"""The shaft of each stack with a rod: bending, stress, twist, bearings, clamp.

Import from here: `from shaftscore.judge.shaft import MachineShafts, machine_shafts, StackShaft`.
"""

from shaftscore.judge.shaft.bending import ShaftExtreme, StackShaft
from shaftscore.judge.shaft.case import ShaftCase
from shaftscore.judge.shaft.discs import OWN_DEG, ContactForces
from shaftscore.judge.shaft.machine import MachineShafts, ShaftRefused, machine_shafts

__all__ = [
    "OWN_DEG",
    "ContactForces",
    "MachineShafts",
    "ShaftCase",
    "ShaftExtreme",
    "ShaftRefused",
    "StackShaft",
    "machine_shafts",
]
