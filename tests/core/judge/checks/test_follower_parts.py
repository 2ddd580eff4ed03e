"""Parts of followers that cannot be made: what the check says, and that its cure lets the export make them.

Lengths by hand from the records: holes for rods are 0.1 mm larger on every side, 1.2 mm of material about
them are required, a guide's screws are 4 mm from its ends.
"""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine
from shaftscore.make.solids import SolidError
from shaftscore.make.solids.followers import follower_makers
from shaftscore.model import Lane, Print, Project, Stack, TranslatingFlat, TranslatingRoller, replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from tests.follower_machine import lever_lane, slide_lane, straight_lane
from tests.machines import machine


def bad(project: Project) -> list[Finding]:
    return [one for one in examine(project).findings if one.rule == "bad-part"]


def refused(project: Project) -> list[str]:
    """Return why parts of followers are not made."""
    said = []
    for make in follower_makers(solve(project)):
        try:
            make()
        except SolidError as error:
            said.append(str(error))
    return said


def lever(follower: dict[str, Any] | None = None, **parts: Any) -> Lane:
    lane = lever_lane()
    assert lane.parts is not None
    own = replaced(lane.follower, **(follower or {}))
    return replaced(lane, follower=own, parts=replaced(lane.parts, **parts))


def slide(follower: dict[str, Any] | None = None, **parts: Any) -> Lane:
    lane = slide_lane()
    assert lane.parts is not None
    own = replaced(lane.follower, **(follower or {}))
    return replaced(lane, follower=own, parts=replaced(lane.parts, **parts))


KNIFE = TranslatingRoller(
    kind="translating-roller",
    roller_radius_mm=0.0,
    body_width_mm=12.0,
    guide_start_mm=72.0,
    guide_length_mm=30.0,
)

CASES: dict[str, tuple[Lane, str, str]] = {
    # The pivot's rod of 4 mm: 4.2 + 2 * 1.2.
    "narrow": (
        lever({"body_width_mm": 6.0}),
        "A2-L: the bar is 6.0 mm wide at its pivot; at least 6.6 mm required (body width).",
        "Body width 6.6 mm.",
    ),
    # A bearing 624 turns on a screw of 4 mm; the hook's hole has 2 mm: 60 + 2 + 1.2 + 1.
    "hook in the roller": (
        lever(spring_hook_mm=61.0),
        "A2-L: roller and spring hook leave −2.0 mm of material; at least 1.2 mm required.",
        "Spring hook at 64.2 mm.",
    ),
    # Two screws of 3 mm in holes of 3.2 mm, 4 mm from either end, 1.2 mm between them: 8 + 3.2 + 1.2.
    "short guide": (
        slide({"guide_length_mm": 10.0}),
        "A1-K: the guide is 10.0 mm long; at least 12.4 mm required for its screws.",
        "Guide length 12.4 mm.",
    ),
    "hook beyond the output": (
        slide(spring_hook_mm=80.0),
        "A1-S: the spring hook is beyond the output.",
        "Spring hook at: none.",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_what_cannot_be_made_is_said_with_its_cure(case: str) -> None:
    lane, what, cure = CASES[case]
    project = machine(lane)
    (finding, *_) = bad(project)
    said = words(finding, project)
    assert (said.what, said.cure, finding.lanes) == (what, cure, (lane.id,))
    assert refused(project)
    assert finding.cure is not None
    assert finding.cure.edit is not None
    mended = apply_edit(project, finding.cure.edit, **finding.cure.arguments).project
    assert what not in [words(one, mended).what for one in bad(mended)]


def test_a_knife_edge_has_no_parts() -> None:
    lane = slide()
    project = machine(replaced(lane, follower=KNIFE, parts=replaced(lane.parts, arm_mm=80.0)))
    (finding,) = bad(project)
    assert words(finding, project).what.startswith("Slide: a knife edge cannot be made as a part")


@pytest.mark.parametrize(
    ("printer", "part"),
    [
        (Print(hole_mm=2.5), "A2-L: the material about its output"),
        (Print(contour_mm=-2.5), "A2-L: the material about its output"),
        (Print(hole_mm=-2.0), "A2-L: nothing is left of its hole for the roller in a file"),
    ],
)
def test_what_the_printers_corrections_take_away_is_said(printer: Print, part: str) -> None:
    """About the output's hole are 2.4 mm; the hole for the roller's screw has a radius of 2 mm."""
    project = replaced(machine(lever()), print=printer)
    said = [words(one, project).what for one in bad(project)]
    assert any(one.startswith(part) for one in said)
    assert refused(project)


@pytest.mark.parametrize("make", [slide_lane, lever_lane, straight_lane])
def test_sound_followers_are_not_said(make: Any) -> None:
    project = machine(*with_codes([make()]))
    assert bad(project) == []
    assert refused(project) == []


def test_a_flat_face_on_a_slide_is_refused_in_words() -> None:
    """The file format gives a flat face no guide: nothing says where its slide would run."""
    lane = slide()
    flat = TranslatingFlat(kind="translating-flat", face_width_mm=60.0, arm_thickness_mm=5.0)
    project = machine(replaced(lane, follower=flat))
    (finding,) = bad(project)
    assert words(finding, project).what == (
        "Slide: a flat face has no guide in its record, so that no slide is made for it; use a roller, or "
        "describe the follower without parts."
    )
    assert refused(project)


@pytest.mark.parametrize(("output_mm", "count"), [(120.0, 0), (100.0, 1)])
def test_a_guide_link_needs_the_rod_of_the_lever_below(output_mm: float, count: int) -> None:
    """Two straight-line levers on one rod: with other arms the guide link of the upper one has no post."""
    low = replaced(straight_lane(), id="low", name="Low", code="A4")
    high = replaced(straight_lane(parts={"output_arm_mm": output_mm}), id="high", name="High", code="A5")
    project = machine(low, high, stacks=(Stack(id="s", spacer_mm=16.0),))
    said = [words(one, project).what for one in bad(project)]
    assert len([one for one in said if one.startswith("High: it turns on the rod of Low")]) == count
