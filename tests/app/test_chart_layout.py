"""A curve is drawn from fewer points, and looks the same; what has no room is not written."""

from __future__ import annotations

import numpy as np

from shaftscore_app.widgets.chart_layout import Chart, ChartBox, Mark, Rule, Scale, sentences, thinned


def test_a_thinned_curve_keeps_its_ends_peaks_and_gaps() -> None:
    theta = np.arange(0.0, 360.05, 0.1)
    values = np.sin(np.radians(7 * theta))
    values[1234] = 5.0
    values[2345] = -4.0
    values[3000] = np.nan
    kept_theta, kept = thinned(theta, values, 600)
    assert len(kept) <= 610
    assert (np.nanmax(kept), np.nanmin(kept)) == (5.0, -4.0)
    assert kept_theta[[0, -1]].tolist() == theta[[0, -1]].tolist()
    assert np.isnan(kept[kept_theta == theta[3000]]).all()
    assert np.all(np.diff(kept_theta) > 0)
    # Between kept points the curve is nowhere farther away than one stretch of it rises.
    drawn = np.interp(theta, kept_theta[np.isfinite(kept)], kept[np.isfinite(kept)])
    plain = np.isfinite(values)
    plain[1200:1270] = plain[2310:2380] = False  # the two single points
    assert np.max(np.abs(drawn - values)[plain]) < 0.2


def test_a_short_curve_stays_as_it_is() -> None:
    theta = np.arange(100.0)
    assert thinned(theta, theta, 600)[1] is theta


def test_places_leave_out_what_is_not_finite() -> None:
    scale = Scale(ChartBox(10.0, 20.0, 360.0, 100.0), 0.0, 10.0)
    places = scale.places(np.array([0.0, 90.0, 180.0]), np.array([0.0, np.inf, 10.0]))
    assert places.tolist() == [[10.0, 120.0], [190.0, 20.0]]


def test_sentences_give_way_where_there_is_no_room() -> None:
    rule = Rule(1.0, "a long sentence about the motor", "brief")
    marks = (Mark(10.0, 0.5, "peak"), Mark(20.0, -0.5, "springs", quiet=True))
    chart = Chart("N·m", (), (rule,), marks, "")

    def written(width: float, height: float) -> tuple[str, ...]:
        return sentences(
            chart, Scale(ChartBox(0.0, 0.0, width, height), -1.0, 1.0), lambda t: 7.0 * len(t), 10.0
        )

    assert written(400.0, 100.0) == (rule.text, "peak", "springs")
    assert written(100.0, 100.0) == ("brief", "peak", "springs")
    assert written(400.0, 45.0) == (rule.text, "peak", "")
    assert written(400.0, 25.0) == ("", "peak", "")
