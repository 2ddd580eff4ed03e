"""The work on one lane is bounded by what is near, not by the square of its nodes.

Counts and sizes are asserted, never seconds: `benchmarks/bench_bounded.py` measures those.
"""

from __future__ import annotations

import tracemalloc
from typing import Any

import numpy as np
import pytest

from shaftscore.judge.checks import shape_cures
from shaftscore.judge.report import Report, examine
from shaftscore.kinematics.profiles import Profile, crossing, outline
from shaftscore.kinematics.profiles import rows as table_rows
from tests.core.kinematics.profiles.machines import ROLLER, profile_of, project_of

MOST_MIB = 200
"""What the whole examination of one lane of 720 blocks may take."""


def many(count: int, lift_mm: float = 3.0, **lane: Any) -> dict[str, Any]:
    """Fields of a lane of short dwells at two levels, one after the other."""
    step = 360.0 / count
    blocks = [
        {"level": "high" if n % 2 else "low", "start_deg": n * step, "end_deg": (n + 0.3) * step}
        for n in range(count)
    ]
    levels = {"low": 0.0, "high": lift_mm}
    return {"blocks": blocks, "levels": levels, "disc": {"base_radius_mm": 75.0}, **lane}


def spiky(count: int, lift_mm: float = 30.0) -> dict[str, Any]:
    """Fields of a lane with a table that jumps up and down from point to point."""
    points = [{"theta_deg": n * 360.0 / count, "output_mm": n % 2 * lift_mm} for n in range(count)]
    return {"kind": "points", "blocks": [], "points": points, "disc": {"base_radius_mm": 75.0}}


def examined(**lane: Any) -> tuple[Report, float]:
    """Examine a lane; returns the report and the greatest size of what was allocated, MiB."""
    examine(project_of())  # what is loaded once does not count
    project = project_of(**lane)
    tracemalloc.start()
    try:
        return examine(project), tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("lift_mm", [0.003, 0.05, 3.0, 300.0])
@pytest.mark.parametrize("count", [96, 720])
def test_a_lane_of_many_short_blocks_takes_little_memory(count: int, lift_mm: float) -> None:
    report, mib = examined(**many(count, lift_mm))
    assert sum(finding.rule == "undercut" for finding in report.findings) in (0, count)
    assert mib < MOST_MIB


def test_a_spiky_table_takes_little_memory() -> None:
    report, mib = examined(**spiky(200))
    assert sum(finding.rule == "undercut" for finding in report.findings) > 200
    assert mib < MOST_MIB


def linked(count: int, lift_mm: float, seed: int | None = None, **follower: Any) -> dict[str, Any]:
    """A roller behind a linkage with a table of so many rows: a smooth one, or one with noise."""
    rng = np.random.default_rng(seed)
    output = np.linspace(0.0, lift_mm, count)
    slope = 1 + 0.3 * np.sin(6 * output / lift_mm) if seed is None else rng.uniform(0.5, 1.5, count)
    roller = (np.cumsum(slope) - slope[0]) * lift_mm / count
    table = [{"output_mm": o, "roller_mm": r} for o, r in zip(output.tolist(), roller.tolist(), strict=True)]
    return {**ROLLER, "link": table, **follower}


def test_many_moves_over_a_long_table_take_little_memory() -> None:
    report, mib = examined(**many(720, 3.0, follower=linked(1000, 3.0)))
    assert sum(finding.rule == "undercut" for finding in report.findings) == 720
    assert mib < MOST_MIB


@pytest.mark.parametrize(("count", "pieces"), [(2, 1996), (4, 3992), (36, 4000), (720, 5760)])
def test_the_rows_that_count_are_bounded(count: int, pieces: int) -> None:
    """All of 998 inner rows on up to four moves; of more moves, some."""
    profile = profile_of(**many(count, 3.0, law="constant-velocity", follower=linked(1000, 3.0, seed=3)))
    assert 0.8 * pieces < len(profile.nodes.pieces) - 2 * count <= pieces
    assert len(profile.nodes.theta_deg) < 200_000


