"""Points from a table: what is read, what is refused and where."""

from __future__ import annotations

import contextlib
import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import apply_edit
from shaftscore.edits import points as points_module
from shaftscore.edits.points import read_points
from shaftscore.kinematics.motion.points import spline_through
from shaftscore.solution import solve
from tests.core.judge.loads.test_forces import lane, machine

HEAD = "theta_deg,output_mm\n"


def table(*rows: str, head: str = HEAD) -> bytes:
    return (head + "\n".join(rows)).encode()


def faults(data: bytes) -> list[str]:
    with pytest.raises(ProjectError) as caught:
        read_points(data, "points.csv")
    assert caught.value.source == "points.csv"
    return [str(fault) for fault in caught.value.faults]


def test_points_are_read_and_sorted() -> None:
    points = read_points(table("90,5", "0,0", "", " 180 , 10.5"), "t")
    assert [(p.theta_deg, p.output_mm) for p in points] == [(0, 0), (90, 5), (180, 10.5)]


@pytest.mark.parametrize("separator", [";", "\t"])
def test_spreadsheets_with_decimal_commas_are_read(separator: str) -> None:
    rows = [separator.join(pair) for pair in (("0", "0,5"), ("120,25", "1,5"), ("240", "2"))]
    points = read_points(table(*rows, head=f"\ufefftheta_deg{separator}output_mm\r\n"), "t")
    assert [p.output_mm for p in points] == [0.5, 1.5, 2.0]
    assert points[1].theta_deg == 120.25


def test_a_last_line_that_closes_the_turn_is_left_out() -> None:
    assert len(read_points(table("0,1", "120,2", "240,3", "360,1"), "t")) == 3
    assert faults(table("0,1", "120,2", "240,3", "360,2"))[0].startswith("line 5, theta_deg: ")


@pytest.mark.parametrize(
    ("data", "wanted"),
    [
        (b"", 'line 1: the head must be "theta_deg,output_mm", got "nothing"'),
        (b"angle,mm\n0,1", 'line 1: the head must be "theta_deg,output_mm", got "angle, mm"'),
        (table("0,1", "90,x", "180,2"), 'line 3, output_mm: "x" is not a number'),
        (table("0,1", "90", "180,2"), "line 3: has 1 cell; two are needed, theta_deg and output_mm"),
        (table("0,1", "90,2", "90.0,3"), "line 4: 90° was given in line 3 already"),
        (table("0,1", "90,−2", "95,3"), "line 3, output_mm: must be at least 0, got -2.0"),
        (table("0,1", "90,2"), "3 to 10,000 points are needed, got 2"),
        (table('0,"1', "90,2"), "line 2: is not a table: unexpected end of data"),
        (HEAD.encode() + b"0,\xff", "byte 22: is not UTF-8 text"),
    ],
)
def test_faults_name_their_line(data: bytes, wanted: str) -> None:
    assert faults(data) == [wanted]


def test_all_faults_are_told_and_reading_ends() -> None:
    found = faults(table(*[f"{n},x" for n in range(50)]))
    assert len(found) == 20


@given(st.binary(max_size=200))
def test_any_bytes_give_points_or_faults(data: bytes) -> None:
    for given_bytes in (data, HEAD.encode() + data):
        with contextlib.suppress(ProjectError):
            assert len(read_points(given_bytes, "any")) >= 3


def test_a_harmonic_table_moves_the_lane_as_its_formula_says() -> None:
    """Outside: s = 5 (1 - cos θ), known everywhere; the stated fit error bounds the real one."""
    theta = np.arange(0.0, 360.0, 15.0)
    rows = [f"{deg},{float(5 * (1 - np.cos(np.radians(deg))))!r}" for deg in theta]
    points = read_points(table(*rows), "t")
    edited = apply_edit(machine(lane(None)), "set_points", lane_id="a", points=points)
    assert edited.name == "Set 24 points of a"
    motion = solve(edited.project).lanes["a"].motion
    assert motion is not None
    fine = np.arange(0.0, 360.0, 0.7)
    error = np.max(np.abs(motion.at(fine)[0] - 5 * (1 - np.cos(np.radians(fine)))))
    stated = spline_through(points).fit_error_mm
    assert stated is not None
    assert error <= stated < 0.01


def test_an_unknown_lane_is_refused() -> None:
    with pytest.raises(EditError, match="there is no lane"):
        apply_edit(machine(lane(None)), "set_points", lane_id="b", points=())


MIB_16 = 16 * 2**20


def filled(line: str) -> bytes:
    """A table of 16 MiB of one line over and over."""
    return (HEAD + line * (MIB_16 // len(line))).encode()


@pytest.mark.parametrize(
    ("line", "most_read"),
    [
        ("1,2\n", 21 + 3),  # the first is a point, all others repeat its angle
        ("x,2\n", 21 + 2),
        ("1\n", 21 + 2),
        ("1,2,3,4,5,6\r\n", 21 + 2),
        ("1,2\r", 21 + 3),
        ('"1\n",2\n', 1),
        ("\n", 100_000),
        (",", 1),
        ("12,", 1),
        ('"', 1),
    ],
)
def test_a_table_of_16_mib_is_read_no_farther_than_its_faults(
    monkeypatch: pytest.MonkeyPatch, line: str, most_read: int
) -> None:
    lines, numbers = [0], [0]
    split, number = points_module._split, points_module.parse_number

    def counted(*arguments: str) -> Iterator[tuple[int, list[str]]]:
        for row in split(*arguments):
            lines[0] += 1
            yield row

    def parsed(text: str) -> float:
        numbers[0] += 1
        return number(text)

    monkeypatch.setattr(points_module, "_split", counted)
    monkeypatch.setattr(points_module, "parse_number", parsed)
    data = filled(line)
    tracemalloc.start()
    try:
        told = faults(data)
        peak = tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()
    assert 1 <= len(told) <= 20
    assert lines[0] <= most_read
    assert numbers[0] <= 2 * (most_read + 2)
    assert peak < 60, "MiB: the text itself takes 16"


def test_points_beyond_the_most_are_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = (f"{n * 1e-4:.4f},{n % 7}\n" for n in range(1_000_000))
    made = [0]
    point = points_module._point

    def counted(where: str, cells: list[str]) -> object:
        made[0] += 1
        return point(where, cells)

    monkeypatch.setattr(points_module, "_point", counted)
    assert faults((HEAD + "".join(rows)).encode()) == ["3 to 10,000 points are needed, got more"]
    assert made[0] == 10_001


def test_ten_thousand_points_and_one_that_closes_the_turn_are_read() -> None:
    rows = [f"{n * 0.036:.3f},{n % 7}" for n in range(10_000)]
    assert len(read_points(table(*rows, "360,0"), "t")) == 10_000
    assert faults(table(*rows, "359.999,0")) == ["3 to 10,000 points are needed, got more"]
