"""What the Load view shows: charts and sentences made of the report's loads, no widgets.

Torque of all lanes at the master shaft against what the drive allows, and the contact force of one lane with
its range from the least to the most friction and spring (`reserve_charts` has the spring's reserve). Angles
are master angles in the cycle shown; a lane whose stack turns k times a cycle shows its curve k times.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import Arcs, wrap
from shaftscore.judge.loads import LaneLoads, MachineLoads, spring_for, springs_drive
from shaftscore.judge.loads import drive as train
from shaftscore.judge.loads.camshaft import Camshaft
from shaftscore.judge.loads.cases import LEAST_CONTACT, MOST_CONTACT, TORQUE
from shaftscore.judge.loads.course import geared_at
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.lane import GRID
from shaftscore.judge.loads.long_round import LongCamshaft
from shaftscore.model import CrankSource, Drive, Project
from shaftscore.model.rounds import CYCLE
from shaftscore_app.views.load_cycle import ShownCycle, first_place
from shaftscore_app.widgets.chart_layout import Chart, ChartBand, ChartLine, Floats, Mark, Rule

MOST_STRETCHES = 3
"""So many stretches in which springs drive are written out."""

LOST = "contact is lost at 0 N"

RANGE = "least to most friction and spring"

LOCKED = "A guide locks its follower, which no torque moves; the findings say where."

ONLY = ShownCycle()
"""The cycle of a machine that repeats with each."""

THETA = np.append(GRID, 360.0)
"""Angles of the curves: one turn, both ends."""


@dataclass(frozen=True, eq=False)
class LoadView:
    """A chart with its head and foot.

    legend: (colour token, dashed, name) of each curve. remark: the figure that matters most. foot: all
    others, one sentence an entry. table: columns by heading, for copying.
    """

    chart: Chart
    legend: tuple[tuple[str, bool, str], ...]
    remark: str
    foot: tuple[str, ...]
    table: tuple[tuple[str, Floats], ...]


def closed(values: Floats, at: ShownCycle = ONLY) -> Floats:
    """Return a curve to the end of the turn: with its first value, or where others follow with its last."""
    return np.append(values, values[-1] if at.cycles > 1 else values[0])


def torque_view(loads: MachineLoads, at: ShownCycle = ONLY, *, hurried: bool = False) -> LoadView | None:
    """Show the torque at the master shaft; None where no lane has a load.

    at: the cycle shown. hurried: take the peak of the drawn curve, as while a block is held, and not the
    exact one.
    """
    shaft, drive = loads.camshaft, loads.drive
    peak = shaft.drawn_peak if hurried else shaft.peak
    if peak is None:
        return None
    greatest = max(shaft.by_lane, key=lambda key: float(np.max(shaft.by_lane[key])))
    name = loads.project.lane(greatest).label
    shares = _shares(shaft, at)
    total = shaft.total if at.cycles == CYCLE else np.sum(list(shares.values()), axis=0)
    lines = (
        ChartLine(THETA, closed(_finite(shares[greatest]), at), "l0-edge", 1.0, filled=True),
        ChartLine(THETA, closed(_finite(total), at)),
    )
    locked = not (math.isfinite(peak.value) and np.all(np.isfinite(shaft.total)))
    used = peak.value / train.allowed_torque_nm(drive) if drive else math.nan
    remark = "locked" if locked else f"{wording.percent(100 * used)} used" if drive else "no drive given"
    legend = (("curve", False, "Sum"), ("l0-edge", False, name))
    said = LOCKED if locked else f"Peak torque {_spoken(peak.value)} at {at.words(peak.theta_deg)}"
    summary = f"{said}, {wording.percent(100 * used)} of allowed" if drive and not locked else said
    return LoadView(
        Chart("N·m", lines, _allowed(drive), () if locked else _torque_marks(shaft, peak, at), summary),
        legend + ((("text", True, "Allowed"),) if drive else ()),
        ", ".join(filter(None, [at.label, remark])),
        (LOCKED,) if locked else (*_elsewhere(peak, at), _figures(loads), *_overrun(loads, at)),
        (
            ("theta_deg", GRID),
            ("sum_nm", total),
            *((f"{key}_nm", share) for key, share in shares.items()),
        ),
    )


def _shares(shaft: Camshaft, at: ShownCycle) -> Mapping[str, Floats]:
    """Return the torque of each lane in the cycle shown, (n,) N·m."""
    if at.cycles == CYCLE:
        return shaft.by_lane
    return {lane_id: shaft.torque_of(lane_id, at.circle) for lane_id in shaft.by_lane}


def _elsewhere(peak: Extreme, at: ShownCycle) -> tuple[str, ...]:
    """Describe the peak where it is in another cycle than the one shown."""
    if at.shown(peak.theta_deg) is not None:
        return ()
    return (f"Peak {wording.newton_metres(peak.value)} at {at.words(peak.theta_deg)}.",)


def _spoken(nm: float) -> str:
    return wording.newton_metres(nm).replace("N·m", "newton metres")


def _allowed(drive: Drive | None) -> tuple[Rule, ...]:
    if drive is None:
        return ()
    source = "Hand" if isinstance(drive.source, CrankSource) else "Motor"
    given, allowed = train.given_torque_nm(drive), train.allowed_torque_nm(drive)
    text = (
        f"{source} {wording.newton_metres(given)} ÷ reserve {wording.plain(drive.torque_reserve, 2)}"
        f" = {wording.newton_metres(allowed)}"
    )
    return (Rule(allowed, text, f"allowed {wording.newton_metres(allowed)}"),)


def _torque_marks(shaft: Camshaft, peak: Extreme, at: ShownCycle) -> tuple[Mark, ...]:
    """Return the marks of peak and least torque, as far as they are in the cycle shown."""
    marks, lowest = [], shaft.lowest
    here, low = at.shown(peak.theta_deg), at.shown(lowest.theta_deg)
    if here is not None:
        text = f"peak {wording.newton_metres(peak.value)} at {wording.degrees(here)}"
        marks.append(Mark(here, peak.value, text))
    if low is not None and round(lowest.value, 2) < 0:
        text = f"springs drive, {wording.newton_metres(lowest.value)} at {wording.degrees(low)}"
        marks.append(Mark(low, lowest.value, text, hollow=True, quiet=True))
    return tuple(marks)


def _figures(loads: MachineLoads) -> str:
    shaft, drive = loads.camshaft, loads.drive
    start = f"start from rest {wording.newton_metres(shaft.start_nm)}"
    if drive is not None:
        start += f" of {wording.newton_metres(train.starting_torque_nm(drive))}"
    mean, rms = wording.number(shaft.mean_nm, 2), wording.newton_metres(shaft.rms_nm)
    return f"{wording.number(shaft.energy_j, 2)} J a turn · mean {mean}, RMS {rms} · {start}"


def _overrun(loads: MachineLoads, at: ShownCycle) -> tuple[str, ...]:
    """Describe where springs run the shaft on, and whether the train lets them."""
    driven, drive = springs_drive(loads.camshaft), loads.drive
    if driven.is_empty or round(loads.camshaft.lowest.value, 2) == 0:
        return ()
    where = stretches(driven, at)
    if drive is None:
        return (f"Springs run the shaft on: {where}.",)
    if not train.can_overrun(drive):
        return (f"Springs push the shaft on, the worm holds it: {where}.",)
    return (f"Springs can run the shaft on through the backlash of the train: {where}.",)


def cycles_of(shaft: Camshaft, cycles: Fraction) -> Fraction:
    """Return the cycles of the round that a torque is over; cycles: of a round that is not long."""
    return Fraction(shaft.cycles) if isinstance(shaft, LongCamshaft) else cycles


def stretches(arcs: Arcs, at: ShownCycle = ONLY) -> str:
    """Write the longest stretches of a set on the circle of a round, in order, and count the others."""
    longest = sorted(arcs, key=lambda part: -part.length)[:MOST_STRETCHES]
    parts = [at.stretch_words(part) for part in sorted(longest, key=lambda part: part.start)]
    rest = len(arcs.spans) - len(parts)
    return ", ".join(parts) + (f" and {rest} more" if rest else "")


def own_angles(loads: LaneLoads, at: ShownCycle) -> Floats:
    """Return the angles of a lane's stack in the cycle shown, (n,) degrees."""
    return geared_at(loads.solved.course, at.circle)[0]


