"""What this machine itself can do: the bounds that the other figures are measured against."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest


@pytest.mark.benchmark(group="Bounds of this machine")
def test_copying_64_lanes_of_3600_angles_with_three_derivatives(benchmark: Any) -> None:
    """Cache bandwidth: the least that writing every lane's motion once can cost."""
    source = np.random.default_rng(1).random((64, 4, 3600))
    target = np.empty_like(source)
    benchmark(lambda: np.copyto(target, source))
    benchmark.extra_info["bandwidth in the caches"] = (
        f"{2 * source.nbytes / benchmark.stats['median'] / 1e9:.1f} GB/s"
    )


@pytest.mark.benchmark(group="Bounds of this machine")
def test_copying_256_MiB(benchmark: Any) -> None:
    """Memory bandwidth proper: far more than any cache holds."""
    source = np.ones(2**25)
    target = np.empty_like(source)
    benchmark(lambda: np.copyto(target, source))
    benchmark.extra_info["bandwidth"] = f"{2 * source.nbytes / benchmark.stats['median'] / 1e9:.1f} GB/s"


@pytest.mark.benchmark(group="Bounds of this machine")
def test_sines_of_64_lanes_of_3600_angles(benchmark: Any) -> None:
    """Arithmetic: the least that a harmonic law read everywhere can cost."""
    angles = np.random.default_rng(1).random((64, 3600))
    benchmark(lambda: np.sin(angles))


@pytest.mark.benchmark(group="Bounds of this machine")
def test_a_thousand_calls_of_numpy_on_65_values(benchmark: Any) -> None:
    """Overhead: what a thousand small steps cost, whatever they compute."""
    values = np.linspace(0.0, 1.0, 65)

    def run() -> None:
        for _ in range(1000):
            np.multiply(values, 2.0)

    benchmark(run)
