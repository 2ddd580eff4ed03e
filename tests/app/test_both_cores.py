"""Pieces of work in two processes: all are done once, errors are as ever, a dead process is no loss."""

from __future__ import annotations

import os
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
    return list(BothCores().each(work, PIECES))


def test_every_piece_is_done_once_wherever() -> None:
    found = squares()
    assert sorted(row[:2] for row in found) == [(number, number * number) for number in range(PIECES)]
    assert any(elsewhere for _, _, elsewhere in found)


def test_an_error_there_is_raised_here() -> None:
    with pytest.raises(ValueError, match="no square of 39"):
        squares(wrong=PIECES - 1)


def test_pieces_of_a_process_that_ends_are_done_here() -> None:
    assert sorted(squares(ends=True)) == [(number, number * number, False) for number in range(PIECES)]


@pytest.mark.long
def test_an_export_by_both_has_the_same_bytes(tmp_path: Path) -> None:
    project = sample("tea_blender")
    for name, beside in (("alone", None), ("both", BothCores())):
        export_project(project, tmp_path / name, ["stl", "3mf", "svg"], beside=beside)
    files = {path.name: path.read_bytes() for path in (tmp_path / "alone").iterdir()}
    assert {path.name: path.read_bytes() for path in (tmp_path / "both").iterdir()} == files
