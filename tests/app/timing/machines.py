"""Small machines for the tests of the timing diagram."""

from __future__ import annotations

from shaftscore.model import Block, Exclusive, Lane, LevelState, Project, Shaft, Stack, replaced

LEVELS = {"closed": 0.0, "open": 10.0}


def block(level: str, start: float, end: float, *, locked: bool = False) -> Block:
    return Block(level=level, start_deg=float(start), end_deg=float(end), locked=locked)


def gate(name: str, opens: float, *, stack: str | None = None, group: str = "Gates") -> Lane:
    """Return a lane that opens at an angle for 12 degrees, with moves of 24 degrees."""
    start = opens + 36.0 - (360.0 if opens + 36.0 >= 360.0 else 0.0)
    blocks = [block("open", opens, opens + 12.0), block("closed", start, start + 300.0)]
    return Lane(
        id=name.lower(),
        name=name,
        group=group,
        levels=LEVELS,
        blocks=tuple(sorted(blocks, key=lambda made: made.start_deg)),
        stack=stack,
    )


def machine(*lanes: Lane, gap_deg: float | None = 3.6, stacks: tuple[Stack, ...] | None = None) -> Project:
    """Return a machine of 6 turns a minute; all gates exclude one another unless gap_deg is None."""
    project = Project(
        format="shaftscore-project",
        version=2,
        name="Trial",
        shaft=Shaft(turn="clockwise", speed_rpm=6.0),
        lanes=lanes,
    )
    if stacks is not None:
        project = replaced(project, stacks=stacks)
    if gap_deg is None or len(lanes) < 2:
        return project
    states = tuple(LevelState(lane=lane.id, level="open") for lane in lanes)
    return replaced(project, rules=(Exclusive(kind="exclusive", states=states, gap_deg=gap_deg),))


def two_gates(first: float = 60.0, second: float = 200.0) -> Project:
    """Return two gates that must not be open together."""
    return machine(gate("Assam", first), gate("Mint", second))


def index_of(project: Project, lane_id: str, level: str) -> int:
    """Return the index of the first block of a level."""
    blocks = project.lane(lane_id).blocks
    return next(index for index, made in enumerate(blocks) if made.level == level)
