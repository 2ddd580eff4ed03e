"""The drivers and wheels of intermittent stages in the assembly, with the pins, which are bought."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Mapping

from shaftscore.layout.stacks import stages_of, step_placements
from shaftscore.layout.stepping import GenevaStepStage
from shaftscore.make.assembly.body import SectionedBody, outline_area, prism
from shaftscore.make.assembly.contacts import PairContact
from shaftscore.make.assembly.others import BoughtBody, PartGroup, StackPlace
from shaftscore.model import Project
from shaftscore.stack import turn_sign
from shaftscore.stack.paths import circle

ROUND_MM = 5e-5
"""Chord error of a pin: far less than what is judged."""


def step_groups(project: Project, places: Mapping[str, StackPlace]) -> Iterator[PartGroup]:
    """Yield driver, with its pin, and wheel of each stage; places: of stacks, where they are known.

    A wheel looks the same after each turn of the driver, and is followed with it. Where the places are not
    known, driver and wheel have theirs against one another.
    """
    for stage in stages_of(project):
        place = places.get(stage.driving.id, StackPlace())
        driver, wheel = step_placements(project, stage, place.at, place.bottom_mm)
        follows, stack = stage.driving.id, stage.driving.id
        if isinstance(stage, GenevaStepStage):
            pin = BoughtBody(
                f"pin of {stage.driven.label}", _pin(project, stage), driver.bottom_mm, driver.course
            )
            contacts = {frozenset((driver.instance, pin.name)): PairContact("sliding")}
            yield PartGroup([driver], [pin], contacts, follows, stack=stack)
        else:
            contacts = {frozenset((driver.instance, wheel.instance)): PairContact("meshing")}
            yield PartGroup([driver], (), contacts, follows, stack=stack)
        yield PartGroup([wheel], (), {}, follows, stack=stack)


def stepped_places(project: Project) -> dict[str, StackPlace]:
    """Return the places of the stacks that intermittent stages join to the first of them, without a frame."""
    stages = stages_of(project)
    roots = [stage.driving for stage in stages if stage.driving.steps_from is None]
    found = {stack.id: StackPlace() for stack in roots[:1]}
    for _ in stages:
        for stage in stages:
            if stage.driving.id in found:
                found[stage.driven.id] = StackPlace(found[stage.driving.id].at + stage.offset)
    return found


def _pin(project: Project, stage: GenevaStepStage) -> SectionedBody:
    """Return the pin: through the plate and as far as the locking disc reaches."""
    at = cmath.rect(stage.shape.crank_mm, stage.pin_rad(turn_sign(project, stage.driving)))
    area = outline_area(circle(stage.shape.pin_mm / 2, at).flattened(ROUND_MM))
    low, high = sorted((0.0, stage.outward * stage.driver_high_mm))
    return prism(area, low, high)
