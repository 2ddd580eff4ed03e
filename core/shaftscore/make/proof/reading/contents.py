"""What a file holds, as its reader found it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt

from shaftscore.make.proof.compare import ReadPart
from shaftscore.make.proof.rim import RimError

LARGEST_MM = 2000.0
"""Nothing farther from the axis than this is read: ten times the bed of a large printer."""


@dataclass(frozen=True)
class BuiltCopy:
    """A copy of a part that a printer builds: turn (3, 3), rows of its turning; at (3,) mm, where it goes."""

    code: str
    turn: npt.NDArray[np.float64]
    at: npt.NDArray[np.float64]


@dataclass(frozen=True)
class FileContents:
    """What a file holds: parts by code, copies to build, and sentences on what should not be in it."""

    name: str
    parts: Mapping[str, ReadPart]
    copies: tuple[BuiltCopy, ...] = ()
    strays: tuple[str, ...] = field(default=())


def read_bounded(path: Path, most_bytes: int) -> bytes:
    """Read a file; raises RimError if it has more bytes than any of ours, OSError if it cannot be read."""
    with path.open("rb") as file:
        data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise RimError(f"{path.name}: has over {most_bytes:,} bytes, the most that is read")
    return data


def refuse_far(points: npt.NDArray[np.float64], where: str) -> None:
    """Raise RimError if a coordinate of points, (n, m) mm, is not finite or beyond LARGEST_MM."""
    wrong = ~np.isfinite(points)
    if wrong.any():
        raise RimError(f"{where}: {np.count_nonzero(wrong):,} of its numbers are not finite")
    if len(points) and np.abs(points).max() > LARGEST_MM:
        reach = float(np.abs(points).max())
        raise RimError(f"{where}: reaches to {reach:,.4g} mm; {LARGEST_MM:,.0f} mm are the most")