def contact_view(project: Project, loads: LaneLoads, at: ShownCycle = ONLY) -> LoadView:
    """Show the contact force of one lane in a cycle, at the nominal and at the highest speed."""
    label = project.lane(loads.solved.lane.id).label
    own = own_angles(loads, at)
    speeds = dict.fromkeys((loads.top_rpm, loads.speed_rpm))
    curves = [_finite(loads.forces(own, rpm).contact_n) for rpm in speeds]
    tokens = ("l0-edge", "curve")[-len(curves) :]
    lines = tuple(
        ChartLine(
            THETA, closed(curve, at), token, 1.75 if token == "curve" else 1.25, dashed=token != "curve"
        )
        for curve, token in zip(curves, tokens, strict=True)
    )
    legend = [
        (token, token != "curve", f"{label} at {wording.rpm(rpm)}")
        for token, rpm in zip(tokens, speeds, strict=True)
    ]
    stuck, band = stuck_line(loads, curves[-1], at), contact_band(loads, at)
    marks = _contact_marks(loads, at)
    summary = "; ".join([f"Contact force of {label}", *(mark.text for mark in marks), float_text(loads)])
    heads = [f"contact_n_at_{wording.plain(rpm)}_rpm" for rpm in speeds]
    return LoadView(
        Chart("N", (*stuck, *lines), () if loads.is_groove else (Rule(0.0, LOST),), marks, summary, band),
        (*reversed(legend), *range_legend(band, stuck)),
        ", ".join(filter(None, [at.label, float_text(loads)])),
        tuple(filter(None, (sticks_text(loads, at), _pressure(loads, at), spring_text(loads)))),
        (("theta_deg", GRID), *zip(heads, curves, strict=True), *range_columns(band, "contact_n")),
    )


