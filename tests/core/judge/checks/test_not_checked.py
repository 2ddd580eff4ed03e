"""not-checked: every thing that is not computed is told, and nothing that is."""

from __future__ import annotations

import json
from typing import Any

import pytest

from shaftscore.judge.checks import not_checked
from shaftscore.judge.checks.not_checked import UncheckedField, is_stated
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import examine
from shaftscore.model import Load, Project, Stack, SwingingRoller, TranslatingFlat, read_project, saved_form
from tests.machines import gate, lane, machine

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 5.0}
FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=20.0)
NO_DROP = "It has no motion to check: the law drop "


def two(*, follower: object = None, stack: Stack | None = None, **more: object) -> Project:
    second = gate("B", 200, 230, 40.0, **({"follower": follower} if follower else {}))
    return machine(gate("A", 100, 130, 40.0), second, stacks=(stack or Stack(id="s"),), **more)


def told(project: Project) -> list[str]:
    return [words(f, project).what for f in examine(project).findings if f.rule == "not-checked"]


def test_nothing_is_found_in_a_plain_machine() -> None:
    report = examine(two())
    assert report.findings == ()
    assert report.found_nothing


@pytest.mark.parametrize(
    ("made", "text"),
    [
        (lane("A"), "It has no blocks: there is nothing to check."),
        (lane("A", ("open", 100, 130), ("closed", 140, 450), law="drop", follower=FLAT), NO_DROP),
    ],
)
def test_a_lane_without_motion_is_told(made: Any, text: str) -> None:
    (what,) = told(machine(made))
    assert what.startswith(text)


def test_a_follower_that_cannot_stand_is_an_error() -> None:
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=20.0,
        pivot_distance_mm=60.0,
        pivot_side="clockwise",
    )
    project = machine(
        lane("A", ("low", 0, 100), ("high", 180, 300), levels={"low": 0.0, "high": 60.0}, follower=arm)
    )
    found = [f for f in examine(project).findings if f.rule == "not-checked"]
    if examine(project).solution.lanes["a"].profile is None:
        assert [f.severity for f in found] == [Severity.ERROR]
        assert words(found[0], project).what.startswith("There is no disc to check: ")


def test_a_load_without_a_disc_is_told() -> None:
    belt = lane("A", ("0", 0, 100), ("1", 200, 300), levels={"0": 0.0, "1": 10.0}, kind="index", load=Load())
    assert told(machine(belt)) == ["Its load is not checked: it has no disc."]


# Fields that no check reads yet


def stating(path: str, values: dict[str, Any]) -> Project:
    """Return a machine in which one field is stated, read from its saved form."""
    raw = json.loads(saved_form(two()))
    first = path.split(".", maxsplit=1)[0]
    owner: dict[str, Any] = {"lanes[]": raw["lanes"][0], "stacks[]": raw["stacks"][0]}.get(first, raw)
    owner.update(values)
    return read_project(json.dumps(raw).encode(), path)


DUTY = {"duty": {"hours_per_day": 8.0, "days_per_year": 200.0, "years": 5.0}}


def test_a_field_that_no_check_reads_is_told_where_it_is_stated(monkeypatch: pytest.MonkeyPatch) -> None:
    project = stating("duty", DUTY)
    assert examine(project).findings == ()  # wear is worked out
    monkeypatch.setattr(not_checked, "NOT_CHECKED", {"duty": UncheckedField("wear over the duty")})
    found = [finding for finding in examine(project).findings if finding.rule == "not-checked"]
    assert [finding.severity for finding in found] == [Severity.WARNING]
    assert words(found[0], project).what == "This version does not check wear over the duty."
    assert found[0].lanes == ()


def test_of_several_stacks_the_one_that_states_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    row = {"stacks[].followers_set": UncheckedField("the heights of the followers")}
    monkeypatch.setattr(not_checked, "NOT_CHECKED", row)
    raw = json.loads(saved_form(two()))
    raw["stacks"] += [{"id": "feed", "name": "Feed shaft", "followers_set": "drawing"}]
    project = read_project(json.dumps(raw).encode(), "x")
    assert told(project) == ["This version does not check the heights of the followers of Feed shaft."]


def test_a_lane_that_is_left_out_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    row = {"lanes[].follower.bearing": UncheckedField("the load on the bearing")}
    monkeypatch.setattr(not_checked, "NOT_CHECKED", row)
    project = stating("lanes[]", {"follower": {"kind": "translating-roller", "bearing": "625"}})
    assert told(project) == ["This version does not check the load on the bearing."]
    assert [f.rule for f in examine(project, lanes=["b"]).findings] == []


def test_a_flat_face_has_no_bearing() -> None:
    assert not is_stated(two(follower=FLAT).lanes[1], ["follower", "bearing"])
