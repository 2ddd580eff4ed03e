"""What the flow's simulation gives: whether it holds, each magazine's figures, findings and histories."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shaftscore.judge.findings import Finding

CHECKED = ("starvation", "collision", "double-release", "missed-release", "misrouted", "wrong-order")
"""The rules that the simulation decides."""


@dataclass(frozen=True)
class MagazineResult:
    """What a magazine needs.

    lowest_count: fewest items that it held, first in `turn` (from 1) at `deg` (master angle).
    needed_rate_per_min: smallest rate of the supply that fills it, up to 0.1 per min, with which its
    gates never find it empty, all else as it is; None where no rate does that, or no supply fills it.
    needed_capacity: smallest capacity for the same (a start count above it is lowered to it); None
    where no capacity does that.
    """

    lowest_count: int
    turn: int
    deg: float
    needed_rate_per_min: float | None = None
    needed_capacity: int | None = None


@dataclass(frozen=True)
class Passage:
    """An item in a channel: µs from the start of the run; it leaves within leaves_us .. latest_us.

    gate: id of the gate that it came through.
    """

    gate: str
    enters_us: int
    leaves_us: int
    latest_us: int


@dataclass(frozen=True)
class FlowHistory:
    """What happened in the turns first_turn to last_turn (from 1), for a view.

    counts: by magazine, steps (time µs from the start of the run, count from then on), the first at the
    begin of first_turn. passages: by channel, in the order in which the items entered it.
    """

    cycle_us: int
    first_turn: int
    last_turn: int
    counts: Mapping[str, tuple[tuple[int, int], ...]]
    passages: Mapping[str, tuple[Passage, ...]]


@dataclass(frozen=True)
class FlowResult:
    """The result of a simulation.

    holds_for_ever: True where the state came back without a failure, False where something failed, None
    where neither happened within the most turns, or where a gate's lane has no motion. turns: simulated
    until the state came back, or until the turn of the first failure. magazines: by id.
    """

    holds_for_ever: bool | None
    turns: int
    magazines: Mapping[str, MagazineResult]
    findings: tuple[Finding, ...]
    history: FlowHistory
    checked: tuple[str, ...] = CHECKED
