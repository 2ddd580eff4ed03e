"""What an arrangement may change, and what it keeps of what the maker meant.

A *rest* is the level at which a lane dwells longest; every other dwell does something, in some step of the
state table. As long as the order of steps must stay, the middle of a dwell of one step stays in that
step, and the start of a longer one within half a step of the step's start: so the lanes do what they do in
the steps that were typed. That counts for lanes that the state table can show, and for all lanes where
steps have names; a window that the maker gave says more, and holds instead.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from shaftscore.base.angles import ahead, turn_to
from shaftscore.base.wording import did_you_mean
from shaftscore.edits.state_table import read_states, step_at
from shaftscore.edits.state_table.table import nearest_step, sizes
from shaftscore.model import Lane, Project

NAMES = ("starts", "lengths", "order", "discs")
"""What may change, as named on the command line."""

KEEP_PERCENT = 50.0
"""Least length of a dwell, percent of the length drawn, unless another is asked for."""


@dataclass(frozen=True)
class MayChange:
    """What may change: start times, lengths of dwells, the step of a dwell, and how large discs become.

    keep_percent: dwells shrink to no less than this percent of their drawn length. discs: False keeps every
    disc as small as the largest one now.
    """

    starts: bool = True
    lengths: bool = True
    order: bool = False
    discs: bool = False
    keep_percent: float = KEEP_PERCENT

    @staticmethod
    def named(names: Iterable[str], keep_percent: float = KEEP_PERCENT) -> MayChange:
        """Return what some names allow; keep_percent: see the class, percent.

        Raises ValueError for an unknown name, for none, or for a share that is not 0 % to 100 %.
        """
        given = [name.strip() for name in names]
        for name in given:
            if name not in NAMES:
                hint = did_you_mean(name, NAMES) or f"known are {', '.join(NAMES)}"
                raise ValueError(f'there is no "{name}"; {hint}')
        if not given:
            raise ValueError(f"nothing may change; name at least one of {', '.join(NAMES)}")
        if not 0 <= keep_percent <= 100:
            raise ValueError(f"keep {keep_percent:g} % is not 0 % to 100 %")
        return MayChange(**{name: name in given for name in NAMES}, keep_percent=keep_percent)

    @property
    def share(self) -> float:
        """The least length of a dwell as a share of the length drawn, 0 to 1."""
        return self.keep_percent / 100 if self.lengths else 1.0


def has_steps(project: Project, lane: Lane) -> bool:
    """Return whether the steps of a lane's dwells mean something: named, or typed in the state table."""
    return bool(project.shaft.step_names) or not read_states(project, lane).incomplete


def room_in_step(project: Project, start_deg: float, length_deg: float) -> tuple[float, float]:
    """Return how far a dwell may move in its step: back (0 or less) and on, degrees of its stack."""
    starts = project.shaft.step_starts_deg
    if len(starts) < 2:
        return -180.0, 180.0
    middle = start_deg + length_deg / 2
    step = step_at(starts, middle)
    size = sizes(starts)[step]
    into = ahead(starts[step], middle)
    if length_deg <= size:
        return -into, size - into
    step = nearest_step(starts, start_deg)
    off, half = turn_to(starts[step], start_deg), min(sizes(starts)) / 2
    return min(0.0, -half - off), max(0.0, half - off)
