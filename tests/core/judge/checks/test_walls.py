"""weak-part: every wall, web, floor and dog, at its limit and just under it."""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.judge.findings import words
from shaftscore.judge.report import examine
from shaftscore.make.solids import SolidError, disc_part, spacer_part
from shaftscore.model import Disc, Dogs, Project, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from tests.machines import lane, machine

GROOVE = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
DOGS: dict[str, Any] = {"count": 3, "radius_mm": 10.0, "width_mm": 3.0, "height_mm": 2.0}


def stacked(
    *,
    dogs: dict[str, Any] | None = None,
    disc: dict[str, Any] | None = None,
    follower: Any = None,
    **stack: Any,
) -> Project:
    """Two plain discs on one stack with an 8 mm round bore."""
    bore = {"shape": "round", "across_mm": 8.0}
    made = Stack.model_validate(
        {"id": "s", "name": "Main", "bore": bore, "dogs": Dogs(**dogs) if dogs else None, **stack}
    )
    own = {"disc": Disc(**{"base_radius_mm": 30.0, "thickness_mm": 6.0, **(disc or {})})}
    lanes = [
        lane(name, ("closed", 0, 360), **own, **({"follower": follower} if follower else {})) for name in "AB"
    ]
    return machine(*lanes, stacks=(made,))


def told(project: Project) -> list[str]:
    return [words(f, project).what for f in examine(project).findings if f.rule == "weak-part"]


def test_sound_parts_are_not_told() -> None:
    assert told(stacked(dogs=DOGS, spacer_radius_mm=16.0)) == []


@pytest.mark.parametrize(
    ("project", "text"),
    [
        # Bore radius 4 and clearance 0.2 against pockets from 10 - 3/2 - 0.2 inward to 5.2.
        (
            stacked(dogs={**DOGS, "radius_mm": 7.0}, spacer_radius_mm=16.0),
            "Main: wall between bore and dogs is 1.1 mm; 1.2 mm asked.",
        ),
        (
            stacked(dogs={**DOGS, "width_mm": 1.0}, spacer_radius_mm=16.0),
            "Main: dog is 1.0 mm; 1.2 mm asked.",
        ),
        (stacked(spacer_radius_mm=5.0), "Main: wall of the spacer is 0.8 mm; 1.2 mm asked."),
        (
            stacked(dogs=DOGS, spacer_radius_mm=16.0, spacer_mm=2.5),
            "Main: floor over the spacer’s pockets is 0.3 mm; 0.8 mm asked.",
        ),
        (stacked(disc={"base_radius_mm": 5.0}), "Wall between bore and rim is 0.8 mm; 1.2 mm asked."),
        (
            stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"thickness_mm": 2.9, "base_radius_mm": 30.0}),
            "Floor over the pockets is 0.7 mm; 0.8 mm asked.",
        ),
        (
            stacked(follower=GROOVE, disc={"groove_depth_mm": 5.4}),
            "Floor under the groove is 0.6 mm; 0.8 mm asked.",
        ),
        (stacked(follower=GROOVE, disc={"rim_mm": 1.0}), "Rim of the groove is 1.0 mm; 1.2 mm asked."),
        (
            stacked(disc={"thickness_mm": 1.2, "edge_chamfer_mm": 0.1}),
            "Floor under the marks is 0.7 mm; 0.8 mm asked.",
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
    assert text.endswith("0.8 mm asked.")


def test_dogs_that_reach_the_rim_are_told_where_the_radius_is_given_and_avoided_where_it_is_free() -> None:
    found = told(stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"base_radius_mm": 12.5}))
    assert "Wall between dogs and rim is 0.7 mm; 1.2 mm asked." in found
    assert told(stacked(dogs=DOGS, spacer_radius_mm=16.0, disc={"base_radius_mm": "auto"})) == []


def test_two_stacks_have_findings_of_their_own() -> None:
    one = stacked(spacer_radius_mm=5.0)
    (first,) = one.stacks
    other = Stack.model_validate({**first.model_dump(), "id": "t", "name": "Upper"})
    again = [replaced(lane, id=f"{lane.id}2", stack="t") for lane in one.lanes]
    project = machine(*one.lanes, *again, stacks=(first, other))
    findings = [f for f in examine(project).findings if f.rule == "weak-part"]
    assert len({f.key for f in findings}) == len(findings) == 2


def test_whatever_the_body_refuses_for_its_thickness_was_told_before() -> None:
    """A pocket that leaves no floor stops the export: the check has said so."""
    project = stacked(dogs={**DOGS, "height_mm": 5.5}, spacer_radius_mm=16.0)
    assert "Floor over the pockets is 0.3 mm; 0.8 mm asked." in told(project)
    profile = solve(project).lanes["a"].profile
    assert profile is not None
    with pytest.raises(SolidError, match="make the dogs lower"):
        disc_part(project, with_codes(project.lanes)[0], profile)
    with pytest.raises(SolidError, match="make the dogs lower"):
        spacer_part(project, project.stacks[0], 1)
