"""The spur stages of the drive train as wheels: which are made, with which shifts, at which centres.

A stage is made where it is a spur stage (external, internal) and has a module. The *backlash* asked for is
twice the fit clearance of the master's stack: each of the two wheels may sit off its axis by the clearance,
which takes up to 4 c tan 20° = 1.46 c of it, so that the teeth never jam. Without `centre_mm` the centre
distance is the least whole tenth of a millimetre that leaves no tooth undercut; the shifts then give the
backlash exactly at that distance, as they do at one that is given.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, pi

from shaftscore.built.gears import SpurPair, SpurWheel, centre_for, least_shift, share_shift, shift_for
from shaftscore.built.teeth import meshing_pair
from shaftscore.model import Project, Stage

SPUR = ("external", "internal")
"""Kinds of stage that can be made."""

FACE_MODULES = 8.0
"""Width of the teeth in modules where none is given (common practice, no source)."""

LEAST_BACKLASH_MM = 0.05
"""The least backlash asked for, whatever the fit."""

LEAST_TEETH = 6
"""Fewer teeth than this make no involute wheel that runs."""

CENTRE_MM = 0.1
"""Centre distances that follow from the teeth are whole multiples of this, mm."""


@dataclass(frozen=True)
class SpurStage:
    """A spur stage of the train that is made: its number from 1, its record, and its wheels.

    pair: the driver first.
    """

    number: int
    stage: Stage
    pair: SpurPair

    @property
    def is_internal(self) -> bool:
        """Whether the driven wheel is a ring."""
        return self.pair.wheel.internal

    @property
    def face_mm(self) -> float:
        """Width of the teeth, mm."""
        return face_mm(self.stage)


def is_made(stage: Stage) -> bool:
    """Return whether the wheels of a stage are made."""
    return stage.kind in SPUR and stage.module_mm is not None


def face_mm(stage: Stage) -> float:
    """Return the width of the teeth of a stage with a module, mm: as given, or eight modules."""
    if stage.face_mm is not None:
        return stage.face_mm
    assert stage.module_mm is not None, "teeth without a module have no width"
    return FACE_MODULES * stage.module_mm


def backlash_for_mm(clearance_mm: float) -> float:
    """Return the backlash asked for along the working circles, mm, for a fit clearance to each side, mm."""
    return max(2 * clearance_mm, LEAST_BACKLASH_MM)


def spur_stage(project: Project, number: int, centre_mm: float | None = None) -> SpurStage:
    """Return a stage of the drive as wheels; number: from 1.

    centre_mm: its centre distance where its record has none, mm. Raises ValueError where it cannot be made,
    and says why.
    """
    assert project.drive is not None, "a project without a drive has no stages"
    stage = project.drive.stages[number - 1]
    backlash = backlash_for_mm(project.stacks[0].fit_clearance_mm)
    try:
        pair = stage_pair(stage, backlash, stage.centre_mm or centre_mm)
    except ValueError as error:
        raise ValueError(f"stage {number}: {error}") from error
    return SpurStage(number, stage, pair)


def stage_pair(stage: Stage, backlash_mm: float, centre_mm: float | None = None) -> SpurPair:
    """Return the wheels of a stage with a backlash, at a centre distance or the one of its teeth, mm.

    Raises ValueError where they cannot be made.
    """
    own, mate = _unshifted(stage)
    if centre_mm is None:
        centre_mm = _own_centre_mm(own, mate, backlash_mm)
    total = shift_for(own, mate, centre_mm, backlash_mm)
    shifts = share_shift(own.teeth, mate.teeth, total, internal=mate.internal)
    own, mate = (replace(wheel, shift=shift) for wheel, shift in zip((own, mate), shifts, strict=True))
    pair = meshing_pair(own, mate, centre_mm)
    if pair.contact_ratio < 1:
        what = f"a centre distance of {centre_mm:.2f} mm leaves a contact ratio of {pair.contact_ratio:.2f}"
        raise ValueError(f"{what}; more than 1 required")
    return pair


def _unshifted(stage: Stage) -> tuple[SpurWheel, SpurWheel]:
    """Return driver and driven wheel of a stage; raises ValueError where no such wheels are made."""
    assert stage.module_mm is not None, "a stage without a module is not made"
    least = min(stage.driver_teeth, stage.driven_teeth)
    if least < LEAST_TEETH:
        raise ValueError(f"a wheel of {least} teeth is not made; at least {LEAST_TEETH} required")
    internal = stage.kind == "internal"
    if internal and stage.driven_teeth <= stage.driver_teeth:
        raise ValueError("a ring that drives is not made; swap its teeth, or use an external stage")
    driver = SpurWheel(stage.module_mm, stage.driver_teeth)
    return driver, SpurWheel(stage.module_mm, stage.driven_teeth, internal=internal)


@lru_cache(maxsize=64)  # bisected, and asked for again by every part of the drive
def _own_centre_mm(own: SpurWheel, mate: SpurWheel, backlash_mm: float) -> float:
    """Return the centre distance that the teeth give, mm: none is undercut."""
    shifts = [max(least_shift(wheel.teeth), 0.0) for wheel in (own, mate)]
    if mate.internal:
        shifts[1] = shifts[0]
    shifted = [replace(wheel, shift=shift) for wheel, shift in zip((own, mate), shifts, strict=True)]
    centre = centre_for(shifted[0], shifted[1], backlash_mm) / CENTRE_MM
    return round((round(centre) if mate.internal else ceil(centre - 1e-9)) * CENTRE_MM, 6)


def gap_turn(stage: SpurStage, gap_rad: float) -> float:
    """Return by how much the outline of a driven wheel is turned so that a gap is at an angle, radians."""
    return gap_rad if stage.is_internal else gap_rad - pi / stage.pair.wheel.teeth
