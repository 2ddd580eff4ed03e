"""Pieces of work in two processes: all are done once, errors are as ever, a dead process is no loss."""

from __future__ import annotations

import os
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

import pytest

from shaftscore.make.exporting import export_project
from shaftscore_app.runtime.both_cores import BothCores
from tests.samples import sample

PIECES = 40


@dataclass(frozen=True)
class Square:
    """Squares numbers by a table; wrong: one that it refuses; ends: whether it ends another process."""

    table: MappingProxyType[int, int]
    own: int
    wrong: int = -1
    ends: bool = False

    def __call__(self, number: int) -> tuple[int, int, bool]:
        """Return the number, its square, and whether that was done in another process."""
        elsewhere = os.getpid() != self.own
        if elsewhere and self.ends:
            os._exit(1)
        if number == self.wrong:
            raise ValueError(f"no square of {number}")
        return number, self.table[number], elsewhere


def squares(**how: object) -> list[tuple[int, int, bool]]:
    table = MappingProxyType({number: number * number for number in range(PIECES)})
    work = Square(table, os.getpid(), **how)  # type: ignore[arg-type]
    with BothCores() as both:
        return list(both.each(work, PIECES))


def test_every_piece_is_done_once_wherever() -> None:
    found = squares()
    assert sorted(row[:2] for row in found) == [(number, number * number) for number in range(PIECES)]
    assert any(elsewhere for _, _, elsewhere in found)


def test_an_error_there_is_raised_here() -> None:
    with pytest.raises(ValueError, match="no square of 39"):
        squares(wrong=PIECES - 1)


def test_pieces_of_a_process_that_ends_are_done_here() -> None:
    assert sorted(squares(ends=True)) == [(number, number * number, False) for number in range(PIECES)]


def test_one_process_serves_several_works_and_this_one_has_work_of_its_own() -> None:
    done: list[str] = []
    table = MappingProxyType({0: 5, 1: 7})
    with BothCores(["shaftscore.make.exporting.parts"]) as both:
        assert len(list(both.each(Square(MappingProxyType(dict.fromkeys(range(9), 1)), 0), 9))) == 9
        found = list(both.each(Square(table, os.getpid()), 2, lambda: done.append("own")))
    assert done == ["own"]
    assert sorted(row[:2] for row in found) == [(0, 5), (1, 7)]


@dataclass
class OnlyHere:
    """Work that another process cannot begin."""

    def __call__(self, number: int) -> int:
        """Return the number."""
        return number

    def __setstate__(self, state: object) -> None:
        """Refuse."""
        raise ValueError("not here")

    def __getstate__(self) -> dict[str, int]:
        """Return something, so that it is set there."""
        return {"some": 1}


def test_work_that_cannot_begin_there_is_done_here() -> None:
    with BothCores() as both:
        assert sorted(both.each(OnlyHere(), 20)) == list(range(20))


@dataclass(frozen=True)
class Cores:
    """Looks on which cores another process may run; told: a file that it makes once it looked."""

    own: int
    told: Path

    def __call__(self, _number: int) -> frozenset[int] | None:
        """Return the cores, None in this process."""
        if os.getpid() == self.own:
            return None
        self.told.touch()
        return frozenset(os.sched_getaffinity(0))

    def wait(self) -> None:
        """Wait until the other process looked."""
        deadline = time.monotonic() + 60
        while not self.told.exists() and time.monotonic() < deadline:
            os.sched_yield()


def test_without_its_block_all_is_done_here() -> None:
    table = MappingProxyType(dict.fromkeys(range(PIECES), 0))
    assert not any(row[2] for row in BothCores().each(Square(table, os.getpid()), PIECES))


@pytest.mark.skipif(
    sys.platform != "linux" or len(os.sched_getaffinity(0)) < 2, reason="cores are chosen on Linux, of two"
)
def test_each_process_keeps_to_a_core_until_the_end(tmp_path: Path) -> None:
    before, looks = os.sched_getaffinity(0), Cores(os.getpid(), tmp_path / "told")
    with BothCores() as both:
        here = os.sched_getaffinity(0)
        (there,) = {cores for cores in both.each(looks, 2, looks.wait) if cores is not None}
        assert len(here) == len(there) == 1
        assert here != there
    assert os.sched_getaffinity(0) == before


@pytest.mark.long
def test_a_manual_made_there_has_the_same_bytes(tmp_path: Path) -> None:
    project = sample("paper_theatre")
    export_project(project, tmp_path / "alone", ["stl", "manual"])
    with BothCores() as both:
        export_project(project, tmp_path / "both", ["stl", "manual"], beside=both)
    files = {path.name: path.read_bytes() for path in (tmp_path / "alone").iterdir()}
    assert {path.name: path.read_bytes() for path in (tmp_path / "both").iterdir()} == files


@pytest.mark.long
def test_an_export_by_both_has_the_same_bytes(tmp_path: Path) -> None:
    project = sample("tea_blender")
    export_project(project, tmp_path / "alone", ["stl", "3mf", "svg"])
    with BothCores() as both:
        export_project(project, tmp_path / "both", ["stl", "3mf", "svg"], beside=both)
    files = {path.name: path.read_bytes() for path in (tmp_path / "alone").iterdir()}
    assert {path.name: path.read_bytes() for path in (tmp_path / "both").iterdir()} == files