Bands = tuple[ChartBand, ...]
"""One range, or none."""


def contact_band(loads: LaneLoads, at: ShownCycle) -> Bands:
    """Return the range of the contact force at the highest speed, N; none where the load has no ranges."""
    own = own_angles(loads, at)
    most = TORQUE if loads.is_groove else MOST_CONTACT
    one, other = (
        _finite(loads.forces(own, loads.top_rpm, case=case).contact_n) for case in (LEAST_CONTACT, most)
    )
    return band_of(np.fmin(one, other), np.fmax(one, other), at)


def band_of(low: Floats, high: Floats, at: ShownCycle) -> Bands:
    """Return the range between two curves on the grid, (n,) each; none where they are the same."""
    if np.array_equal(low, high, equal_nan=True):
        return ()
    return (ChartBand(THETA, closed(low, at), closed(high, at)),)


def range_columns(bands: Bands, name: str) -> tuple[tuple[str, Floats], ...]:
    """Return the columns of a range, for copying."""
    return tuple(
        (f"{which}_{name}", values[:-1])
        for band in bands
        for which, values in (("least", band.low), ("most", band.high))
    )


def range_legend(bands: Bands, stuck: tuple[ChartLine, ...]) -> tuple[tuple[str, bool, str], ...]:
    """Return the entries of a range and of where a follower sticks."""
    return (
        *((band.token, False, RANGE) for band in bands),
        *((line.token, False, "sticks") for line in stuck),
    )


def stuck_line(loads: LaneLoads, curve: Floats, at: ShownCycle) -> tuple[ChartLine, ...]:
    """Return a thick line under a curve (n,) on the grid where the follower sticks; none if nowhere."""
    stuck = np.zeros(len(GRID), dtype=bool)
    for arc in loads.sticks or ():
        stuck |= wrap(at.circle - arc.start) <= arc.length
    if not stuck.any():
        return ()
    return (ChartLine(THETA, closed(np.where(stuck, curve, np.nan), at), "error", 5.0),)


def sticks_text(loads: LaneLoads, at: ShownCycle = ONLY) -> str:
    """Write where the follower sticks; empty where it does not."""
    sticks = loads.sticks
    return f"Sticks: {stretches(sticks, at)}." if sticks is not None and not sticks.is_empty else ""


def _finite(values: Floats) -> Floats:
    """Leave out where the follower is locked."""
    return np.where(np.isfinite(values), values, np.nan)


def _contact_marks(loads: LaneLoads, at: ShownCycle) -> tuple[Mark, ...]:
    least = loads.least_contact
    if least is None or not math.isfinite(least.value):
        return ()
    here = at.shown(first_place(loads.solved.course, least.theta_deg))
    if here is None:
        return ()
    text = f"least {wording.newtons(least.value)} at {wording.degrees(here)}"
    return (Mark(here, least.value, text, True),)


def float_text(loads: LaneLoads) -> str:
    """Write up to which speed contact holds."""
    limit = loads.float_speed
    if loads.is_groove:
        return "held by its groove"
    if limit is None or not math.isfinite(limit.value):
        return "holds at every speed"
    return f"holds up to {wording.rpm(limit.value, 0 if limit.value >= 100 else 1)}"


def _pressure(loads: LaneLoads, at: ShownCycle) -> str:
    peak = loads.peak_pressure
    if peak is None:
        return ""
    where = at.words(first_place(loads.solved.course, peak.theta_deg))
    allowed = wording.megapascals(loads.allowed_mpa)
    return f"Contact pressure {wording.megapascals(peak.value)} of {allowed}, at {where}."


def spring_text(loads: LaneLoads) -> str:
    """Write the least spring for the highest speed with the usual margin."""
    advice, load = spring_for(loads, loads.top_rpm), loads.load
    if advice is None:
        return ""
    has = f"it has {wording.newtons(load.spring_force.preload_n)}"
    if advice.preload_n <= load.spring_force.preload_n:
        least = f"a preload of {_up(advice.preload_n, 0.1)} N would do at {wording.rpm(advice.up_to_rpm)}"
        return f"The spring is strong enough: {least} (margin 1.2); {has}."
    need = f"To hold up to {wording.rpm(advice.up_to_rpm)}: preload {_up(advice.preload_n, 0.1)} N"
    if advice.rate_n_per_mm is None:
        return f"{need} ({has}); no rate alone helps."
    rate = f"rate {_up(advice.rate_n_per_mm, 0.01)} N/mm"
    return f"{need} ({has}), or {rate} (it has {wording.plain(load.spring_force.rate_n_per_mm, 3)})."


def _up(value: float, step: float) -> str:
    return wording.plain(wording.up_to(value, step), 2)
