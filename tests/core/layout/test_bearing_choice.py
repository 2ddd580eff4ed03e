"""What is said of bearings, against the disc that the lane then has."""

from __future__ import annotations

import pytest

from shaftscore.built.bearings import BearingSize
from shaftscore.edits import set_follower
from shaftscore.layout.bearing_choice import BearingChoice, bearing_choices, bearing_fields
from shaftscore.model import Disc, Limits, Project, Tolerances, replaced
from shaftscore.solution import solve
from tests.follower_machine import follower_machine, lever_lane, slide_lane
from tests.machines import block, machine


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


def timed(high: tuple[float, float], base_mm: float, **limits: float) -> Project:
    """Return a slide that is low at 0° and high between two angles, on a thick disc."""
    slide = slide_lane(disc=Disc(base_radius_mm=base_mm, thickness_mm=12.0))
    blocks = (block("low", 0, min(60.0, high[0] - 20)), block("high", *high))
    return machine(replaced(slide, blocks=blocks), limits=Limits(**limits))


def test_a_spring_s_return_has_its_own_limit() -> None:
    """Up 16 mm in 100°, down in 70°: over 30° on the return alone, where 45° is the limit."""
    found = choices(timed((160.0, 290.0), 25.0), "slide")["MR63"]
    assert found.pressure_deg is not None
    assert 30 < found.pressure_deg < 45
    assert found.verdict == "fits"
    strict = choices(timed((160.0, 290.0), 25.0, return_pressure_angle_deg=30.0), "slide")["MR63"]
    assert strict.verdict == "too steep"


def test_a_roller_has_its_margin_in_a_hollow() -> None:
    """Steep moves of 20° about a base of 60 mm: the hollow must be wider than a roller of 3 mm."""
    steep = {"pressure_angle_deg": 60.0, "return_pressure_angle_deg": 60.0}
    loose, tight = (timed((170.0, 340.0), 60.0, **steep, hollow_margin_mm=margin) for margin in (0.5, 20.0))
    assert choices(loose, "slide")["MR63"].verdict == "fits"
    assert choices(tight, "slide")["MR63"].verdict == "hollow too tight"
    made = solve(set_follower(loose, "slide", bearing="MR63").project).lanes["slide"].profile
    assert made is not None
    assert 3.5 < made.min_hollow_radius_mm < 23.0


def test_a_lane_without_blocks_has_no_disc_with_any_bearing() -> None:
    found = choices(machine(replaced(lever_lane(), blocks=())), "lever")
    assert {(one.verdict, one.crest_mm, one.works) for one in found.values()} == {
        ("no disc possible", None, False)
    }


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
