"""Play, phase, slack and profile told apart, against planted faults and other libraries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.make.asbuilt import estimate, next_rows, read_log, sheet_readings
from shaftscore.make.asbuilt.fitting import fitted, lack_of_fit
from shaftscore.make.asbuilt.reading import falls_at, readings_of
from shaftscore.model import BringUp, BringUpCheck
from shaftscore.model.project import Measured
from shaftscore.solution import Solution
from tests.core.make.asbuilt.test_as_built import LAGS, measured, solved

SOLUTION = solved()


def with_slack(rows: list[Measured], slack: float) -> list[Measured]:
    """Let falls come later by half the slack, and rises earlier, as the output moves when it is turned."""
    made = []
    for row, reading in zip(rows, readings_of(SOLUTION, rows), strict=True):
        falls = falls_at(SOLUTION.lanes[row.lane], reading.at_deg) != (row.sense == "backward")
        angle = wrap(row.angle_deg + (slack if falls else -slack) / 2)
        made.append(Measured(**{**row.model_dump(), "angle_deg": angle}))
    return made


@settings(max_examples=25, deadline=None)
@given(st.fixed_dictionaries({lane: st.floats(-4, 4) for lane in LAGS}), st.floats(0, 3), st.floats(-2, 2))
def test_planted_faults_of_random_machines_come_back(
    lags: dict[str, float], play: float, slack: float
) -> None:
    found = estimate(SOLUTION, with_slack(measured(SOLUTION, lags, play), slack))
    assert {lane.lane_id: lane.lag_deg for lane in found.lanes} == pytest.approx(lags, abs=1e-6)
    assert [lane.slack_deg for lane in found.lanes] == pytest.approx([slack] * 3, abs=1e-6)
    assert found.stacks[0].play_deg == pytest.approx(play, abs=1e-6)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """95 % of 150 intervals, within four standard deviations of such a count (binomial law)."""
    held = 0
    for seed in range(150):
        found = estimate(SOLUTION, measured(SOLUTION, LAGS, 1.2, noise=0.3, seed=seed))
        lag = found.lanes[0]
        held += abs(lag.lag_deg - LAGS[lag.lane_id]) <= (lag.half_deg or 0.0)
    assert abs(held - 142.5) < 4 * (150 * 0.95 * 0.05) ** 0.5


def test_least_squares_agrees_with_scipy() -> None:
    """Outside reference: scipy.stats.linregress on the same points, interval by scipy.stats.t."""
    x = np.array([0.0, 1.0, 2.0, 3.0, 5.0, 8.0])
    y = np.array([0.1, 1.2, 1.9, 3.2, 4.8, 8.3])
    fit, line = fitted(np.column_stack([np.ones(6), x]), y), stats.linregress(x, y)
    assert fit.values == pytest.approx([line.intercept, line.slope])
    assert fit.uncertainties() == pytest.approx([line.intercept_stderr, line.stderr])
    wide = stats.t.ppf(0.975, 4)
    assert fit.half_widths() == pytest.approx([wide * line.intercept_stderr, wide * line.stderr])


def test_lack_of_fit_agrees_with_one_way_analysis_of_variance() -> None:
    """Outside reference: with a mean as the model, lack of fit is scipy.stats.f_oneway."""
    groups = {"a": [1.0, 1.2, 0.9], "b": [1.4, 1.5], "c": [0.7, 0.9, 0.8]}
    names = [name for name, own in groups.items() for _ in own]
    values = np.array([value for own in groups.values() for value in own])
    found = lack_of_fit(names, values - values.mean(), 1)
    assert found is not None
    assert found.chance == pytest.approx(stats.f_oneway(*groups.values()).pvalue)
    assert found.worst == "b"


def test_a_disc_of_another_shape_is_told_from_scatter() -> None:
    rows = [
        row
        for seed in range(3)
        for row in measured(SOLUTION, LAGS, 0.5, noise=0.05, seed=seed, senses=("forward",))
    ]
    assert all(lane.shape is None for lane in estimate(SOLUTION, rows).lanes)
    bent = [
        Measured(**{**row.model_dump(), "angle_deg": wrap(row.angle_deg + 1.0)})
        if (row.lane, row.level, row.edge) == ("left", "open", "begin")
        else row
        for row in rows
    ]
    doubted = {lane.lane_id: lane.shape for lane in estimate(SOLUTION, bent).lanes if lane.shape}
    assert set(doubted) == {"left"}
    shape = doubted["left"]
    assert shape is not None
    assert (shape.level, shape.edge) == ("open", "begin")
    assert shape.late_deg > 0.3


def test_the_next_row_names_what_is_missing_and_narrows_what_it_says() -> None:
    forward = measured(SOLUTION, {"left": 1.0}, 0.8, noise=0.4, senses=("forward",))
    (first,) = next_rows(SOLUTION, estimate(SOLUTION, forward))
    assert first.sense == "backward"
    assert "then the play of the train is known too" in first.sentence
    rows = measured(SOLUTION, {"left": 1.0}, 0.8, noise=1.5)
    found = estimate(SOLUTION, rows)
    (wanted,) = next_rows(SOLUTION, found)
    more = Measured(
        lane=wanted.lane_id,
        level=wanted.level,
        edge=wanted.edge,
        angle_deg=wanted.at_deg,
        sense=wanted.sense,  # type: ignore[arg-type]
    )
    before, after = found.fits[0].fit, estimate(SOLUTION, [*rows, more]).fits[0].fit
    worst = int(np.argmax(np.diag(before.unscaled)))
    assert after.unscaled[worst, worst] < before.unscaled[worst, worst]
    exact = estimate(SOLUTION, measured(SOLUTION, LAGS, 0.8))
    assert next_rows(SOLUTION, exact) == []


# A log


def logged(solution: Solution, lag: float, *, low: float, high: float, step: float = 0.25) -> str:
    """Write a log of the switch of left open, and of its output, of a machine that is late by `lag`."""
    one = solution.lanes["left"]
    assert one.motion is not None
    chance = np.random.default_rng(5)
    angles = np.arange(0.0, 720.0, step)
    output = one.motion.at(np.array(wrap(angles - lag)))[0]
    at = np.abs(output - one.lane.levels["open"]) <= one.lane.band
    volts = np.where(at, high, low) + 0.1 * chance.standard_normal(len(angles))
    lines = [f"{wrap(a):.3f};{v:.3f};{o:.4f}" for a, v, o in zip(angles, volts, output, strict=True)]
    return "\n".join(["angle;Left open;Left mm", *lines])


@pytest.mark.parametrize(("low", "high"), [(0.2, 4.8), (3.3, 0.0)])
def test_a_log_gives_the_edges_with_its_threshold_found(low: float, high: float) -> None:
    """Two turns: begin and end of open from the switch and of both levels from the output, each twice."""
    found = read_log(SOLUTION, logged(SOLUTION, 1.5, low=low, high=high))
    assert abs(found.thresholds[0].value) == pytest.approx((low + high) / 2, abs=0.2)
    assert found.thresholds[0].edges == 4
    assert {row.sense for row in found.rows} == {"forward"}
    lag = estimate(SOLUTION, found.rows).lanes[0]
    assert lag.lag_deg == pytest.approx(1.5, abs=0.1)


def test_a_log_read_backward_has_backward_edges() -> None:
    text = logged(SOLUTION, 1.5, low=0.0, high=5.0)
    head, *lines = text.splitlines()
    rows = read_log(SOLUTION, "\n".join([head, *reversed(lines)])).rows
    assert {row.sense for row in rows} == {"backward"}
    forward = {(r.level, r.edge, round(r.angle_deg)) for r in read_log(SOLUTION, text).rows}
    assert {(r.level, r.edge, round(r.angle_deg)) for r in rows} == forward


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("angle;Lefd open\n1;2\n2;3", 'begins with no lane; did you mean "left"'),
        ("angle;Left\n1;2\n2;3", "needs a level of Left (closed, open), or mm"),
        (
            "angle;Left opne\n1;2\n2;3",
            'needs a level of Left (closed, open), or mm for its output; did you mean "open"',
        ),
        ("turn;Left open\n1;2\n2;3", 'no column "angle"'),
        ("angle;Left open\n1;2\n2;x", "line 3"),
        ("angle;Left open\n1;2\n2;2\n3;2", "no two values that can be told apart"),
        ("angle;Left open", "at least two lines"),
    ],
)
def test_what_is_wrong_with_a_log_is_told(text: str, words: str) -> None:
    with pytest.raises(EditError) as caught:
        read_log(SOLUTION, text)
    assert words in str(caught.value)


def test_a_bring_up_sheet_gives_readings_of_typed_values_and_of_ticks_close_by() -> None:
    one = SOLUTION.lanes["left"]
    assert one.motion is not None
    span = one.states["open"][0].span
    rising = span.start - 3.0
    output = float(one.motion.at(np.array([rising]))[0, 0])
    checks = [
        BringUpCheck(angle_deg=rising + 2.0, seen={"left": output}),
        BringUpCheck(angle_deg=span.end + 1.0, seen={"left": "open"}),
        BringUpCheck(angle_deg=span.end + 30.0, seen={"left": "closed"}),
    ]
    (reading,) = sheet_readings(SOLUTION, BringUp(date="2026-03-14", checks=tuple(checks)))
    assert reading.late_deg == pytest.approx(2.0, abs=1e-3)
    assert not reading.falling
    lag = estimate(SOLUTION, [], [reading]).lanes[0]
    assert lag.lag_deg == pytest.approx(2.0, abs=1e-3)
