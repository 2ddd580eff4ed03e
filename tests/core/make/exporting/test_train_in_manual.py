"""The drive's parts as people read of them: steps of the build manual, and rows of wheels that are bought."""

from __future__ import annotations

from shaftscore.make.drawing.train_texts import hub_step, train_steps
from shaftscore.make.files.angled import angled_wheels
from shaftscore.model import Hub, Stage
from tests.core.make.solids.test_gears import stage as spur
from tests.core.make.solids.test_gears import staged


def test_steps_of_hub_and_pinion() -> None:
    """12 and 72 teeth of 1.5 mm, x 0.298 against undercut: 63.66 mm with 0.2 mm of backlash, so 63.7 mm."""
    project = staged(spur(12, 72), hub=Hub(kind="clamp", bolt_mm=4.0))
    stack = project.stacks[0]
    assert hub_step(project, stack) == (
        "HUB: put the hub on, collar up, its top at z 0, zero mark in line; "
        "tighten the M4 screw across its slit."
    )
    (told,) = train_steps(project, stack)
    assert told.startswith("PINION: put the pinion of stage 1 on the motor’s shaft, 63.70 mm from the axis")
    assert "The teeth then have 0.20 mm of backlash" in told


def test_bevel_and_worm_are_dimensioned() -> None:
    """Figures of tests/published: m 6, 30 and 45 teeth; and m z1 / (2 tan λ) of a worm, by hand."""
    bevel = Stage(driver_teeth=30, driven_teeth=45, kind="bevel", reverses=True, module_mm=6.0, face_mm=40.0)
    worm = Stage(
        driver_teeth=2, driven_teeth=40, kind="worm", reverses=True, module_mm=2.0, lead_angle_deg=11.309932
    )
    rows = [*angled_wheels(staged(bevel, worm, hub=None))]
    assert [(row[1], row[5]) for row in rows] == [
        (
            "bevel pinion of stage 1",
            "module 6 mm, 30 teeth, face 40.0 mm, cone 33.69° (face 35.81°, root 31.04°), "
            "cone distance 162.25 mm, tip diameter 189.98 mm",
        ),
        (
            "bevel wheel of stage 1",
            "module 6 mm, 45 teeth, face 40.0 mm, cone 56.31° (face 58.43°, root 53.66°), "
            "cone distance 162.25 mm, tip diameter 276.66 mm",
        ),
        (
            "worm of stage 2",
            "module 2 mm, 2 starts, lead angle 11.3°, "
            "diameters: reference 20.00 mm, tip 24.00 mm, root 15.00 mm",
        ),
        (
            "worm wheel of stage 2",
            "module 2 mm, 40 teeth, diameters: reference 80.00 mm, throat 84.00 mm; centre distance 50.00 mm",
        ),
    ]
