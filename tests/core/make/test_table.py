"""The table of one lane."""

from __future__ import annotations

import math

import numpy as np
import pytest

from shaftscore.make.table import COLUMNS, TableError, angles, cell, lane_table
from shaftscore.model import Disc, Load, Stack
from tests.machines import gate, lane, machine

PROJECT = machine(gate("A", 100, 130, 40.0, disc=Disc(base_radius_mm=30.0), station_deg=90.0), rpm=6.0)


def table(project: object = PROJECT, every: float = 1.0) -> dict[str, list[str]]:
    heads, *rows = lane_table(project, "a", angles(every))  # type: ignore[arg-type]
    assert heads == list(COLUMNS)
    return dict(zip(heads, map(list, zip(*rows, strict=True)), strict=True))


def numbers(column: list[str]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([float(text) for text in column])


def test_angles_cover_the_turn_once() -> None:
    assert list(angles(90.0)) == [0, 90, 180, 270]
    assert list(angles(100.0)) == [0, 100, 200, 300]
    assert len(angles(0.1)) == 3600
    assert list(angles(400.0)) == [0]


@pytest.mark.parametrize("every", [0.0, -1.0, math.nan, math.inf, 1e-5])
def test_a_step_that_makes_no_table_is_refused(every: float) -> None:
    with pytest.raises(TableError, match="step of"):
        angles(every)


def test_motion_is_of_the_output_in_time() -> None:
    made = table()
    t = numbers(made["theta_deg"]) / 36.0
    s, v, a, j = (numbers(made[head]) for head in COLUMNS[1:5])
    assert (s.min(), s.max()) == (0.0, 10.0)
    fine = table(every=0.01)
    for low, high in (("s_mm", "v_mm_s"), ("v_mm_s", "a_mm_s2")):
        slope = np.gradient(numbers(fine[low]), 0.01 / 36.0)
        assert slope[6100:9900] == pytest.approx(numbers(fine[high])[6100:9900], abs=2e-2)
    assert len(t) == len(v) == len(a) == len(j) == 360


def test_columns_of_the_disc_hold_together() -> None:
    made = table()
    pitch = numbers(made["pitch_x_mm"]) + 1j * numbers(made["pitch_y_mm"])
    profile = numbers(made["profile_x_mm"]) + 1j * numbers(made["profile_y_mm"])
    assert np.abs(pitch - profile) == pytest.approx(5.0)
    assert np.abs(profile) == pytest.approx(numbers(made["radius_mm"]))
    assert np.abs(pitch) == pytest.approx(35.0 + numbers(made["s_mm"]))
    # Clockwise shaft: the follower stands at psi - d theta = 90 + theta in the disc's frame.
    assert np.angle(pitch[30], deg=True) == pytest.approx(120.0)
    rise = numbers(made["pressure_angle_deg"])
    assert rise[80] > 1.0 > -1.0 > rise[150]
    assert float(made["curvature_1_mm"][0]) == pytest.approx(1 / 30)


def test_a_faster_stack_is_read_by_its_own_angle() -> None:
    slow, fast = (
        table(machine(*PROJECT.lanes, rpm=6.0, stacks=(Stack(id="s", turns=turns),))) for turns in (1, 3)
    )
    assert slow["s_mm"] == fast["s_mm"]
    assert numbers(fast["v_mm_s"]) == pytest.approx(3 * numbers(slow["v_mm_s"]), abs=1e-8)


def test_what_is_not_computed_is_empty() -> None:
    made = table()
    assert set(made["contact_n"]) == set(made["torque_nm"]) == {""}


def test_a_load_gives_force_and_torque() -> None:
    load = Load(spring_preload_n=2.0, spring_rate_n_per_mm=0.1)
    gate_a = gate("A", 100, 130, 40.0, disc=Disc(base_radius_mm=30.0), load=load)
    made = table(machine(gate_a, rpm=6.0))
    alpha = np.radians(numbers(made["pressure_angle_deg"]))
    force = 2.0 + 0.1 * numbers(made["s_mm"])
    # No mass, no guide: the spring alone, along the contact normal.
    assert numbers(made["contact_n"]) == pytest.approx(force / np.cos(alpha), abs=1e-6)
    assert numbers(made["torque_nm"])[80] > 0


def test_a_lane_without_motion_has_no_table() -> None:
    clash = machine(lane("A", ("open", 100, 130), ("closed", 120, 300)))
    with pytest.raises(TableError, match="A has no motion"):
        list(lane_table(clash, "a", angles(1.0)))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (-1e-12, "0"),
        (1.5, "1.5"),
        (-2.25, "-2.25"),
        (100.0, "100"),
        (1e-7, "0.0000001"),
        (math.inf, ""),
        (math.nan, ""),
    ],
)
def test_cells(value: float, text: str) -> None:
    assert cell(value) == text
