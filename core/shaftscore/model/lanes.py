"""Lanes: what an actuator does, how its follower rides, and the disc that makes it move.

Levels, bands and ranges are of the *output*; followers, forces and discs are of the *roller* side.
Blocks are angles of the lane's own stack.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    Field,
    SerializerFunctionWrapHandler,
    ValidationInfo,
    model_serializer,
    model_validator,
)

from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.base.wording import did_you_mean, plain
from shaftscore.built.bearings import BEARINGS
from shaftscore.built.springs import InstalledSpring, SpringForce, WireSpring, installed_force
from shaftscore.model.base import (
    Contradiction,
    Force,
    Friction,
    Id,
    LengthDeg,
    LevelName,
    Levels,
    Mm,
    Name,
    Percent,
    PositiveForce,
    PositiveMm,
    Record,
    Seconds,
    SignedMm,
    StartDeg,
    TurnedDeg,
)
from shaftscore.model.fit import follower_agrees, kind_agrees, levels_agree, names_agree
from shaftscore.model.letters import Named, ShortText
from shaftscore.model.parts import FollowerParts
from shaftscore.model.parts_fit import parts_agree

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
    """Where a block's start may stand: from earliest_deg forward to latest_deg, degrees.

    latest_deg may pass 360; if it is less than earliest_deg the window runs through 0.
    """

    earliest_deg: StartDeg
    latest_deg: Annotated[float, Field(ge=0, le=720)]

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a window of more than a turn; one that ends before it begins runs through 0."""
        if self.latest_deg > self.earliest_deg + 360:
            most = plain(self.earliest_deg + 360)
            yield "latest_deg", f"must be at most earliest_deg + 360°, {most}°, got {plain(self.latest_deg)}°"


class Block(Record):
    """A dwell at a level from start_deg forward to end_deg, degrees; equal ends are a momentary stop.

    end_deg may pass 360 and then wraps. locked: no edit moves it. window: where arrange may put the start.
    min_length_deg or min_length_s: the shortest that the dwell may become, degrees or seconds. law: of
    the move that leads to this block (the lane's if absent).
    """

    level: LevelName
    start_deg: StartDeg
    end_deg: Annotated[float, Field(ge=0, le=720)]
    locked: bool = False
    window: Window | None = None
    min_length_deg: LengthDeg | None = None
    min_length_s: Seconds | None = None
    law: LawName | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse an end outside the turn after the start, and a least length in two units."""
        if not self.start_deg <= self.end_deg <= self.start_deg + 360 + ANGLE_DEG:
            least, most = plain(self.start_deg), plain(self.start_deg + 360)
            what = f"must be start_deg to start_deg + 360 ({least}° to {most}°), got {plain(self.end_deg)}°"
            yield "end_deg", what
        if self.min_length_deg is not None and self.min_length_s is not None:
            deg, sec = plain(self.min_length_deg), plain(self.min_length_s)
            yield "min_length_s", f"{sec} s is given together with min_length_deg, {deg}°; give one of them"

    @property
    def length_deg(self) -> float:
        """Length of the dwell, degrees, 0 to 360."""
        return min(360.0, self.end_deg - self.start_deg)


class LinkPoint(Record):
    """One row of a linkage's table: roller_mm of travel at the roller give output_mm at the output, mm."""

    roller_mm: Mm
    output_mm: Mm


Link = Annotated[tuple[LinkPoint, ...], Field(min_length=2, max_length=1000)]
"""A linkage whose ratio is not constant, both columns rising."""