@pytest.mark.parametrize(("seed", "close"), [(None, 0.01), (3, 0.1)])
def test_the_worst_of_a_move_is_found_although_rows_are_thinned_out(
    monkeypatch: pytest.MonkeyPatch, seed: int | None, close: float
) -> None:
    """The same places with all rows: of a smooth table to 1 %, of one with noise to 10 %."""
    lane = many(12, 8.0, follower=linked(400, 8.0, seed))
    all_rows = profile_of(**lane)
    monkeypatch.setattr(table_rows, "MOST_CUTS", 400)
    some = profile_of(**lane)
    assert len(some.nodes.pieces) < len(all_rows.nodes.pieces) / 5
    for name in ("steep_places", "crest_places", "hollow_places"):
        one, other = getattr(all_rows, name), getattr(some, name)
        assert [place.segment for place in one] == [place.segment for place in other]
        for full, thin in zip(one, other, strict=True):
            assert thin.value == pytest.approx(full.value, rel=close, abs=close)


def test_joints_of_pieces_are_no_nearest_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each joint has two nodes at one place; pairs of joints would be candidates by the square."""
    looked = counting(monkeypatch, crossing, "_is_distant")
    profile = profile_of(**many(36, 20.0, law="modified-sine", follower=linked(100, 20.0)))
    assert not crossing.is_star_shaped(profile.at_nodes.profile, profile.direction), "else nothing is sought"
    assert len(profile.nodes.pieces) > 3000
    profile.undercuts()
    assert len(looked) < 1000


def distances(monkeypatch: pytest.MonkeyPatch, profile: Profile) -> int:
    """Count the distances that are computed on the way to a profile's undercuts."""
    counted = 0
    lowest, grows = crossing._lowest, crossing._grows

    def count_pairs(pitch: Any, curve: Any, radius: Any, rooms: Any, pairs: Any) -> Any:
        nonlocal counted
        counted += len(pairs[1]) * (crossing.RUN + 2) ** 2
        return lowest(pitch, curve, radius, rooms, pairs)

    def count_ways(place: complex, way: Any, least: float) -> bool:
        nonlocal counted
        counted += len(way)
        return grows(place, way[: 2 * crossing.FIRST_LOOK], least) or grows(place, way, least)

    monkeypatch.setattr(crossing, "_lowest", count_pairs)
    monkeypatch.setattr(crossing, "_grows", count_ways)
    assert not crossing.is_star_shaped(profile.at_nodes.profile, profile.direction), "else nothing is sought"
    profile.undercuts()
    return counted


def leaning(count: int) -> Profile:
    """A disc whose moves all lean backwards, with a roller too small to be cut anywhere."""
    follower = {**ROLLER, "roller_radius_mm": 0.01, "offset_mm": 70.0}
    return profile_of("clockwise", **many(count, 216.0 / count, follower=follower))


