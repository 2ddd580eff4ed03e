"""Bodies that do not turn with a disc: what stands still, and followers.

A follower is its roller and a strip behind it: along the travel without end, or along the arm to the pivot.
Where its lever is described, each of its parts is a body of its own. Frame and angles: as in
`judge.bodies.parts`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot, radians
from typing import Literal

import numpy as np

from shaftscore.judge.bodies.shapes import FAR_MM, Circle, Shape, StraightStrip
from shaftscore.kinematics.followers import Reals, SwingingRollerModel, lift_alone, lift_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import TranslatingFlat


@dataclass(frozen=True, eq=False)
class Still:
    """Shapes that do not move."""

    shapes: tuple[Shape, ...]
    factor = 0.0

    @property
    def envelope(self) -> tuple[Shape, ...]:
        """Shapes that hold the part at every angle."""
        return self.shapes

    def at(self, _theta_deg: Reals) -> tuple[Shape, ...]:
        """Return the shapes at angles, (n,) degrees."""
        return self.shapes

    @property
    def poses(self) -> tuple[Shape, ...]:
        """The shapes at all lifts."""
        return self.shapes

    def lift_mm(self, theta_deg: Reals) -> Reals:
        """Return the lift at angles: (n,) mm."""
        return np.zeros(len(theta_deg))

    @property
    def turning_deg(self) -> Reals:
        """Angles between which the lift only rises or falls, (k,) degrees."""
        return np.zeros(0)

    def turned(self, by_deg: float) -> Still:
        """Return the same at a station `by_deg` further on."""
        factor = complex(np.exp(1j * radians(by_deg)))
        return Still(tuple(_turned(shape, factor) for shape in self.shapes))


POSES = 17
"""Lifts over its whole travel at which a follower is held against what stands still."""

Piece = Literal["whole", "roller", "lever", "screw"]
"""A part of a follower: all of it, or the one named."""


@dataclass(frozen=True, eq=False)
class MovingFollower:
    """A follower: its profile (for the model and its station) and the motion that it really makes.

    piece: which part of it, whole if it is all of it. screw_mm: radius of the head of its screw, mm.
    lever_mm: from the pivot to the output of a lever that is made as a part, mm; 0 where none is.
    """

    profile: Profile
    motion: LaneMotion
    station_deg: float
    piece: Piece = "whole"
    screw_mm: float = 0.0
    lever_mm: float = 0.0

    @cached_property
    def _station(self) -> complex:
        return complex(np.exp(1j * radians(self.station_deg)))

    @property
    def half_mm(self) -> float:
        """Half the width of the body, mm."""
        follower = self.profile.follower
        if follower.body_width_mm is not None:
            return follower.body_width_mm / 2
        if isinstance(follower, TranslatingFlat):
            return follower.face_width_mm / 2
        return follower.roller_radius_mm

    @property
    def factor(self) -> float:
        """How far any point of the body moves at most, by mm of lift."""
        model = self.profile.model
        return self.reach_mm / model.arm_mm if isinstance(model, SwingingRollerModel) else 1.0

    @property
    def reach_mm(self) -> float:
        """How far an arm's body reaches from its pivot, mm."""
        model = self.profile.model
        assert isinstance(model, SwingingRollerModel)
        end = model.roller_radius_mm if self.piece != "lever" else max(model.roller_radius_mm, self.half_mm)
        near = max(model.arm_mm + max(end, self.screw_mm), hypot(model.arm_mm, self.half_mm))
        return max(near, self.lever_mm + self.half_mm) if self.piece == "lever" else near

    def lift_mm(self, theta_deg: Reals) -> Reals:
        """Return the lift at angles: (n,) mm."""
        return np.asarray(lift_of(self.profile.follower, self.motion.at(theta_deg))[0])

    @cached_property
    def turning_deg(self) -> Reals:
        """Angles between which the lift only rises or falls, (k,) degrees."""
        ends = [
            segment.start_deg
            + segment.length_deg * (np.zeros(1) if segment.curve is None else segment.curve.runs)
            for segment in self.motion.segments
        ]
        return np.concatenate(ends)

    @cached_property
    def lifts_mm(self) -> Reals:
        """Lifts from the least to the greatest, in even steps, (POSES,) mm."""
        return even_lifts(self.lift_mm(self.turning_deg))

    @cached_property
    def poses(self) -> tuple[Shape, ...]:
        """The shapes at `lifts_mm`."""
        return self.at_lift(self.lifts_mm)

    def at(self, theta_deg: Reals) -> tuple[Shape, ...]:
        """Return roller (or face) and strip at angles, (n,) degrees."""
        return self.at_lift(self.lift_mm(theta_deg))

    def at_lift(self, lift_mm: Reals) -> tuple[Shape, ...]:
        """Return roller (or face) and strip at lifts, (n,) mm."""
        centre = self.profile.model.centre(lift_mm)[0] * self._station
        if self.piece == "screw":
            return (Circle(centre, self.screw_mm),)
        follower, model = self.profile.follower, self.profile.model
        if isinstance(model, SwingingRollerModel):
            arm = model.pivot * self._station - centre
            length = max(model.arm_mm, self.lever_mm if self.piece == "lever" else 0.0)
            centre = centre - arm * (length / model.arm_mm - 1)
            strip = StraightStrip(centre, arm / model.arm_mm, length, self.half_mm)
        else:
            strip = StraightStrip(centre, np.full(len(centre), self._station), FAR_MM, self.half_mm)
        if self.piece == "lever":  # about the roller's axle, or from the flat face on
            flat = isinstance(follower, TranslatingFlat)
            return (strip,) if flat else (strip, Circle(centre, self.half_mm))
        if isinstance(follower, TranslatingFlat):
            face = StraightStrip(centre, strip.along, 0.0, follower.face_width_mm / 2)
            return (face,) if self.piece == "roller" else (strip, face)
        roller = Circle(centre, model.roller_radius_mm)
        return (roller,) if self.piece == "roller" else (roller, strip)

    @cached_property
    def envelope(self) -> tuple[Shape, ...]:
        """Shapes that hold the follower at every angle."""
        model = self.profile.model
        if isinstance(model, SwingingRollerModel):
            return (Circle(np.array([model.pivot * self._station]), self.reach_mm),)
        lowest = lift_alone(self.profile.follower, np.array([self.motion.lowest_mm]))
        roller = model.roller_radius_mm
        reach = max(roller, self.half_mm if self.piece == "lever" else 0.0, self.screw_mm)
        start = (model.centre(lowest)[0] - reach) * self._station
        wide = max(self.half_mm, reach, getattr(self.profile.follower, "face_width_mm", 0.0) / 2)
        return (StraightStrip(start, np.array([self._station]), FAR_MM, wide),)

    def turned(self, by_deg: float) -> MovingFollower:
        """Return the same at a station `by_deg` further on."""
        return replace(self, station_deg=self.station_deg + by_deg)


def even_lifts(lifts_mm: Reals) -> Reals:
    """Return lifts in even steps from the least of some to the greatest, (POSES,) mm."""
    return np.linspace(float(np.min(lifts_mm)), float(np.max(lifts_mm)), POSES)


def _turned(shape: Shape, factor: complex) -> Shape:
    if isinstance(shape, Circle):
        return Circle(shape.centre * factor, shape.radius_mm)
    return StraightStrip(shape.start * factor, shape.along * factor, shape.length_mm, shape.half_mm)
