from __future__ import annotations

import pytest

from shaftscore_app.document import Document
from shaftscore_app.document.play import Player, next_step_deg, previous_step_deg
from tests.app.conftest import HandClock

STARTS = (0.0, 30.0, 100.0)


@pytest.mark.parametrize(
    ("at", "after", "before"),
    [(0.0, 30.0, 100.0), (29.9, 30.0, 0.0), (30.0, 100.0, 0.0), (100.0, 0.0, 30.0), (359.0, 0.0, 100.0)],
)
def test_steps_go_round_the_turn(at: float, after: float, before: float) -> None:
    assert next_step_deg(STARTS, at) == after
    assert previous_step_deg(STARTS, at) == before


def test_the_shaft_runs_at_the_machines_speed_through_360(document: Document, clock: HandClock) -> None:
    player = Player(document, clock)
    document.set_cursor(350.0)
    player.toggle()
    clock.now += 0.5
    player.tick()
    assert document.cursor_deg == pytest.approx(350 + 0.5 * 6 * 6.0 - 360)
    player.toggle()
    assert not player.is_playing


def test_after_a_pause_the_time_between_does_not_count(document: Document, clock: HandClock) -> None:
    player = Player(document, clock)
    player.toggle()
    player.toggle()
    clock.now += 100.0
    player.toggle()
    clock.now += 1.0
    player.tick()
    assert document.cursor_deg == pytest.approx(36.0)
    player.pause()


def test_with_reduced_motion_play_goes_step_by_step(document: Document, clock: HandClock) -> None:
    player = Player(document, clock)
    player.reduce_motion = True
    player.toggle()
    seen = []
    for _ in range(20):
        clock.now += 0.25
        player.tick()
        seen.append(document.cursor_deg)
    assert sorted(set(seen)) == [0.0, 30.0, 60.0, 90.0, 120.0, 150.0]
    player.pause()


@pytest.mark.parametrize(("cost_ms", "pace_ms"), [(1.0, 33), (6.6, 33), (12.0, 60), (300.0, 100)])
def test_play_takes_a_fifth_of_a_processor(
    document: Document, clock: HandClock, cost_ms: float, pace_ms: int
) -> None:
    """What a tick costs comes to a fifth of the time between two, within 10 to 30 ticks a second."""
    worked = HandClock()
    player = Player(document, clock, work=worked)
    player.toggle()
    for _ in range(3):
        worked.now += cost_ms / 1000.0
        player.tick()
    assert player.tick_ms == pace_ms
    player.pause()
