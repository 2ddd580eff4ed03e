"""Lanes: what an actuator does, how its follower rides, and the disc that makes it move.

Levels, bands and ranges are of the *output*; followers, forces and discs are of the *roller* side.
Blocks are angles of the lane's own stack.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field

from core.model.base import (
    Force,
    Friction,
    Id,
    LengthDeg,
    LevelName,
    Levels,
    Mm,
    PositiveForce,
    PositiveMm,
    Record,
    Seconds,
    SignedMm,
    StartDeg,
    TurnedDeg,
)

LawName = Literal[
    "constant-velocity",
    "parabolic",
    "simple-harmonic",
    "double-harmonic",
    "cycloidal",
    "modified-trapezoid",
    "modified-sine",
    "modified-constant-velocity",
    "polynomial-345",
    "polynomial-4567",
    "blend-345",
    "drop",
]
"""A motion law of the file format."""


class Window(Record):
    """Where a block's start may stand, degrees; from earliest forward to latest."""

    earliest_deg: StartDeg
    latest_deg: Annotated[float, Field(ge=0, le=720)]


class Block(Record):
    """A dwell at a level from start_deg forward to end_deg; equal ends are a momentary stop.

    end_deg may pass 360 and then wraps. window: where arrange may put the start. min_length: the
    shortest that the dwell may become. law: of the move that leads to this block (the lane's if
    absent).
    """

    level: LevelName
    start_deg: StartDeg
    end_deg: Annotated[float, Field(ge=0, le=720)]
    locked: bool = False
    window: Window | None = None
    min_length_deg: LengthDeg | None = None
    min_length_s: Seconds | None = None
    law: LawName | None = None

    @property
    def length_deg(self) -> float:
        """Length of the dwell, degrees, 0 to 360."""
        return self.end_deg - self.start_deg


class LinkPoint(Record):
    """One row of a linkage's table: roller travel and the output it gives, mm."""

    roller_mm: Mm
    output_mm: Mm


Link = Annotated[tuple[LinkPoint, ...], Field(min_length=2, max_length=1000)]
"""A linkage whose ratio is not constant, both columns rising."""


class FollowerBase(Record):
    """What all followers share.

    closure: a spring, or a groove that drives both ways with groove_clearance_mm. output_ratio: output
    mm per roller mm. link: a table instead. link_play_mm: lost motion where the load reverses.
    width_mm: contact width (disc thickness if absent). body_width_mm: width of the follower's body in
    plan (twice the roller's radius if absent). contact_friction: 0.05 for rollers, 0.25 for flat
    faces if absent.
    """

    closure: Literal["spring", "groove"] = "spring"
    groove_clearance_mm: Annotated[float, Field(ge=0, le=5)] = 0.2
    output_ratio: Annotated[float, Field(gt=0, le=100)] = 1.0
    link: Link | None = None
    link_play_mm: Mm = 0.0
    width_mm: PositiveMm | None = None
    body_width_mm: PositiveMm | None = None
    material: Annotated[str, Field(min_length=1, max_length=200)] = "steel"
    contact_friction: Friction | None = None


class TranslatingRoller(FollowerBase):
    """A roller that moves along a straight line past the axis at offset_mm.

    A positive offset puts the line of travel on the clockwise side, looking outward. Guide: length
    and overhang for the locking condition, guide_start_mm (radius) for interference.
    """

    kind: Literal["translating-roller"]
    roller_radius_mm: Mm
    offset_mm: SignedMm | Literal["auto"] = 0.0
    guide_length_mm: PositiveMm | None = None
    overhang_mm: Mm | None = None
    guide_friction: Friction = 0.0
    guide_start_mm: Mm | None = None


