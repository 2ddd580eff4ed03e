"""Sheets of what was seen, the log-book and the home angle; sightings when lanes and levels change."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import (
    add_note,
    change_note,
    delete_lane,
    delete_note,
    forget,
    set_home,
    set_kind,
    set_levels,
    start_sheet,
    tick,
)
from shaftscore.model import Project
from tests.core.edits.machines import lane, machine

DAY = "2026-03-14"


def seen(project: Project) -> list[tuple[float, dict[str, object]]]:
    """Return what the newest sheet holds."""
    return [(check.angle_deg, dict(check.seen)) for check in project.bring_up[-1].checks]


def bench() -> Project:
    """Return two lanes with a sheet in which both were seen."""
    rows = [("closed", 0, 100), ("open", 120, 150), ("half", 200, 210)]
    plain = machine(lane(*rows), lane(*rows, own_id="rose"))
    begun = start_sheet(plain, DAY, {"A1": "R0F3"}).project
    first = tick(begun, 135.0, {"mint": "open", "rose": 7.5}).project
    return tick(first, 20.0, {"mint": "closed", "rose": None}).project


def test_ticks_go_into_the_newest_sheet_in_the_order_of_their_angles() -> None:
    project = bench()
    assert seen(project) == [(20.0, {"mint": "closed", "rose": None}), (135.0, {"mint": "open", "rose": 7.5})]
    again = tick(project, 135.0000001, {"rose": "half"})
    assert seen(again.project)[1] == (135.0, {"mint": "open", "rose": "half"})
    assert again.name == "Tick Rose at 135.0°"
    newer = start_sheet(project, "2026-03-15").project
    assert seen(tick(newer, 0.0, {"mint": "open"}).project) == [(0.0, {"mint": "open"})]
    assert newer.bring_up[0].revisions == {"A1": "R0F3"}


def test_what_was_ticked_is_forgotten_lane_by_lane_or_as_a_whole() -> None:
    project = bench()
    assert seen(forget(project, 20.0, ["rose"]).project)[0] == (20.0, {"mint": "closed"})
    assert [angle for angle, _ in seen(forget(project, 20.0).project)] == [135.0]
    assert forget(project, 300.0).project is project


def test_sightings_follow_a_new_name_and_go_with_their_lane_or_level() -> None:
    project = bench()
    wide = {"closed": 0.0, "wide": 8.0, "half": 4.0}
    renamed = set_levels(project, "mint", wide, renamed={"open": "wide"})
    assert [own["mint"] for _, own in seen(renamed.project)] == ["closed", "wide"]
    assert renamed.name == "Change Mint’s levels"
    gone = delete_lane(project, "rose")
    assert seen(gone.project) == [(20.0, {"mint": "closed"}), (135.0, {"mint": "open"})]
    assert gone.name == "Delete lane Rose with 2 sightings"
    ridden = set_kind(tick(project, 20.0, {"rose": "half"}).project, "mint", "rider", disc_of="rose")
    assert seen(ridden.project)[0] == (20.0, {"mint": "closed", "rose": "half"})


def test_sightings_of_a_level_that_goes_are_dropped_and_counted() -> None:
    project = machine(lane(("closed", 0, 100), ("open", 120, 150)))
    project = set_levels(project, "mint", {"closed": 0.0, "open": 8.0, "spare": 4.0}).project
    project = tick(start_sheet(project, DAY).project, 10.0, {"mint": "spare"}).project
    less = set_levels(project, "mint", {"closed": 0.0, "open": 8.0})
    assert (seen(less.project), less.name) == ([], "Change Mint’s levels with 1 sighting")


@pytest.mark.parametrize(
    ("angle", "what", "words"),
    [
        (10.0, {"mnt": "open"}, 'there is no lane "mnt"; did you mean "mint"'),
        (10.0, {"mint": "opne"}, '"opne" is not one of'),
        (10.0, {"mint": 3000.0}, "at most 2000, got 3000"),
        (float("nan"), {"mint": "open"}, "an angle is a finite number, got nan"),
    ],
)
def test_what_cannot_be_ticked(angle: float, what: dict[str, object], words: str) -> None:
    with pytest.raises(EditError, match=words):
        tick(bench(), angle, what)  # type: ignore[arg-type]


def test_without_a_sheet_nothing_is_ticked() -> None:
    with pytest.raises(EditError, match="begin one first"):
        tick(machine(lane(("closed", 0, 100))), 0.0, {"mint": "closed"})


def test_notes_are_kept_by_date() -> None:
    project = add_note(bench(), DAY, "Printed", {"A1": "R0F3"}).project
    project = add_note(project, "2026-03-01", "Bearings came").project
    assert [note.text for note in project.log] == ["Bearings came", "Printed"]
    moved = change_note(project, 1, "2026-02-01", "Printed twice").project
    assert (moved.log[0].date, moved.log[0].text) == ("2026-02-01", "Printed twice")
    assert [note.text for note in delete_note(moved, 0).project.log] == ["Bearings came"]
    assert change_note(project, 0, "2026-03-01", "Bearings came").project is project
    with pytest.raises(EditError, match="there is no note 3; the log-book has 2"):
        delete_note(project, 2)
    with pytest.raises(EditError, match="not a day of the calendar"):
        add_note(project, "2026-13-01", "x")


def test_home() -> None:
    home = set_home(bench(), 372.5)
    assert (home.project.home.angle_deg, home.name) == (12.5, "Set the home angle to 12.5°")  # type: ignore[union-attr]
    assert set_home(home.project, None).project.home is None
