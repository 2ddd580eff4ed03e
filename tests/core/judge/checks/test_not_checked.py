"""not-checked: every thing that is not computed is told, and nothing that is."""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import examine
from shaftscore.model import Load, Project, Stack, SwingingRoller, TranslatingFlat
from tests.machines import gate, lane, machine

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 5.0}
FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=20.0)
NO_DROP = "It has no motion to check: the law drop "


def two(*, follower: object = None, stack: Stack | None = None, **more: object) -> Project:
    second = gate("B", 200, 230, 40.0, **({"follower": follower} if follower else {}))
    return machine(gate("A", 100, 130, 40.0), second, stacks=(stack or Stack(id="s"),), **more)


def told(project: Project) -> list[str]:
    return [words(f, project).what for f in examine(project).findings if f.rule == "not-checked"]


def test_a_plain_machine_is_clean() -> None:
    report = examine(two())
    assert report.findings == ()
    assert report.is_clean


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