class SwingingRoller(FollowerBase):
    """A roller on an arm of arm_mm about a pivot at pivot_distance_mm from the axis.

    pivot_side: where the pivot stands, looking outward along the station line. output_arm_mm: arm at
    which the output is taken (arm_mm if absent). pivot_rod_mm: diameter of the pivot's rod.
    """

    kind: Literal["swinging-roller"]
    roller_radius_mm: Mm
    arm_mm: PositiveMm
    pivot_distance_mm: PositiveMm
    pivot_side: Literal["clockwise", "counterclockwise"]
    output_arm_mm: PositiveMm | None = None
    pivot_rod_mm: PositiveMm = 3.0


class TranslatingFlat(FollowerBase):
    """A flat face at right angles to its travel, face_width_mm wide, centred on the station line."""

    kind: Literal["translating-flat"]
    face_width_mm: PositiveMm


Follower = Annotated[TranslatingRoller | SwingingRoller | TranslatingFlat, Field(discriminator="kind")]
"""Any follower of the file format."""


class Disc(Record):
    """The disc of a lane.

    base_radius_mm: profile radius where the output is 0, or "auto". base_group: lanes that share one
    automatic base radius. edge_chamfer_mm: on both edges of the running rim. groove_depth_mm and
    rim_mm: for groove closures.
    """

    base_radius_mm: PositiveMm | Literal["auto"] = "auto"
    base_group: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    thickness_mm: PositiveMm = 5.0
    material: Annotated[str, Field(min_length=1, max_length=200)] = "PLA"
    edge_chamfer_mm: Annotated[float, Field(ge=0, le=20)] = 0.4
    groove_depth_mm: PositiveMm = 3.0
    rim_mm: PositiveMm = 4.0


class Load(Record):
    """What the follower carries: mass g, friction N, spring N and N/mm, external force N."""

    moving_mass_g: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    friction_n: PositiveForce = 0.0
    spring_preload_n: PositiveForce = 0.0
    spring_rate_n_per_mm: Annotated[float, Field(ge=0, le=1e5)] = 0.0
    external_n: Force = 0.0
    at: Literal["roller", "output"] = "roller"


class MotionPoint(Record):
    """One point of a lane whose motion is a table: shaft angle (degrees) and output (mm)."""

    theta_deg: StartDeg
    output_mm: Mm


class Lane(Record):
    """One actuator: its levels, its program and the parts that make it move.

    code: short mark on the disc, given at load where left out. kind: see format. stack: the first if
    absent. levels: name to output. band_mm: how near counts as AT a level. guarded: levels that no
    move may sweep through. points: for kind points. disc_of: for kind rider. offset_deg: turns the
    profile alone, to correct what was measured.
    """

    id: Id
    name: Annotated[str, Field(max_length=200)] = ""
    group: Annotated[str, Field(max_length=200)] = ""
    code: Annotated[str, Field(pattern=r"^[A-Z]{1,2}[0-9]{1,2}$")] | None = None
    kind: Literal["disc", "points", "rider", "index"] = "disc"
    stack: Id | None = None
    levels: Levels = Field(default={}, validate_default=True)
    band_mm: PositiveMm | None = None
    guarded: Annotated[tuple[LevelName, ...], Field(max_length=64)] = ()
    blocks: Annotated[tuple[Block, ...], Field(max_length=720)] = ()
    law: LawName = "modified-sine"
    follower: Follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0)
    station_deg: TurnedDeg = 0.0
    disc: Disc = Disc()
    load: Load | None = None
    points: Annotated[tuple[MotionPoint, ...], Field(min_length=3, max_length=10000)] | None = None
    disc_of: Id | None = None
    offset_deg: TurnedDeg = 0.0

    @property
    def label(self) -> str:
        """The lane as people read it."""
        return self.name or self.id

    @property
    def band(self) -> float:
        """How near to a level counts as AT it, mm (format section 4)."""
        if self.band_mm is not None:
            return self.band_mm
        heights = sorted(self.levels.values())
        steps = [high - low for low, high in pairwise(heights)]
        return min(steps) / 10 if steps and min(steps) > 0 else 0.5

    @property
    def has_disc(self) -> bool:
        """Whether the lane has a disc of its own."""
        return self.kind in ("disc", "points")
