"""What the Load view shows of a spring's reserve over friction: chart and sentences, no widgets.

The reserve has a value on falls and where the follower rests after one. Its curve is that with the most
friction and the spring as stated; the band runs from the weakest spring with the most friction to the
strongest with the least.
"""

from __future__ import annotations

import math

import numpy as np

from shaftscore.base import wording
from shaftscore.judge.loads import LaneLoads, SpringReserve
from shaftscore.judge.loads.cases import CONTACT, LEAST_CONTACT, MOST_CONTACT, LoadCase
from shaftscore.judge.loads.lane import GRID
from shaftscore.judge.loads.spring_cures import needed_springs
from shaftscore.model import Project
from shaftscore_app.views.load_charts import (
    ONLY,
    THETA,
    LoadView,
    band_of,
    closed,
    own_angles,
    range_columns,
    range_legend,
    sticks_text,
    stuck_line,
)
from shaftscore_app.views.load_cycle import ShownCycle, first_place
from shaftscore_app.widgets.chart_layout import Chart, ChartLine, Floats, Mark, Rule

MOST_RESERVE = 20.0
"""A reserve is drawn up to this."""


def reserve_view(project: Project, loads: LaneLoads, at: ShownCycle = ONLY) -> LoadView | None:
    """Show the reserve of one lane's spring in a cycle; None where no spring has a fall to bring about."""
    reserve = loads.reserve
    if reserve is None or not reserve.applies:
        return None
    label = project.lane(loads.solved.lane.id).label
    low, curve, high = (_drawn(loads, reserve, case, at) for case in (LEAST_CONTACT, CONTACT, MOST_CONTACT))
    band, stuck, marks = band_of(low, high, at), stuck_line(loads, curve, at), _marks(loads, reserve, at)
    said = (f"Spring reserve of {label}", *(mark.text for mark in marks), sticks_text(loads, at))
    name = f"{label} at {wording.rpm(loads.top_rpm)}, most friction"
    return LoadView(
        Chart(
            "",
            (*stuck, ChartLine(THETA, closed(curve, at))),
            _rules(reserve),
            marks,
            "; ".join(filter(None, said)),
            band,
        ),
        (("curve", False, name), *range_legend(band, stuck)),
        ", ".join(filter(None, [at.label, _remark(reserve)])),
        tuple(filter(None, (sticks_text(loads, at), force_text(loads), preload_text(loads, reserve)))),
        (("theta_deg", GRID), ("reserve", curve), *range_columns(band, "reserve")),
    )


def _drawn(loads: LaneLoads, reserve: SpringReserve, case: LoadCase, at: ShownCycle) -> Floats:
    """Return the reserve in a case on the grid, (n,), up to what is drawn."""
    values = reserve.reserve_at(own_angles(loads, at), case)
    return np.asarray(np.minimum(np.where(np.isfinite(values), values, np.nan), MOST_RESERVE))


def _rules(reserve: SpringReserve) -> tuple[Rule, ...]:
    """Return the level at which the follower sticks, below that of the reserve required if it is higher."""
    sticks = Rule(1.0, "sticks at 1", "1")
    if reserve.required <= sticks.value:
        return (sticks,)
    required = wording.plain(reserve.required, 2)
    return Rule(reserve.required, f"{required} required", required), sticks


def _marks(loads: LaneLoads, reserve: SpringReserve, at: ShownCycle) -> tuple[Mark, ...]:
    worst = reserve.least
    if worst is None:
        return ()
    here = at.shown(first_place(loads.solved.course, worst.theta_deg))
    if here is None:
        return ()
    text = f"least {wording.number(worst.value, 2)} at {wording.degrees(here)}"
    return (Mark(here, min(worst.value, MOST_RESERVE), text, True),)


def _remark(reserve: SpringReserve) -> str:
    worst = reserve.least
    if worst is None:
        return "nothing holds it back"
    return f"reserve {wording.number(worst.value, 2)}, {wording.number(reserve.required, 2)} required"


def force_text(loads: LaneLoads) -> str:
    """Write the friction and the spring that count, N."""
    load, force = loads.load, loads.load.spring_force
    case = f" ({load.friction_most_name})" if load.friction_most_name else ""
    preload, limit = (wording.newtons(value, 2) for value in (force.preload_n, float(force.limit_n(0.0))))
    return (
        f"Friction {wording.newtons(load.friction_most_n, 2)}{case}, at rest times "
        f"{wording.plain(load.static_ratio, 2)} · spring {preload} ± {limit}, "
        f"{wording.plain(force.rate_n_per_mm, 3)} N/mm."
    )


def preload_text(loads: LaneLoads, reserve: SpringReserve) -> str:
    """Write the least preload that keeps the required reserve, N."""
    preload, _ = needed_springs(loads)
    if not math.isfinite(preload):
        return "No preload keeps the reserve: the tolerance of the spring is all of its force."
    least = wording.plain(wording.up_to(preload, 0.1), 1)
    return f"A reserve of {wording.plain(reserve.required, 2)} needs a preload of {least} N with this rate."
