"""The test cards: where all lanes of a group rest, what each shows there, what a hand feels on the way."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.bringup.angles import LANES_A_CARD
from shaftscore.judge.report import examine
from shaftscore.make.manual.cards import GroupCard, cards
from shaftscore.model import Lane, Load, Project, Stack
from shaftscore.model.base import replaced
from tests.core.make.exporting.machines import LIFT_MM, OPEN, REST, one_sided
from tests.machines import lane, machine
from tests.samples import sample_report


def only(project: Project) -> GroupCard:
    (card,) = cards(examine(project))
    return card


def shown(card: GroupCard) -> list[tuple[str, ...]]:
    """Return the rows of a card as texts: angle, then level and output of each lane."""
    return [
        (f"{row.angle_deg:.1f}", *(f"{cell.level} {cell.output_mm:.1f}" for cell in row.cells))
        for row in card.rows
    ]


def test_it_looks_at_the_middles_of_the_blocks() -> None:
    card = only(one_sided())
    assert shown(card) == [
        (f"{sum(REST) / 2:.1f}", "closed 0.0"),
        (f"{sum(OPEN) / 2:.1f}", f"open {LIFT_MM:.1f}"),
    ]
    assert [row.cells[0].changed for row in card.rows] == [False, True]
    assert [row.cells[0].share for row in card.rows] == pytest.approx([0.0, 1.0])


def test_a_stack_that_turns_thrice_has_each_place_three_times() -> None:
    """Format section 2: the lanes of a stack with turns = 3 repeat s_lane(3 theta mod 360)."""
    places = [
        ((sum(span) / 2 + 360 * turn) / 3, told)
        for span, told in ((REST, "closed 0.0"), (OPEN, f"open {LIFT_MM:.1f}"))
        for turn in range(3)
    ]
    assert shown(only(one_sided(turns=3))) == [(f"{deg:.1f}", told) for deg, told in sorted(places)]


def test_no_row_is_where_a_lane_of_the_group_moves_and_what_is_left_is_looked_at_by_itself() -> None:
    """Slow rests 100 to 120 and 160 to 420; Fast, three turns, moves over 60 to 80, 100 to 120, 180 to 200...

    Fast is closed while its own angle is 0 to 180 and open at 240 to 300: at master angles 0 to 60, 80 to 100
    and so on every 120 degrees. Slow's short dwell has only Fast's move from 100 to 120 in it: by itself.
    """
    slow = lane("Slow", ("open", 104, 116), ("closed", 160, 420), stack="slow")
    fast = lane("Fast", ("closed", 0, 180), ("open", 240, 300), law="constant-velocity", stack="fast")
    card = only(machine(slow, fast, stacks=(Stack(id="slow"), Stack(id="fast", turns=3))))
    moving = [(60 + 120 * turn, 80 + 120 * turn) for turn in range(3)]
    moving += [(100 + 120 * turn, 120 + 120 * turn) for turn in range(3)]
    assert card.rows
    for row in card.rows:
        assert not any(start < row.angle_deg < end for start, end in [*moving, (60, 104), (116, 160)])
        assert all(cell.level for cell in row.cells)
    assert [
        (one.lane.lane.label, one.angle_deg, one.cell.level)
        for one in card.alone
        if one.lane.lane.id == "slow"
    ] == [("Slow", 110.0, "open")]


@pytest.mark.parametrize(("turn", "at_deg"), [("clockwise", 200.0), ("counterclockwise", 20.0)])
def test_a_rider_is_at_its_level_when_the_place_of_the_disc_comes_to_it(turn: str, at_deg: float) -> None:
    """The disc's place that Host feels at 110° comes a quarter turn later, or sooner, to a rider at −90°."""
    host = lane("Host", ("open", 100, 120), ("closed", 160, 420))
    rider = Lane(id="rider", name="Rider", kind="rider", disc_of="host", station_deg=-90.0)
    card = only(machine(host, rider, turn=turn))
    opened = [row.angle_deg for row in card.rows if row.cells[1].level == "open"]
    assert opened == [pytest.approx(at_deg)]


def test_larger_groups_are_shared_evenly() -> None:
    lanes = [lane(f"Lane {n}", ("open", 100, 120), ("closed", 160, 420)) for n in range(8)]
    found = list(cards(examine(machine(*lanes))))
    assert [len(card.lanes) for card in found] == [4, 4]
    assert LANES_A_CARD == 6


def test_the_torque_is_the_most_on_the_way_from_the_row_above() -> None:
    """By the sum of the lanes' torques every tenth of a degree between the two angles."""
    report = sample_report("tea_blender")
    card = next(card for card in cards(report) if card.title == "Cup")
    assert report.loads is not None
    shaft = report.loads.camshaft
    for row, before in zip(card.rows, [card.rows[-1], *card.rows[:-1]], strict=True):
        angles = np.mod(
            np.arange(before.angle_deg, before.angle_deg + (row.angle_deg - before.angle_deg) % 360, 0.1), 360
        )
        most = max(np.sum([shaft.torque_of(one.lane.id, angles) for one in card.lanes], axis=0))
        assert row.torque_nm == pytest.approx(most, abs=2e-3)


def test_a_lane_without_load_is_named() -> None:
    project = one_sided()
    assert only(project).no_loads == (project.lanes[0],)
    assert only(project).rows[0].torque_nm is None
    loaded = replaced(
        project, lanes=(replaced(project.lanes[0], load=Load(moving_mass_g=20.0, friction_n=1.0)),)
    )
    assert only(loaded).no_loads == ()
