"""Bevel and worm wheels in the parts list: bought by the dimensions that their stages give."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.wording import degrees, millimetres, plain
from shaftscore.built.gears import BevelFigures, bevel_figures, worm_figures
from shaftscore.layout.gears import face_mm
from shaftscore.model import Project, Stage

Row = tuple[str, ...]


def angled_wheels(project: Project) -> Iterator[Row]:
    """Yield the rows of bevel and worm wheels with a module: they are not made, only dimensioned."""
    stages = () if project.drive is None else project.drive.stages
    stack = project.stacks[0].label
    for number, stage in enumerate(stages, start=1):
        if stage.module_mm is None or stage.kind not in ("bevel", "worm"):
            continue
        make = _bevel if stage.kind == "bevel" else _worm
        for what, size in make(stage, stage.module_mm):
            yield ("", f"{what} of stage {number}", what, stack, "1", size, "", "", "")


def _bevel(stage: Stage, module_mm: float) -> Iterator[tuple[str, str]]:
    angle = _shaft_angle_deg(stage)
    for what, teeth, mate in (
        ("bevel pinion", stage.driver_teeth, stage.driven_teeth),
        ("bevel wheel", stage.driven_teeth, stage.driver_teeth),
    ):
        figures = bevel_figures(module_mm, teeth, mate, angle)
        yield what, _bevel_text(figures, stage, module_mm, teeth)


def _bevel_text(figures: BevelFigures, stage: Stage, module_mm: float, teeth: int) -> str:
    return (
        f"module {plain(module_mm)} mm, {teeth} teeth, face {millimetres(face_mm(stage))}, cone "
        f"{degrees(figures.cone_deg, 2)} (face {degrees(figures.face_cone_deg, 2)}, root "
        f"{degrees(figures.root_cone_deg, 2)}), cone distance {millimetres(figures.distance_mm, 2)}, tip "
        f"diameter {millimetres(2 * figures.tip_mm, 2)}"
    )


def _shaft_angle_deg(stage: Stage) -> float:
    """Return the angle between the shafts of a bevel stage, degrees: 90 unless both of them are level."""
    driver, driven = stage.driver_axis, stage.driven_axis
    if isinstance(driver, float | int) and isinstance(driven, float | int):
        apart = abs(driven - driver)
        # from the crossing of the axes one shaft leads back, against the way in which its end points
        return abs(180 - min(apart, 360 - apart))
    return 90.0


def _worm(stage: Stage, module_mm: float) -> Iterator[tuple[str, str]]:
    worm, wheel = f"{stage.driver_teeth} starts", f"{stage.driven_teeth} teeth"
    module = f"module {plain(module_mm)} mm"
    if stage.lead_angle_deg is None:
        yield "worm", f"{module}, {worm}, lead angle not stated"
        yield (
            "worm wheel",
            f"{module}, {wheel}, reference diameter {plain(module_mm * stage.driven_teeth, 2)} mm",
        )
        return
    figures = worm_figures(module_mm, stage.driver_teeth, stage.driven_teeth, stage.lead_angle_deg)
    yield (
        "worm",
        f"{module}, {worm}, lead angle {degrees(figures.lead_angle_deg)}, diameters: reference "
        f"{millimetres(2 * figures.worm_reference_mm, 2)}, tip {millimetres(2 * figures.worm_tip_mm, 2)}, "
        f"root {millimetres(2 * figures.worm_root_mm, 2)}",
    )
    yield (
        "worm wheel",
        f"{module}, {wheel}, diameters: reference {millimetres(2 * figures.wheel_reference_mm, 2)}, throat "
        f"{millimetres(2 * figures.wheel_throat_mm, 2)}; centre distance {millimetres(figures.centre_mm, 2)}",
    )
