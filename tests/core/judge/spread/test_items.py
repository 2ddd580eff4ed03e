"""The chance of the flow against closed forms."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from shaftscore.judge.report import examine
from shaftscore.judge.spread import Spread
from shaftscore.model import Branch, Channel, Diverter, Flow, Gate, Magazine, Outlet, Project, Reload, Supply
from tests.core.judge.spread.machines import machine, only, phi
from tests.machines import at, gate, lane, within


def spread_of(project: Project) -> Spread:
    found = examine(project).spread
    assert found is not None
    return found


def chance_of(found: Spread, kind: str) -> float:
    return min(rule.chance for rule in found.rules if rule.kind == kind)


def flow(*gates: Gate, rate: float | None = None, to: Any = "tray", headway_s: float = 0.1) -> Flow:
    return Flow(
        supplies=(Supply(id="hopper", rate_per_min=rate),),
        magazines=(Magazine(id="tube", source="hopper", capacity=9, start_count=9),),
        channels=(Channel(id="chute", travel_min_s=0.5, travel_max_s=0.5, headway_s=headway_s, to=to),),
        outlets=(Outlet(id="tray"), Outlet(id="cup")),
        gates=gates,
    )


def single(name: str, **more: Any) -> Gate:
    return Gate(id=f"gate-{name}", state=within(name, 5, 10), source="tube", to="chute", item="bead", **more)


def test_the_open_time_goes_with_the_speed() -> None:
    # Open for 20 + 24 degrees: 44 / 36 s; the item needs 4 % less, so 4 % of speed are there: two sigmas.
    item_s = 44 / 36 / 1.04
    project = machine(
        gate("A", 100, 120), flow=flow(single("a", item_s=item_s)), tolerances=only(speed_percent=6.0)
    )
    found = spread_of(project)
    assert chance_of(found, "release") == pytest.approx(phi(2), abs=4 * sqrt(0.0228 / 10_000))
    assert found.rules[0].smallest_deg == pytest.approx(44 - item_s * 36, abs=1e-4)


def test_a_stream_may_let_out_too_much_too() -> None:
    # Two items of 0.5 s: from 36 to 54 degrees; 44 are open: 8 / 36 slower and 10 / 54 faster.
    project = machine(
        gate("A", 100, 120),
        flow=flow(single("a", mode="stream", items=2, item_s=0.5)),
        tolerances=only(speed_percent=60.0),
    )
    expected = phi((44 / 36 - 1) / 0.2) - phi((44 / 54 - 1) / 0.2)
    assert chance_of(spread_of(project), "release") == pytest.approx(expected, abs=0.016)


def test_headway_goes_with_the_angles_of_both_discs() -> None:
    # B opens 50 degrees after A; both travel alike: 50 degrees less 1.375 s (49.5 degrees) are left.
    project = machine(
        gate("A", 100, 110),
        gate("B", 150, 160),
        flow=flow(single("a"), single("b"), headway_s=1.375),
        tolerances=only(disc_angle_deg=0.9),
    )
    expected = phi(0.5 / (sqrt(2) * 0.3))
    assert chance_of(spread_of(project), "headway") == pytest.approx(expected, abs=4 * sqrt(0.1 / 10_000))


def diverter() -> Diverter:
    branches = (Branch(state=at("flap", "cup"), to="cup"), Branch(state=at("flap", "out"), to="tray"))
    return Diverter(lane="flap", by_state=branches)


def test_a_diverter_waits_for_items_that_are_late() -> None:
    # The item leaves at 88 degrees and travels 0.5 s: 18 degrees. The flap leaves the cup 0.9 degrees
    # later, 5 % of the travel: two sigmas of a tolerance of 7.5 %.
    levels = {"out": 0.0, "cup": 10.0}
    flap = lane(
        "Flap",
        ("cup", 20, 106.9),
        ("out", 130.9, 340),
        levels=levels,
        band_mm=1e-9,
        law="constant-velocity",
    )
    project = machine(
        gate("A", 100, 120), flap, flow=flow(single("a"), to=diverter()), tolerances=only(travel_percent=7.5)
    )
    expected = phi(0.9 / 18 / 0.025)
    assert chance_of(spread_of(project), "diverter") == pytest.approx(expected, abs=4 * sqrt(0.0228 / 10_000))


def test_a_supply_must_keep_up_with_fast_machines() -> None:
    # 6 a minute are drawn, the supply gives 2 % more; its own error and that of the speed have sigmas of 1 %.
    project = machine(
        gate("A", 100, 120),
        flow=flow(single("a"), rate=6.12),
        tolerances=only(speed_percent=3.0, rate_percent=3.0),
    )
    expected = phi(0.02 / sqrt(0.01**2 + (1.02 * 0.01) ** 2))
    found = spread_of(project)
    assert chance_of(found, "stock") == pytest.approx(expected, abs=4 * sqrt(0.073 / 10_000))


def test_a_reload_that_gets_too_short() -> None:
    # Closed (under 1 mm) for 240 degrees between its openings.
    opening = gate("A", 100, 148, 36.0, law="constant-velocity")
    closed = 360 - 48 - 72 + 2 * 3.6
    reload = Reload(state=within("a", 0, 1), item_s=closed / 36 / 1.04)
    project = machine(opening, flow=flow(single("a", reload=reload)), tolerances=only(speed_percent=6.0))
    assert chance_of(spread_of(project), "release") == pytest.approx(phi(2), abs=0.006)


def test_a_gate_that_lets_out_in_passing_fails_in_every_machine() -> None:
    levels = {"shut": 0.0, "half": 7.0, "wide": 12.0}
    one = lane("A", ("half", 100, 130), ("wide", 170, 200), ("shut", 250, 420), levels=levels)
    opening = Gate(id="g", state=within("a", 6.9, 9), source="tube", to="chute", item="bead")
    found = spread_of(machine(one, flow=flow(opening), tolerances=only(profile_mm=0.3)))
    # The fall from 12 passes 9 to 6.9 without a block: that lets a bead out, always.
    assert found.holds is False
    assert chance_of(found, "release") == 0.0
