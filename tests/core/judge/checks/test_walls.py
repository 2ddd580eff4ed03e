"""weak-part and bad-part: every wall, web, floor and dog, at its limit, just under it and missing."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from shaftscore.base.progress import Silent
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import words
from shaftscore.judge.report import examine
from shaftscore.make.exporting.gather import gather
from shaftscore.make.exporting.outcome import FaultyProjectError
from shaftscore.make.solids import disc_part, part_mesh, printed, spacer_part
from shaftscore.model import Disc, Dogs, Pins, Print, Project, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from tests.machines import lane, machine

GROOVE = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
DOGS: dict[str, Any] = {"count": 3, "radius_mm": 10.0, "width_mm": 3.0, "height_mm": 2.0}


def stacked(
    *,
    dogs: dict[str, Any] | None = None,
    pins: dict[str, Any] | None = None,
    disc: dict[str, Any] | None = None,
    follower: Any = None,
    **stack: Any,
) -> Project:
    """Two plain discs on one stack with an 8 mm round bore."""
    bore = {"shape": "round", "across_mm": 8.0}
    keyed = {"dogs": Dogs(**dogs) if dogs else None, "pins": Pins(**pins) if pins else None}
    made = Stack.model_validate({"id": "s", "name": "Main", "bore": bore, **keyed, **stack})
    own = {"disc": Disc(**{"base_radius_mm": 30.0, "thickness_mm": 6.0, **(disc or {})})}
    lanes = [
        lane(name, ("closed", 0, 360), **own, **({"follower": follower} if follower else {})) for name in "AB"
    ]
    return machine(*lanes, stacks=(made,))


def told(project: Project) -> list[str]:
    return [words(f, project).what for f in examine(project).findings if f.rule == "weak-part"]


def bad(project: Project) -> list[str]:
    return [words(f, project).what for f in examine(project).findings if f.rule == "bad-part"]


def test_sound_parts_are_not_told() -> None:
    assert told(stacked(dogs=DOGS, spacer_radius_mm=16.0)) == []


@pytest.mark.parametrize(
    ("project", "text"),
    [
        # Bore radius 4 and clearance 0.2 against pockets from 10 - 3/2 - 0.2 inward to 5.2.
        (
            stacked(dogs={**DOGS, "radius_mm": 7.0}, spacer_radius_mm=16.0),
            "Main: wall between bore and dogs is 1.1 mm; 1.2 mm required.",
        ),
        (
            stacked(dogs={**DOGS, "width_mm": 1.0}, spacer_radius_mm=16.0),
            "Main: dog is 1.0 mm; 1.2 mm required.",
        ),
        (stacked(spacer_radius_mm=5.0), "Main: wall of the spacer is 0.8 mm; 1.2 mm required."),
        (
            stacked(dogs=DOGS, spacer_radius_mm=16.0, spacer_mm=2.5),
            "Main: floor over the spacer’s pockets is 0.3 mm; 0.8 mm required.",
        ),
        (stacked(disc={"base_radius_mm": 5.0}), "Wall between bore and rim is 0.8 mm; 1.2 mm required."),
        (
            stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"thickness_mm": 2.9, "base_radius_mm": 30.0}),
            "Floor over the pockets is 0.7 mm; 0.8 mm required.",
        ),
        (
            stacked(follower=GROOVE, disc={"groove_depth_mm": 5.4}),
            "Floor under the groove is 0.6 mm; 0.8 mm required.",
        ),
        (stacked(follower=GROOVE, disc={"rim_mm": 1.0}), "Rim of the groove is 1.0 mm; 1.2 mm required."),
        (
            stacked(disc={"thickness_mm": 1.2, "edge_chamfer_mm": 0.1}),
            "Floor under the marks is 0.7 mm; 0.8 mm required.",
        ),
    ],
    ids=lambda value: value.split(" is ")[0] if isinstance(value, str) else "",
)
def test_what_is_too_thin_is_told(project: Project, text: str) -> None:
    assert text in told(project)


def test_the_web_beside_the_long_dog_is_told() -> None:
    """Twelve dogs on a circle of 10 mm stand 5.18 mm apart; the long one takes 1.5 mm more on each side."""
    (text,) = told(stacked(dogs={**DOGS, "count": 12}, spacer_radius_mm=16.0))
    assert text.startswith("Main: web between dogs is 0.")
    assert text.endswith("0.8 mm required.")


def test_dogs_that_reach_the_rim_are_told_where_the_radius_is_given_and_avoided_where_it_is_free() -> None:
    found = told(stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"base_radius_mm": 12.5}))
    assert "Wall between dogs and rim is 0.7 mm; 1.2 mm required." in found
    assert told(stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"base_radius_mm": "auto"})) == []


def test_two_stacks_have_findings_of_their_own() -> None:
    one = stacked(spacer_radius_mm=5.0)
    (first,) = one.stacks
    other = Stack.model_validate({**first.model_dump(), "id": "t", "name": "Upper"})
    again = [replaced(lane, id=f"{lane.id}2", stack="t") for lane in one.lanes]
    project = machine(*one.lanes, *again, stacks=(first, other))
    findings = [f for f in examine(project).findings if f.rule == "weak-part"]
    assert len({f.key for f in findings}) == len(findings) == 2


def test_a_pocket_that_leaves_a_thin_floor_is_weak_and_made() -> None:
    """The check warns of a floor of 0.3 mm, and the export makes it."""
    project = stacked(dogs={**DOGS, "height_mm": 5.5}, spacer_radius_mm=16.0)
    assert "Floor over the pockets is 0.3 mm; 0.8 mm required." in told(project)
    assert bad(project) == []
    profile = solve(project).lanes["a"].profile
    assert profile is not None
    for part in (
        disc_part(project, with_codes(project.lanes)[0], profile),
        spacer_part(project, project.stacks[0], 1),
    ):
        assert part_mesh(printed(part)).volume > 0


PINS = {"count": 2, "radius_mm": 10.0, "across_mm": 3.0}

BAD: dict[str, tuple[Project, str]] = {
    # Pockets 5.8 + 0.2 mm deep in 6 mm.
    "a floor": (
        stacked(dogs={**DOGS, "height_mm": 5.8}, spacer_radius_mm=16.0),
        "Floor over the pockets is 0.0 mm; the part cannot be made.",
    ),
    # Pockets begin at 6.2 - 1.5 - 0.2, the hole of 8 mm ends at 4.2; holes are drawn 0.2 mm larger.
    "a wall once it is printed": (
        replaced(stacked(dogs={**DOGS, "radius_mm": 6.2}, spacer_radius_mm=16.0), print=Print(hole_mm=0.2)),
        "Main: wall between bore and dogs is −0.1 mm; the part cannot be made.",
    ),
    "a bore larger than its disc": (
        stacked(disc={"base_radius_mm": 3.0}),
        "Wall between bore and rim is −1.2 mm; the part cannot be made.",
    ),
    "a web beside the long dog": (
        stacked(dogs={**DOGS, "count": 14}, spacer_radius_mm=16.0),
        "Main: web between dogs is −0.4 mm; the part cannot be made.",
    ),
    # Half a spacer of 10 mm ends where the hole for a pin begins.
    "a spacer": (
        stacked(pins={**PINS, "radius_mm": 12.0}, spacer_radius_mm=13.0),
        "Main: wall of the spacer is −0.6 mm; the part cannot be made.",
    ),
    "a web between pins": (
        stacked(pins={**PINS, "count": 9, "radius_mm": 6.6, "across_mm": 4.4}, spacer_radius_mm=16.0),
        "Main: web between pins is −0.1 mm; the part cannot be made.",
    ),
    # The second of three dogs stands at 120 degrees, the second of four pins at 135.
    "a web between pins and dogs": (
        stacked(pins={**PINS, "count": 4, "radius_mm": 10.0}, dogs=DOGS, spacer_radius_mm=16.0),
        "Main: web between pins and dogs is −0.7 mm; the part cannot be made.",
    ),
    # Dogs at 0 and 180 degrees, pins at 45: the long dog's end (8, 1.5) is 4.77 mm from a pin's axis, which
    # leaves 1.67 mm beside a hole of 1.6 and a peg of 1.5 mm; pegs grow by 1.8 mm.
    "a web between pins and pegs once they are printed": (
        replaced(
            stacked(
                pins={**PINS, "count": 4, "radius_mm": 8.0},
                dogs={**DOGS, "count": 2, "radius_mm": 8.0},
                spacer_radius_mm=16.0,
            ),
            print=Print(contour_mm=1.8),
        ),
        "Main: web between pins and dogs is −0.1 mm; the part cannot be made.",
    ),
    # Corners of a square of 8 mm with 0.4 mm on each side are 4.4 * 1.414 = 6.22 mm from the axis.
    "a corner of the bore": (
        stacked(
            bore={"shape": "square", "across_mm": 8.0}, fit_clearance_mm=0.4, disc={"base_radius_mm": 6.15}
        ),
        "Wall between bore and rim is −0.1 mm; the part cannot be made.",
    ),
    "a disc that its pins leave": (
        stacked(pins={**PINS, "radius_mm": 12.0}, spacer_radius_mm=16.0, disc={"base_radius_mm": 13.0}),
        "Wall between pins and rim is −0.6 mm; the part cannot be made.",
    ),
    "a groove that the printer's correction closes": (
        replaced(stacked(follower=GROOVE), print=Print(contour_mm=5.2)),
        "Groove is −0.2 mm; the part cannot be made.",
    ),
    "a contour that the correction takes away": (
        replaced(stacked(disc={"base_radius_mm": 8.0}), print=Print(contour_mm=-8.5)),
        "Least radius of the contour, corrected for the printer, is −0.5 mm; the part cannot be made.",
    ),
    "a coupon": (
        replaced(stacked(), print=Print(hole_mm=1.6)),
        "Main: wall of the fit coupon is −0.1 mm; the part cannot be made.",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_missing_is_an_error_and_stops_the_export(name: str) -> None:
    project, text = BAD[name]
    assert text in bad(project)
    with pytest.raises(FaultyProjectError):
        gather(examine(replaced(project, lanes=with_codes(project.lanes))), ("stl",), Silent(), False)


def test_sound_pins_are_no_finding_and_an_automatic_disc_clears_them() -> None:
    """A wall of 1.2 mm beside pins that reach to 12 + 1.5 + 0.1 mm."""
    project = stacked(
        pins={**PINS, "radius_mm": 12.0}, spacer_radius_mm=16.0, disc={"base_radius_mm": "auto"}
    )
    assert told(project) == bad(project) == []
    profile = examine(project).solution.lanes["a"].profile
    assert profile is not None
    assert profile.base_radius_mm == pytest.approx(14.8, abs=1e-6)
    assert profile.base_governed_by == "pins"


def test_dogs_with_a_clearance_of_their_own_have_wider_pockets() -> None:
    tight = stacked(dogs={**DOGS, "radius_mm": 7.2, "clearance_mm": 0.0}, spacer_radius_mm=16.0)
    wide = stacked(dogs={**DOGS, "radius_mm": 7.2, "clearance_mm": 0.4}, spacer_radius_mm=16.0)
    assert told(tight) == []
    assert told(wide) == ["Main: wall between bore and dogs is 1.1 mm; 1.2 mm required."]
    pockets = []
    for project in (tight, wide):
        dogs = spacer_part(project, project.stacks[0], 1).dogs
        assert dogs is not None
        pockets.append([path.largest_radius for path in dogs.pockets])
        assert dogs.depth_mm == pytest.approx(2.0 + (0.2 if project is tight else 0.4))
    assert np.subtract(*pockets[::-1]) == pytest.approx(0.4, abs=1e-3)


CURED: dict[str, tuple[Project, str]] = {
    "a spacer": (stacked(spacer_radius_mm=5.0), "Spacer radius 5.4 mm."),
    "a floor of a spacer": (stacked(dogs=DOGS, spacer_radius_mm=16.0, spacer_mm=2.5), "Spacer 3 mm thick."),
    # Pockets of 2.2 mm and a floor of 0.8 mm.
    "a floor": (
        stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"thickness_mm": 2.4}),
        "Disc 3 mm thick.",
    ),
    "a missing floor": (
        stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"thickness_mm": 2.2}),
        "Disc 3 mm thick.",
    ),
    "a disc": (stacked(disc={"base_radius_mm": 3.0}), "Base radius 5.4 mm."),
    "a rim": (stacked(follower=GROOVE, disc={"rim_mm": 1.0}), "Rim 1.2 mm."),
    # Marks take 40 % of a thin disc: 0.8 / 0.6 = 1.33 mm.
    "marks": (stacked(disc={"thickness_mm": 1.2, "edge_chamfer_mm": 0.1}), "Disc 1.4 mm thick."),
}


@pytest.mark.parametrize("name", CURED)
def test_the_cure_that_is_named_takes_the_finding_away(name: str) -> None:
    project, text = CURED[name]
    before = [f for f in examine(project).findings if f.rule in ("weak-part", "bad-part")]
    finding = next(f for f in before if f.cure is not None and f.cure.sentence == text)
    assert finding.cure is not None
    made = apply_edit(project, finding.cure.edit or "", **finding.cure.arguments).project
    assert finding.key not in {f.key for f in examine(made).findings}


def test_walls_that_no_one_length_mends_have_no_cure() -> None:
    project = stacked(dogs={**DOGS, "radius_mm": 7.0}, spacer_radius_mm=16.0)
    (finding,) = [f for f in examine(project).findings if f.rule == "weak-part"]
    assert finding.cure is None