@pytest.mark.parametrize("count", [90, 360, 720])
def test_distances_grow_with_the_nodes_not_with_their_square(
    monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    profile = leaning(count)
    nodes = len(profile.nodes.theta_deg)
    assert nodes > 60 * count
    assert distances(monkeypatch, profile) < 600 * nodes


def dense(profile: Profile, flank: Any = "inner") -> set[tuple[float, float]]:
    """Find by all distances where a distant part comes nearest to a flank, among the nodes.

    A place and a centre nearer than all eight neighbours, which the roller leaves on both ways round.
    """
    at, radius = profile.at_nodes, profile.model.roller_radius_mm
    curve, pitch = at.offset(-radius if flank == "inner" else radius), at.pitch
    apart = np.abs(curve[:, None] - pitch[None, :])
    least = apart < radius
    for rows, columns in ((-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1)):
        least &= apart <= np.roll(apart, (rows, columns), (0, 1))
    found = set()
    for place, centre in np.argwhere(least):
        low, high = sorted((place, centre))
        height = max(apart[place, place], apart[place, centre]) + 1e-6
        ways = apart[place, low : high + 1], np.append(apart[place, high:], apart[place, : low + 1])
        if min(np.max(way) for way in ways) > height:
            found.add((profile.nodes.theta_deg[place] % 360, profile.nodes.theta_deg[centre] % 360))
    return found


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("flank", ["inner", "outer"])
def test_the_cuts_of_a_spiky_table_are_those_that_all_distances_show(turn: str, flank: str) -> None:
    closure = {"closure": "groove"} if flank == "outer" else {}
    profile = profile_of(turn, **spiky(60), follower={**ROLLER, "roller_radius_mm": 5.0, **closure})
    known = [cut.theta_deg for cut in profile.undercuts() if cut.kind != "distant" and cut.flank == flank]
    spacing = 6.0 / 4  # four nodes a piece
    cuts = [cut for cut in profile.undercuts() if cut.kind == "distant" and cut.flank == flank]
    expected = {pair for pair in dense(profile, flank) if not between(known, *pair)}
    assert len(cuts) == len(expected) > 20
    for one, other in expected:
        assert any(
            apart(cut.theta_deg, one) <= spacing and apart(cut.other_deg or 0.0, other) <= spacing
            for cut in cuts
        )


def apart(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


def between(angles: list[float], one: float, other: float) -> bool:
    """Return whether an angle lies between two others, the shorter way, or within half a degree of it."""
    start = one if (other - one) % 360 <= 180 else other
    way = apart(one, other)
    return any((angle - start + 0.5) % 360 <= way + 1.0 for angle in angles)


def counting(monkeypatch: pytest.MonkeyPatch, module: Any, name: str) -> list[object]:
    """Record the calls of a function of a module."""
    calls: list[object] = []
    real = getattr(module, name)

    def counted(*arguments: Any, **more: Any) -> Any:
        calls.append(arguments)
        return real(*arguments, **more)

    monkeypatch.setattr(module, name, counted)
    return calls


def test_moves_alike_share_the_search_of_their_length(monkeypatch: pytest.MonkeyPatch) -> None:
    calls = counting(monkeypatch, shape_cures, "shortest_move")
    report = examine(project_of(**many(48, 30.0)))
    assert sum(finding.rule == "pressure-angle" for finding in report.findings) == 48
    assert 0 < len(calls) <= 2


def test_findings_share_the_edits_that_were_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    calls = counting(monkeypatch, shape_cures, "build_profile")
    follower = {**ROLLER, "roller_radius_mm": 5.0}
    report = examine(project_of(**many(48, 3.0, law="modified-sine", follower=follower)))
    cured = [finding for finding in report.findings if finding.cure is not None]
    assert len(cured) > 40
    assert {finding.cure.edit for finding in cured if finding.cure} == {"set_disc"}
    assert len(calls) < 10


def test_cures_of_one_lane_cost_a_bounded_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each move has levels of its own, so that nothing is shared: work ends, findings stay."""
    levels = {f"l{n}": 20.0 + n * 0.1 for n in range(60)} | {"low": 0.0}
    step = 360.0 / 120
    blocks = [
        {"level": f"l{n // 2}" if n % 2 else "low", "start_deg": n * step, "end_deg": (n + 0.3) * step}
        for n in range(120)
    ]
    lane = {"levels": levels, "blocks": blocks, "disc": {"base_radius_mm": 75.0}}
    lengths = counting(monkeypatch, shape_cures, "shortest_move")
    report = examine(project_of(**lane))
    assert sum(finding.rule == "pressure-angle" for finding in report.findings) == 120
    assert 0 < len(lengths) <= shape_cures.MOST_NODES / shape_cures.LENGTH_NODES


def test_a_polygon_is_trimmed_by_looking_at_what_is_beside_a_face(monkeypatch: pytest.MonkeyPatch) -> None:
    """The winding of a curve about a point is found from the edges at its height alone."""
    turns = np.linspace(0, 4 * np.pi, 4001)[:-1]
    ring = np.exp(1j * turns) * (10 + 2 * np.sin(turns / 2))  # twice round the axis
    edges = outline.RingEdges.of(ring)
    rng = np.random.default_rng(5)
    for x, y in rng.uniform(-14, 14, (300, 2)):
        spokes = ring - complex(x, y)
        turned = np.sum(np.angle(np.roll(spokes, -1) * np.conj(spokes))) / (2 * np.pi)
        assert edges.wind_about(x, y) == (round(turned) > 0)
        backward = outline.RingEdges.of(ring[::-1])
        assert not backward.wind_about(x, y)
