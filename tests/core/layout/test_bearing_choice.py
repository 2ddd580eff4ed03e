"""What is said of bearings, against the disc that the lane then has."""

from __future__ import annotations

import pytest

from shaftscore.built.bearings import BearingSize
from shaftscore.edits import set_follower
from shaftscore.layout.bearing_choice import BearingChoice, bearing_choices, bearing_fields
from shaftscore.model import Disc, Project, Tolerances
from shaftscore.solution import solve
from tests.follower_machine import follower_machine, lever_lane, slide_lane
from tests.machines import machine


def choices(project: Project, lane_id: str, **more: BearingSize) -> dict[str, BearingChoice]:
    return {one.name: one for one in bearing_choices(project, project.lane(lane_id), more)}


def test_figures_are_those_of_the_lane_with_that_bearing() -> None:
    project = follower_machine()
    found = choices(project, "lever")
    assert [name for name, one in found.items() if one.is_chosen] == ["624"]
    made = solve(set_follower(project, "lever", bearing="MR84").project).lanes["lever"].profile
    assert made is not None
    assert found["MR84"].crest_mm == pytest.approx(made.min_convex_radius_mm)
    assert found["MR84"].pressure_deg == pytest.approx(made.max_pressure_angle_deg)


def test_words_by_widths() -> None:
    """Disc 5 mm, rollers set to ±0.5 mm: 4 mm wide has 0.5 to each side, 5 mm has none, 7 mm is wider."""
    found = choices(machine(lever_lane()), "lever")
    assert found["623"].verdict == "fits"
    assert found["624"].verdict == "no height to spare"
    assert found["608"].verdict == "wider than the disc"
    assert not found["608"].works
    exact = choices(machine(lever_lane(), tolerances=Tolerances(follower_z_mm=0.0)), "lever")
    assert exact["624"].verdict == "fits"


def test_words_by_the_disc() -> None:
    """A small disc: its crest gets sharper as the roller grows, and its flanks are too steep at once."""
    small = machine(slide_lane(disc=Disc(base_radius_mm=12.0, thickness_mm=12.0)))
    assert choices(small, "slide")["MR63"].verdict == "too steep"
    sharp = choices(small, "slide")["6000"]
    assert sharp.verdict == "crest too sharp"
    assert sharp.crest_mm is not None
    assert sharp.crest_mm < 1.0


def test_a_bearing_of_ones_own_goes_by_its_sizes() -> None:
    own = BearingSize(4, 12, 4)
    project = machine(lever_lane())
    found = choices(project, "lever", mine=own)
    assert found["mine"].own
    assert found["mine"].verdict == "fits"
    made = set_follower(project, "lever", **bearing_fields("mine", own)).project
    follower = made.lane("lever").follower
    assert (follower.bearing, follower.roller_radius_mm, follower.width_mm) == (None, 6.0, 4.0)  # type: ignore[union-attr]
    assert choices(made, "lever", mine=own)["mine"].is_chosen
