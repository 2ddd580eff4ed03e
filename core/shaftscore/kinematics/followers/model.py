"""What a follower is to a profile: where its roller's centre stands and which way it moves.

Frame: the *station frame*, a plan view in mm with the axis of the stack at the origin, the station
line along +x (outward), counterclockwise positive, seen from the top. Points are complex (x + iy).
*Lift* is the travel of the roller's centre along its path (a straight line, or an arc about the
pivot), 0 where the output is 0. *Travel* is the unit vector in which the centre moves as lift grows.
A flat face counts as a roller of radius 0 whose centre is the middle of the face.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
"""Real numbers, any shape."""

Points = npt.NDArray[np.complex128]
"""Points or vectors of the plan view, x + iy, mm."""


class FollowerModel(Protocol):
    """A follower over a disc of a given base radius; see the module's text for frame and terms."""

    @property
    def kind(self) -> str:
        """Its kind as in the file format."""
        ...

    @property
    def base_radius_mm(self) -> float:
        """Profile radius where the output is 0, mm."""
        ...

    @property
    def roller_radius_mm(self) -> float:
        """Radius of the roller, mm; 0 for a knife edge or a flat face."""
        ...

    @property
    def is_flat(self) -> bool:
        """Whether a straight face, square to the travel, touches the disc instead of a roller."""
        ...

    def centre(self, lift_mm: Reals) -> Points:
        """Return the centre and its first three derivatives by lift: (n,) -> (4, n), mm, 1, 1/mm, 1/mm²."""
        ...

    def travel(self, lift_mm: Reals) -> Points:
        """Return the unit vector of travel: (n,) -> (n,)."""
        ...
