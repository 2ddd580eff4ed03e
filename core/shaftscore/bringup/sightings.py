"""What a person saw at the bench: a sheet of checks, each at one shaft angle, lane by lane.

A *check* is a place at which the shaft was stopped. A *sighting* is what one lane did there: the name of one
of its levels, or its output measured in mm. A lane that could not be seen is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from shaftscore.base.angles import TURN

Sighting = str | float
"""What was seen of a lane: the name of a level, or its output, mm."""


@dataclass(frozen=True)
class BenchCheck:
    """One stop of the shaft and what was seen there.

    angle_deg: master angle, 0 <= angle < 360 degrees. seen: by lane id, a level's name or the output in mm;
    lanes that are not in it were not seen. turn: of the run in which it was, from 1.
    """

    angle_deg: float
    seen: Mapping[str, Sighting] = field(default_factory=dict)
    turn: int = 1

    @property
    def run_deg(self) -> float:
        """How far the shaft has turned since angle 0 of the first turn, degrees."""
        return self.angle_deg + TURN * (self.turn - 1)


@dataclass(frozen=True)
class SightingSheet:
    """All checks of one sheet, in the order in which they were made, and the items that were counted.

    arrived: by the id of an outlet or a magazine, how many items came to it in each of the first turns; None
    where they were not counted.
    """

    checks: tuple[BenchCheck, ...] = ()
    arrived: Mapping[str, tuple[int | None, ...]] = field(default_factory=dict)

    @property
    def sightings(self) -> Iterator[tuple[int, str, Sighting]]:
        """All that was seen, as (number of the check from 0, lane id, sighting)."""
        for number, check in enumerate(self.checks):
            for lane_id, seen in check.seen.items():
                yield number, lane_id, seen

    @property
    def count(self) -> int:
        """How many sightings and counts there are."""
        counts = sum(one is not None for turns in self.arrived.values() for one in turns)
        return counts + sum(len(check.seen) for check in self.checks)
