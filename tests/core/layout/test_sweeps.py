"""Distances of sweeps of many bands, and the nearest place of a stack, by shapely over every pair."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
import shapely

from shaftscore.layout.axes import APART_MM, DIRECTIONS, stack_axes
from shaftscore.layout.reach import disc_reach_mm
from shaftscore.layout.sweeps import SweptBands, swept
from shaftscore.model import Stack, replaced
from shaftscore.solution import solve
from tests.follower_machine import lever_lane
from tests.machines import machine


def least_mm(one: SweptBands, other: SweptBands) -> float:
    """Find the least distance of all pairs of bands."""

    def lines(bands: SweptBands) -> np.ndarray:
        ends = np.stack([bands.start, bands.end], axis=1)
        return shapely.linestrings(np.stack([ends.real, ends.imag], axis=2))

    apart = shapely.distance(lines(one)[:, None], lines(other)[None, :])
    return float((apart - one.radius_mm[:, None] - other.radius_mm).min())


@pytest.mark.parametrize("apart_mm", [0.0, 30.0, 90.0])
def test_the_nearest_of_many_bands_is_found(apart_mm: float) -> None:
    random = np.random.default_rng(11)

    def many(count: int, by: float) -> SweptBands:
        start = random.uniform(-20, 20, count) + 1j * random.uniform(-20, 20, count) + by
        end = start + random.choice([0.0, 1.0, 8.0], count) * np.exp(1j * random.uniform(0, 6.28, count))
        return SweptBands(start, end, random.uniform(0.1, 2.0, count))

    for _ in range(5):
        one, other = many(150, 0.0), many(70, apart_mm)
        assert one.from_bands(other) == pytest.approx(least_mm(one, other), abs=1e-9)


def test_a_stack_is_at_the_nearest_place_that_is_clear() -> None:
    """Every distance of 5 mm and every direction tried in turn."""
    lanes = [
        replaced(lever_lane(), id=f"l{n}", code=f"A{n}", station_deg=50.0 * n, stack="ab"[n % 2])
        for n in range(6)
    ]
    solution = solve(machine(*lanes, stacks=(Stack(id="a"), Stack(id="b"))))
    stacks = solution.project.stacks
    fixed, moved = (swept(solution, stack, 32.0) for stack in stacks)
    reach = sum(disc_reach_mm(solution, stack) for stack in stacks)
    places = (
        cmath.rect(distance, math.radians(angle))
        for distance in range(int(reach / 5) * 5, 500, 5)
        for angle in DIRECTIONS
    )
    nearest = next(at for at in places if least_mm(fixed, moved.shifted(at)) >= APART_MM)
    assert stack_axes(solution, stacks)["b"] == pytest.approx(nearest, abs=0.1)
