"""Where a flat face is left and where contact is lost: start and end of the worst stretch, from the file.

The reference samples the definitions of the file format (section 6) over the turn: a face reaches as far as
|s'| to either side of the station line; float is N <= 0.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from shaftscore.base.angles import ahead
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import QUICK, examine
from shaftscore.judge.report.json_object import report_json
from shaftscore.model import Lane, Load, Project, Stack, TranslatingFlat
from shaftscore.solution import solve
from tests.machines import block, lane, machine

FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=20.0)
PULL = Load(moving_mass_g=100.0, spring_preload_n=2.0, spring_rate_n_per_mm=0.5)


def up_and_down(**more: object) -> Lane:
    """A rise in 60 degrees from 60, and a fall in 50 from 270; both cycloidal."""
    blocks = (block("closed", 320, 420), block("open", 120, 270))
    return lane("A", *blocks, law="cycloidal", disc={"base_radius_mm": 40.0}, **more)


def one_of(project: Project, rule: str) -> Finding:
    (found,) = (one for one in examine(project, stage=QUICK).findings if one.rule == rule)
    return found


def stretches(theta: npt.NDArray[np.float64], over: npt.NDArray[np.bool_]) -> list[tuple[float, float]]:
    """(start, end) of the stretches in which a sampled flag holds; none of them runs through 0 here."""
    edges = np.flatnonzero(np.diff(np.r_[False, over, False].astype(int)))
    return [(float(theta[a]), float(theta[b - 1])) for a, b in zip(edges[::2], edges[1::2], strict=True)]


@pytest.mark.parametrize("turns", [1, 3])
def test_a_narrow_face_is_told_where_it_is_left(turns: int) -> None:
    """Cycloidal: s' = (h / beta)(1 - cos 2 pi x); the fall, in 50 degrees, is the worse."""
    project = machine(up_and_down(follower=FLAT), stacks=(Stack(id="s", turns=turns),))
    finding = one_of(project, "face-width")
    x = np.linspace(0.0, 1.0, 200_001)
    slope = 10.0 / np.radians(50.0) * (1 - np.cos(2 * np.pi * x))
    ((start, end),) = stretches(270.0 + 50.0 * x, 2 * slope > 20.0)
    assert (finding.start_deg, finding.end_deg) == pytest.approx((start / turns, end / turns), abs=1e-3)
    assert "Also in 1 other stretch of the turn." in words(finding, project).what


def test_a_face_left_in_one_stretch_counts_no_others() -> None:
    """2 s' is 4 h / beta at most: 38.2 mm in the rise, 45.8 mm in the fall."""
    wide = FLAT.model_copy(update={"face_width_mm": 40.0})
    finding = one_of(machine(up_and_down(follower=wide)), "face-width")
    assert "Also" not in words(finding, machine(up_and_down(follower=wide))).what
    assert finding.span is not None
    assert finding.span.length > 1.0


@pytest.mark.parametrize(("turns", "rpm"), [(1, 340.0), (3, 140.0)])
def test_float_is_told_where_contact_is_lost(turns: int, rpm: float) -> None:
    project = machine(up_and_down(load=PULL), rpm=rpm, stacks=(Stack(id="s", turns=turns),))
    finding = one_of(project, "float")
    motion = solve(project).lanes["a"].motion
    assert motion is not None
    theta = np.linspace(0.0, 360.0, 720_001)[:-1]
    s, _, a, _ = motion.at(theta)
    omega = 2 * np.pi * rpm * turns / 60
    force = PULL.spring_preload_n + PULL.spring_rate_n_per_mm * s + 0.1 * a * omega**2 / 1000
    lost = stretches(theta, force <= 0)
    assert finding.start_deg is not None
    assert finding.end_deg is not None
    squared = np.where(a < 0, (2.0 + 0.5 * s) / np.where(a < 0, -a, 1.0), np.inf)
    worst = theta[int(np.argmin(squared))]
    ((start, end),) = [pair for pair in lost if pair[0] <= worst <= pair[1]]
    assert (finding.start_deg, finding.end_deg) == pytest.approx((start / turns, end / turns), abs=2e-3)
    said = words(finding, project).what
    assert ("Also in 1 other stretch" in said) == (len(lost) == 2)
    assert ("Also" in said) == (len(lost) > 1)


def test_a_spring_that_does_not_hold_at_rest_is_told_over_the_dwell() -> None:
    """1 N of preload, 3 N pulling outward: F = 0.5 s - 2 is under 0 up to s = 4 mm, at rest already."""
    load = Load(spring_preload_n=1.0, spring_rate_n_per_mm=0.5, external_n=-3.0, moving_mass_g=10.0)
    finding = one_of(machine(up_and_down(load=load), rpm=1.0), "float")
    motion = solve(machine(up_and_down(load=load), rpm=1.0)).lanes["a"].motion
    assert motion is not None
    low, high = motion.crossings(4.0)
    assert finding.start_deg == pytest.approx(high, abs=0.02)
    assert finding.end_deg == pytest.approx(low, abs=0.02)


@pytest.mark.parametrize("preload", [0.0, 0.5, 2.0])
@pytest.mark.parametrize("law", ["cycloidal", "modified-trapezoid", "parabolic", "polynomial-4567"])
def test_neither_is_null_nor_a_single_point_in_check_json(law: str, preload: float) -> None:
    floats = up_and_down(load=PULL.model_copy(update={"spring_preload_n": preload}))
    left = up_and_down(follower=FLAT).model_copy(update={"id": "b", "law": law})
    project = machine(floats.model_copy(update={"law": law}), left, rpm=600.0)
    told = report_json(examine(project, stage=QUICK))["findings"]
    found = {one["rule"]: one for one in told if one["rule"] in ("face-width", "float")}
    assert set(found) == {"face-width", "float"}
    for one in found.values():
        assert ahead(one["start_deg"], one["end_deg"]) > 0.5, one


def test_the_stretches_of_a_face_are_apart() -> None:
    """What lies between two stretches is not over: the ends are where |s'| meets half the face."""
    project = machine(up_and_down(follower=FLAT))
    finding = one_of(project, "face-width")
    motion = solve(project).lanes["a"].motion
    assert motion is not None
    assert finding.span is not None
    ends = np.array([finding.span.start, finding.span.end])
    assert np.abs(motion.at(ends)[1]) == pytest.approx([10.0, 10.0], abs=1e-6)
    for early, late in pairwise(ends):
        assert np.all(np.abs(motion.at(np.linspace(early, late, 100))[1]) >= 10.0 - 1e-6)
