"""Fits of every stack: play of its joints, known shifts, seats, and what a clamp carries.

Import from here: `from shaftscore.judge.fits import StackFit, stack_fits`.
"""

from shaftscore.judge.fits.clamp import JointTorque, clamp_capacity_nm, joint_torques, slipping
from shaftscore.judge.fits.stack_fit import (
    PlayLaw,
    StackFit,
    from_driven_end,
    joints_before,
    stack_fit,
    stack_fits,
)

__all__ = [
    "JointTorque",
    "PlayLaw",
    "StackFit",
    "clamp_capacity_nm",
    "from_driven_end",
    "joint_torques",
    "joints_before",
    "slipping",
    "stack_fit",
    "stack_fits",
]
