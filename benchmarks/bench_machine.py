"""What this machine itself can do: the bounds that the other figures are measured against."""

from __future__ import annotations

import heapq
import subprocess
import sys
from pathlib import Path
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


@pytest.mark.benchmark(group="Bounds of this machine")
def test_starting_an_empty_python(benchmark: Any) -> None:
    """Start: the least that any command can cost."""
    benchmark.pedantic(
        lambda: subprocess.run([sys.executable, "-I", "-c", "pass"], check=True), rounds=9, warmup_rounds=1
    )


@pytest.mark.benchmark(group="Bounds of this machine")
def test_writing_64_MiB_to_a_file(benchmark: Any, tmp_path: Path) -> None:
    """Storage: about what the discs of a large machine take as STL and 3MF, handed to the system."""
    data = bytes(2**26)
    benchmark.pedantic(lambda: (tmp_path / "data").write_bytes(data), rounds=5, warmup_rounds=1)


@pytest.mark.benchmark(group="Bounds of this machine")
def test_120000_events_through_a_heap(benchmark: Any) -> None:
    """Events: as many as the flow's, kept in order by a heap, whatever happens at each."""
    times = np.random.default_rng(1).random(120_000).tolist()

    def run() -> None:
        heap: list[tuple[float, int]] = []
        for number, at in enumerate(times):
            heapq.heappush(heap, (at, number))
        while heap:
            heapq.heappop(heap)

    benchmark(run)
