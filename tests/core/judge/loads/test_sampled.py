"""Machines that stick or float: the reduced margins against every angle, by the balance of forces."""

from __future__ import annotations

from time import process_time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import wrap
from shaftscore.judge.loads import LaneLoads, lane_loads
from shaftscore.model import FrictionCase, Lane, Load, replaced
from shaftscore.solution import solve
from tests.core.judge.loads.test_extremes_of_loads import loaded
from tests.core.judge.loads.test_forces import lane, loads_of
from tests.core.judge.loads.test_forces import machine as small
from tests.machines import machine

RNG = np.random.default_rng(7)
SHARES, DRAWS = RNG.uniform(0, 1, 200), RNG.standard_normal(200) / 3


@st.composite
def ranged(draw: st.DrawFn) -> tuple[Lane, float]:
    one, rpm = draw(loaded())
    least = draw(st.sampled_from((0.0, 0.4)))
    most = least + draw(st.sampled_from((0.0, 1.2)))
    cases = (FrictionCase(name="least", friction_n=least), FrictionCase(name="most", friction_n=most))
    load = _with(one.load, cases, draw)
    return replaced(one, load=load), rpm


def _with(load: Load, cases: tuple[FrictionCase, ...], draw: st.DrawFn) -> Load:
    return Load(
        moving_mass_g=load.moving_mass_g,
        spring_preload_n=load.spring_preload_n,
        spring_rate_n_per_mm=load.spring_rate_n_per_mm,
        spring_tolerance_percent=draw(st.sampled_from((0.0, 20.0, 60.0))),
        external_n=load.external_n,
        frictions=cases,
        at=draw(st.sampled_from(("roller", "output"))),
    )


def margins(loads: LaneLoads, share: float, draw: float) -> np.ndarray:
    """Every margin of one machine at many angles, by the balance of forces along the travel, N."""
    load, found = loads.load, []
    friction = load.friction_least_n + share * (load.friction_most_n - load.friction_least_n)
    factor = 1 + draw * load.spring_tolerance_percent / 100
    omega = loads.top_rpm * loads.solved.turns * np.pi / 30
    pieces = loads.profile.nodes.pieces
    for number, piece in enumerate(pieces):
        theta = np.linspace(piece.start_deg, piece.start_deg + piece.length_deg, 203)[1:-1]
        output = loads.profile.motion.at(wrap(theta))
        lift = output if load.at == "output" else loads.profile.at(wrap(theta)).lift
        held = factor * (load.spring_preload_n + load.spring_rate_n_per_mm * lift[0]) + load.external_n
        inertia = load.moving_mass_g / 1000 * lift[2] * omega**2 / 1000
        falls = piece.moving and piece.rise < 0
        rests = not piece.moving and pieces[number - 1].rise < 0
        along = friction * (piece.rise if piece.moving else 0)
        found += [held + along + inertia, held + along]
        if falls or rests:
            found.append(held - load.static_ratio * friction + np.minimum(inertia, 0.0))
    return np.concatenate(found)


@settings(max_examples=25)
@given(ranged())
def test_the_reduced_margins_fail_the_machines_that_fail_somewhere(made: tuple[Lane, float]) -> None:
    one, rpm = made
    project = machine(one, rpm=rpm)
    loads = lane_loads(project, solve(project).lanes["a"])
    if loads is None:
        return
    limits = loads.force_limits
    assert (limits is None) == loads.is_groove
    if limits is None:
        return
    failed = limits.fails(SHARES, DRAWS)
    least = np.array([margins(loads, s, d).min() for s, d in zip(SHARES[:8], DRAWS[:8], strict=True)])
    clear = np.abs(least) > 1e-3 * (1 + loads.load.spring_preload_n)
    assert np.array_equal(failed[:8][clear], (least <= 0)[clear])


def test_ten_thousand_machines_take_little_time_and_fail_by_their_share() -> None:
    """Friction uniform in 0.2 to 1.0 N, at rest 1.3 times, a spring of 1 N: sticks above 0.769 N."""
    cases = (FrictionCase(name="dry", friction_n=0.2), FrictionCase(name="wet", friction_n=1.0))
    load = Load(
        moving_mass_g=50,
        spring_preload_n=1.0,
        spring_rate_n_per_mm=0.1,
        frictions=cases,
        spring_tolerance_percent=0.0,
    )
    limits = loads_of(small(lane(load))).force_limits
    assert limits is not None
    share = np.linspace(0, 1, 10_001)
    start = process_time()
    failed = limits.fails(share, np.zeros(10_001))
    assert process_time() - start < 0.05
    assert len(limits.base_n) < 100
    assert failed.mean() == pytest.approx(1 - (1 / 1.3 - 0.2) / 0.8, abs=2e-4)


@pytest.mark.parametrize("draw", [-1.0, 0.0, 1.0])
def test_the_spring_is_at_its_limit_where_the_draw_is_1(draw: float) -> None:
    """With 20 % a spring of S fails where S (1 + 0.2 draw) <= 1.3 x 0.5 N."""
    for preload, fails in ((0.649, True), (0.651, False)):
        load = Load(spring_preload_n=preload / (1 + 0.2 * draw), friction_n=0.5)
        limits = loads_of(small(lane(load))).force_limits
        assert limits is not None
        assert bool(limits.fails(np.array([0.3]), np.array([draw]))[0]) is fails
