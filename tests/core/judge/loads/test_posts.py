"""weak-part of posts: deflections against a beam solved by finite differences, and what a frame changes."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.built.posts import PostRod
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine
from shaftscore.model import Load, MachineFrame, Project, Rod, Stack, replaced
from tests.follower_machine import lever_lane
from tests.machines import machine

CELLS = 4000
"""Cells of the beam that the closed forms are held against."""


def integrated(rod: PostRod, force_n: float) -> float:
    """Integrate the curvature M / E I twice over fine cells: nothing of the unit load."""
    length = rod.length_mm or rod.at_mm
    x = (np.arange(CELLS) + 0.5) * length / CELLS
    stiff = rod.rod_nmm2 + np.where(x < min(rod.post_mm, rod.at_mm), rod.post_nmm2, 0.0)
    if rod.length_mm is None:
        bending = force_n * (rod.at_mm - x)
    else:
        rest = length - rod.at_mm
        bending = force_n * np.where(x < rod.at_mm, rest * x, rod.at_mm * (length - x)) / length
    slope = np.cumsum(bending / stiff) * length / CELLS
    bent = np.cumsum(slope) * length / CELLS
    if rod.length_mm is None:
        return float(bent[-1])
    return float(bent[-1] * rod.at_mm / length - np.interp(rod.at_mm, x, bent))


@pytest.mark.parametrize(
    "rod",
    [
        PostRod(126.0, 122.0, 2.64e6, 1.8e6),
        PostRod(60.0, 0.0, 2.64e6, 1.8e6),
        PostRod(100.0, 96.0, 2.64e6, 1.8e6, 138.0),
        PostRod(69.0, 0.0, 2.64e6, 1.8e6, 138.0),
    ],
)
def test_deflections_are_those_of_the_integrated_curvature(rod: PostRod) -> None:
    assert rod.deflection_mm(5.6) == pytest.approx(integrated(rod, 5.6), rel=3e-3)


def test_the_middle_of_a_plain_rod_is_the_textbooks() -> None:
    """F L³ / 48 E I between two supports, F L³ / 3 E I of a cantilever: any textbook."""
    assert PostRod(50.0, 0.0, 1e6, 0.0, 100.0).deflection_mm(3.0) == pytest.approx(3.0 * 100**3 / 48e6)
    assert PostRod(50.0, 0.0, 1e6, 0.0).deflection_mm(3.0) == pytest.approx(3.0 * 50**3 / 3e6)


def tall(rod_mm: float = 4.0, frame: MachineFrame | None = None) -> Project:
    """A lever on a rod over a stack that stands 110 mm above its lower bearing, pressed by a stiff spring."""
    lane = lever_lane()
    assert lane.parts is not None
    follower = replaced(lane.follower, pivot_rod_mm=rod_mm)
    parts = replaced(lane.parts, pivot_rod_mm=rod_mm)
    load = Load(moving_mass_g=20.0, spring_preload_n=4.0, spring_rate_n_per_mm=6.0, friction_n=0.2)
    made = replaced(lane, follower=follower, parts=parts, load=load)
    stack = Stack(id="s", rod=Rod(across_mm=8.0, below_mm=112.0, above_mm=24.0))
    return replaced(machine(made, stacks=(stack,)), frame=frame)


def weak(project: Project) -> list[Finding]:
    found = [one for one in examine(project).findings if one.rule == "weak-part"]
    return [one for one in found if "yields" in words(one, project).what]


def test_a_rod_that_is_too_thin_for_its_height_is_said_with_the_one_that_does() -> None:
    project = tall(frame=MachineFrame())
    (finding,) = weak(project)
    assert finding.lanes == ("lever",)
    assert "on a rod between the plates of " in words(finding, project).what
    assert finding.cure is not None
    assert finding.cure.edit == "set_length"
    mended = apply_edit(project, "set_length", **finding.cure.arguments).project
    assert weak(mended) == []


def test_a_post_that_no_frame_holds_is_short_and_stiff() -> None:
    """Without a frame posts stand 8 mm below the lowest disc."""
    assert weak(tall()) == []