class FollowerBase(Record):
    """What all followers share.

    closure: a spring, or a groove that drives both ways. groove_clearance_mm: by which the groove is
    wider than the roller, mm. output_ratio: output mm per roller mm, for followers that move straight.
    link: a table instead. link_play_mm: lost motion where the load reverses, mm. width_mm: contact width,
    mm (disc thickness if absent). body_width_mm: width of the follower's body in plan, mm (twice the
    roller's radius if absent). arm_thickness_mm: of the lever or bar along the shaft, mm; not described if
    absent. washer_mm: between roller and lever, mm. arm_side: of the roller on which the lever is.
    material: of what touches the disc. contact_friction: coefficient, 0.05 for rollers and 0.25 for flat
    faces if absent.
    """

    closure: Literal["spring", "groove"] = "spring"
    groove_clearance_mm: Annotated[float, Field(ge=0, le=5)] = 0.2
    output_ratio: Annotated[float, Field(gt=0, le=100)] = 1.0
    link: Link | None = None
    link_play_mm: Mm = 0.0
    width_mm: PositiveMm | None = None
    body_width_mm: PositiveMm | None = None
    arm_thickness_mm: PositiveMm | None = None
    washer_mm: Mm = 1.0
    arm_side: Literal["above", "below", "both"] = "above"
    material: Named = "steel"
    contact_friction: Friction | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a linkage beside a constant ratio, and one that does not rise from 0."""
        if self.link is None:
            return
        if "output_ratio" in self.model_fields_set:
            yield "output_ratio", f"{plain(self.output_ratio)} is given together with link; give one of them"
        first = self.link[0]
        if first.roller_mm != 0 or first.output_mm != 0:
            told = f"{plain(first.roller_mm)} and {plain(first.output_mm)} mm"
            yield "link[0]", f"must be 0 and 0 mm, where the roller is on the base circle, got {told}"
        for index, (low, high) in enumerate(pairwise(self.link), start=1):
            for key in ("roller_mm", "output_mm"):
                was, now = getattr(low, key), getattr(high, key)
                if now <= was:
                    yield (
                        f"link[{index}].{key}",
                        f"must be over the row before, {plain(was)} mm, got {plain(now)} mm",
                    )


def _tuples(values: Any) -> Any:
    """Return a record's JSON with its lists as the tuples that records hold: they are checked as Python's."""
    if not isinstance(values, dict):
        return values
    return {key: tuple(value) if isinstance(value, list) else value for key, value in values.items()}


def _filled(values: Any) -> Any:
    """Let a bearing that is named set the radius and the width of the roller, where they are not given."""
    name = values.get("bearing") if isinstance(values, dict) else None
    if not isinstance(name, str):
        return values
    size = BEARINGS.get(name)
    if size is None:  # such a record is refused for its bearing, not also for a radius that it lacks
        return {"roller_radius_mm": 1.0, **values}
    return {"roller_radius_mm": size.outer_mm / 2, "width_mm": size.width_mm, **values}


def _without_sizes(made: dict[str, Any]) -> dict[str, Any]:
    """Leave out of a follower's plain values what its bearing sets."""
    if made.get("bearing") is None:
        return made
    return {key: value for key, value in made.items() if key not in ("roller_radius_mm", "width_mm")}


def _bearing_agrees(follower: TranslatingRoller | SwingingRoller) -> Iterator[Contradiction]:
    """Refuse a bearing that no table has, and a radius or a width that is not the bearing's."""
    if follower.bearing is None:
        return
    size = BEARINGS.get(follower.bearing)
    if size is None:
        hint = did_you_mean(follower.bearing, BEARINGS)
        told = f'"{follower.bearing}" is not one of {", ".join(BEARINGS)}'
        yield "bearing", f"{told}; {hint}" if hint else told
        return
    for key, own in (("roller_radius_mm", size.outer_mm / 2), ("width_mm", size.width_mm)):
        value = getattr(follower, key)
        if value != own:
            yield key, f"{plain(value)} mm is given; the bearing {follower.bearing} has {plain(own)} mm"


def _groove_needs_roller(closure: str, roller_radius_mm: float) -> Iterator[Contradiction]:
    if closure == "groove" and roller_radius_mm == 0:
        yield "roller_radius_mm", "must be greater than 0 mm in a groove, got 0 mm"


