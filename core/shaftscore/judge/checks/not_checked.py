"""not-checked: lanes of which a motion or a disc is missing, so that clean means clean."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.judge.checks.base import LaneCheck
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.solution import LaneSolution, Solution


def unsolved(_solution: Solution, lane: LaneSolution) -> Iterator[Finding]:
    """Find lanes without a motion or a disc, for whatever reason but a clash of blocks.

    A follower that cannot stand where it is put is an error: no version could check its disc.
    """
    nothing, missing = lane.no_motion, lane.no_profile
    if nothing is not None and nothing.reason == "empty":
        yield found("not-checked", (lane.lane.id,), why="It has no blocks: there is nothing to check.")
    elif nothing is not None and nothing.reason != "clash":
        yield found("not-checked", (lane.lane.id,), why=f"It has no motion to check: {nothing.what}.")
    elif missing is not None and missing.reason != "kind":
        why = f"There is no disc to check: {missing.what}."
        yield found("not-checked", (lane.lane.id,), severity=Severity.ERROR, why=why)
    elif nothing is None and lane.profile is None and lane.lane.load is not None:
        yield found("not-checked", (lane.lane.id,), why="Its load is not checked: it has no disc.")


UNSOLVED = LaneCheck(("not-checked",), unsolved)