class TranslatingRoller(FollowerBase):
    """A roller that moves along a straight line past the axis.

    roller_radius_mm: mm; 0 is a knife edge; left out where a bearing is named. bearing: the roller is a
    ball bearing of this name, which sets its radius and its width. offset_mm: of the line of travel from
    the axis, mm, or "auto"; positive puts it on the clockwise side, looking outward. guide_length_mm,
    overhang_mm, guide_friction: of the straight guide, for the locking condition, mm and coefficient.
    guide_start_mm: radius at which the guide begins, mm, for interference.
    """

    kind: Literal["translating-roller"]
    roller_radius_mm: Mm
    bearing: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    offset_mm: SignedMm | Literal["auto"] = 0.0
    guide_length_mm: PositiveMm | None = None
    overhang_mm: Mm | None = None
    guide_friction: Friction = 0.0
    guide_start_mm: Mm | None = None

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, values: Any, info: ValidationInfo) -> Any:
        return _filled(_tuples(values) if info.mode == "json" else values)

    @model_serializer(mode="wrap")
    def _plain_values(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        return _without_sizes(handler(self))

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a knife edge in a groove."""
        yield from super().contradictions()
        yield from _bearing_agrees(self)
        yield from _groove_needs_roller(self.closure, self.roller_radius_mm)


class SwingingRoller(FollowerBase):
    """A roller on an arm about a pivot.

    roller_radius_mm: mm; 0 is a knife edge; left out where a bearing is named. bearing: the roller is a
    ball bearing of this name, which sets its radius and its width. arm_mm: from pivot to roller centre,
    mm. pivot_distance_mm: from the stack's axis to the pivot, mm. pivot_side: where the pivot stands,
    looking outward along the station line. output_arm_mm: arm at which the output is taken, mm (arm_mm if
    absent). pivot_rod_mm: diameter of the pivot's rod, mm.
    """

    kind: Literal["swinging-roller"]
    roller_radius_mm: Mm
    bearing: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    arm_mm: PositiveMm
    pivot_distance_mm: PositiveMm
    pivot_side: Literal["clockwise", "counterclockwise"]
    output_arm_mm: PositiveMm | None = None
    pivot_rod_mm: PositiveMm = 3.0

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, values: Any, info: ValidationInfo) -> Any:
        return _filled(_tuples(values) if info.mode == "json" else values)

    @model_serializer(mode="wrap")
    def _plain_values(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        return _without_sizes(handler(self))

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a ratio, which is for followers that move straight, and a knife edge in a groove."""
        yield from super().contradictions()
        yield from _bearing_agrees(self)
        yield from _groove_needs_roller(self.closure, self.roller_radius_mm)
        if "output_ratio" in self.model_fields_set:
            told = plain(self.output_ratio)
            yield "output_ratio", f"{told} is given; a swinging follower takes its output at output_arm_mm"
        if self.link is not None and self.output_arm_mm is not None:
            told = plain(self.output_arm_mm)
            yield "output_arm_mm", f"{told} mm is given together with link; give one of them"


class TranslatingFlat(FollowerBase):
    """A flat face at right angles to its travel, face_width_mm wide, centred on the station line."""

    kind: Literal["translating-flat"]
    face_width_mm: PositiveMm

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a flat face in a groove."""
        yield from super().contradictions()
        if self.closure == "groove":
            yield "closure", '"groove" needs a roller; a flat face is closed by a spring'


Follower = Annotated[TranslatingRoller | SwingingRoller | TranslatingFlat, Field(discriminator="kind")]
"""Any follower of the file format."""


class Disc(Record):
    """The disc of a lane.

    base_radius_mm: profile radius where the output is 0, mm, or "auto". base_group: lanes that share one
    automatic base radius. thickness_mm: of the disc, mm. material: of the disc. edge_chamfer_mm: on both
    edges of the running rim, mm. groove_depth_mm and rim_mm: depth of a groove and width of the rim
    outside it, mm.
    """

    base_radius_mm: PositiveMm | Literal["auto"] = "auto"
    base_group: Named | None = None
    thickness_mm: PositiveMm = 5.0
    material: Named = "PLA"
    edge_chamfer_mm: Annotated[float, Field(ge=0, le=20)] = 0.4
    groove_depth_mm: PositiveMm = 3.0
    rim_mm: PositiveMm = 4.0

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse chamfers that leave no rim, and a shared automatic base beside a given one."""
        if 2 * self.edge_chamfer_mm >= self.thickness_mm:
            half, told = plain(self.thickness_mm / 2), plain(self.edge_chamfer_mm)
            yield "edge_chamfer_mm", f"must be less than half of thickness_mm, {half} mm, got {told} mm"
        if self.base_group is not None and self.base_radius_mm != "auto":
            told = plain(self.base_radius_mm)
            yield "base_group", f'"{self.base_group}" shares an automatic base; base_radius_mm is {told} mm'


class FrictionCase(Record):
    """The friction of one kind of item, or in one state of the guide.

    name: of the kind of item or state, for people. friction_n: against the movement, N.
    """

    name: Name
    friction_n: PositiveForce


class CoilSpring(Record):
    """A helical spring of round wire, as it is bought and built in.

    kind: pushed together or pulled apart. wire_mm: diameter of the wire, mm. coil_mm: mean diameter of the
    coil, mm. active_coils: count of coils that give. free_mm: length without load, mm. installed_mm: length
    at output 0, mm. ends: of a compression spring. initial_n: initial tension of an extension spring, N.
    ratio: spring travel per travel of the place where the load acts, roller or output. material: of the
    wire.
    """

    kind: Literal["compression", "extension"]
    wire_mm: Annotated[float, Field(gt=0, le=50)]
    coil_mm: PositiveMm
    active_coils: Annotated[float, Field(ge=1, le=1000)]
    free_mm: PositiveMm
    installed_mm: PositiveMm
    ends: Literal["closed", "plain"] = "closed"
    initial_n: PositiveForce = 0.0
    ratio: Annotated[float, Field(gt=0, le=100)] = 1.0
    material: Literal["music-wire", "hard-drawn"] = "music-wire"

    @property
    def installed(self) -> InstalledSpring:
        """The spring in its place, with its forces and stresses at the roller."""
        spring = WireSpring(
            self.kind,
            self.wire_mm,
            self.coil_mm,
            self.active_coils,
            self.free_mm,
            self.ends,
            self.initial_n,
            self.material,
        )
        return InstalledSpring(spring, self.installed_mm, self.ratio)

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a coil that its wire cannot make, a spring that hangs loose, and the other kind's fields."""
        wire, coil = plain(self.wire_mm), plain(self.coil_mm)
        if self.wire_mm >= self.coil_mm:
            yield "wire_mm", f"must be less than coil_mm, {coil} mm, got {wire} mm"
        free, installed = plain(self.free_mm), plain(self.installed_mm)
        if self.kind == "compression":
            if self.installed_mm > self.free_mm:
                yield "installed_mm", f"must be at most free_mm, {free} mm, got {installed} mm"
            if self.initial_n > 0:
                yield "initial_n", f"{plain(self.initial_n)} N is given; it is for extension springs only"
            return
        if self.installed_mm < self.free_mm:
            yield "installed_mm", f"must be at least free_mm, {free} mm, got {installed} mm"
        if "ends" in self.model_fields_set:
            yield "ends", f'"{self.ends}" is given; it is for compression springs only'


class Load(Record):
    """What the follower carries.

    moving_mass_g: g. friction_n: against the movement, N. frictions: by kind of item or state of the guide
    instead; the least and the most count. static_ratio: friction at rest over friction in movement.
    spring_preload_n: of the spring at output 0, N. spring_rate_n_per_mm: by which it grows, N/mm.
    spring_tolerance_percent: by which the spring's force may differ; a described spring has that of EN 15800
    grade 2 where the standard covers it. spring: the spring itself, which gives preload and rate.
    external_n: a steady force towards the disc, N. at: where all that acts, at the roller or at the output.
    """

    moving_mass_g: Annotated[float, Field(ge=0, le=1e6)] = 0.0
    friction_n: PositiveForce = 0.0
    frictions: Annotated[tuple[FrictionCase, ...], Field(max_length=100)] = ()
    static_ratio: Annotated[float, Field(ge=1, le=10)] = 1.3
    spring_preload_n: PositiveForce = 0.0
    spring_rate_n_per_mm: Annotated[float, Field(ge=0, le=1e5)] = 0.0
    spring_tolerance_percent: Percent = 20.0
    spring: CoilSpring | None = None
    external_n: Force = 0.0
    at: Literal["roller", "output"] = "roller"

    @property
    def spring_force(self) -> SpringForce:
        """The force of the spring, typed or described, at the place where the load acts, N."""
        if self.spring is not None:
            return installed_force(self.spring.installed, self.spring_tolerance_percent)
        share = self.spring_tolerance_percent / 100
        return SpringForce(self.spring_preload_n, self.spring_rate_n_per_mm, 0.0, share)

    @property
    def friction_most_name(self) -> str:
        """The name of the case with the most friction; empty where there are no cases."""
        return max(self.frictions, key=lambda case: case.friction_n).name if self.frictions else ""

    @property
    def friction_least_n(self) -> float:
        """The least friction, N."""
        return min((case.friction_n for case in self.frictions), default=self.friction_n)

    @property
    def friction_most_n(self) -> float:
        """The most friction, N."""
        return max((case.friction_n for case in self.frictions), default=self.friction_n)

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse one friction beside several, a case named twice, preload or rate beside a spring."""
        if self.frictions and "friction_n" in self.model_fields_set:
            told = plain(self.friction_n)
            yield "friction_n", f"{told} N is given together with frictions; give one of them"
        names = [case.name for case in self.frictions]
        for index, name in enumerate(names):
            if name in names[:index]:
                yield f"frictions[{index}].name", f'"{name}" is frictions[{names.index(name)}] already'
        if self.spring is not None:
            for key, unit in (("spring_preload_n", "N"), ("spring_rate_n_per_mm", "N/mm")):
                if key in self.model_fields_set:
                    told = plain(getattr(self, key))
                    yield key, f"{told} {unit} is given together with spring; give one of them"


class MotionPoint(Record):
    """One point of a lane whose motion is a table: at theta_deg, degrees, the output is output_mm, mm."""

    theta_deg: StartDeg
    output_mm: Mm


def _sorted(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    return tuple(sorted(blocks, key=lambda block: block.start_deg))


class Lane(Record):
    """One actuator: its levels, its program and the parts that make it move.

    group: lanes that belong together. code: short mark on the disc, given at load where left out. kind:
    disc is the rule; points takes its motion from a table, rider is a second follower on another lane's
    disc, index steps on by its highest level each turn. stack: id, the first if absent. levels: name to
    output, mm. band_mm: how near counts as AT a level, mm. guarded: levels that no move may sweep
    through. blocks: the dwells, sorted by start. law: of its moves. follower: what rides on the disc.
    station_deg: where it stands, degrees counterclockwise from the reference line, seen from the top.
    disc: the disc. load: what it carries. parts: that the follower is made of, if
    described. points: for kind points. disc_of: id of the lane, for kind
    rider. offset_deg: turns the profile alone, degrees, to correct what was measured.
    """

    id: Id
    name: ShortText = ""
    group: ShortText = ""
    code: Annotated[str, Field(pattern=r"^[A-Z]{1,2}[0-9]{1,2}$")] | None = None
    kind: Literal["disc", "points", "rider", "index"] = "disc"
    stack: Id | None = None
    levels: Levels = Field(default={}, validate_default=True)
    band_mm: PositiveMm | None = None
    guarded: Annotated[tuple[LevelName, ...], Field(max_length=64)] = ()
    blocks: Annotated[tuple[Block, ...], Field(max_length=720), AfterValidator(_sorted)] = ()
    law: LawName = "modified-sine"
    follower: Follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0)
    station_deg: TurnedDeg = 0.0
    disc: Disc = Disc()
    load: Load | None = None
    parts: FollowerParts | None = None
    points: Annotated[tuple[MotionPoint, ...], Field(min_length=3, max_length=10000)] | None = None
    disc_of: Id | None = None
    offset_deg: TurnedDeg = 0.0

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse what `shaftscore.model.fit` finds."""
        yield from kind_agrees(self)
        yield from levels_agree(self)
        yield from names_agree(self)
        yield from follower_agrees(self)
        yield from parts_agree(self)

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
    def program_id(self) -> str:
        """Id of the lane whose blocks are its program: its own, for a rider that of the disc it rides on."""
        return self.disc_of or self.id

    @property
    def arm_thickness_mm(self) -> float | None:
        """Thickness of the lever or bar along the shaft, mm: of the follower, or of its parts."""
        if self.follower.arm_thickness_mm is None and self.parts is not None:
            return self.parts.thickness_mm
        return self.follower.arm_thickness_mm

    @property
    def pivot_rod_mm(self) -> float:
        """Diameter of the rod on which a lever turns, mm; 0 for other followers."""
        if not isinstance(self.follower, SwingingRoller):
            return 0.0
        return self.follower.pivot_rod_mm if self.parts is None else self.parts.pivot_rod_mm

    @property
    def has_disc(self) -> bool:
        """Whether the lane has a disc of its own."""
        return self.kind in ("disc", "points")
