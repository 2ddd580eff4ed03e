"""What the diagnosis gives: build faults, causes made of them, and their ranking.

A *build fault* is one way in which a built machine differs from the drawn one. A *cause* is one build fault
or a pair of them. It *explains* a sighting that differs from the drawn program where it predicts what was
seen, and every sighting that it contradicts counts *against* it, explained differences left over included.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

FaultKind = Literal[
    "wrong-way",
    "upside-down",
    "swapped",
    "off-position",
    "disc-over",
    "turned-disc",
    "hub-tooth",
    "geared-tooth",
    "all-late",
    "crossed",
    "travel",
    "late-falls",
    "stuck",
    "spring-off",
    "slips",
    "empty",
    "slow-items",
]
"""Kinds of build faults.

wrong-way: the shaft turns against the program. upside-down: a whole stack. swapped: two neighbouring discs.
off-position: a disc on its bore, dogs or pins. disc-over: a disc with its marked face down. turned-disc: a
disc on a round rod by any angle. hub-tooth, geared-tooth: the hub of the first stack, of a geared one.
all-late: all lanes by one angle. crossed: two levers. travel: a lane moves too little or too far. late-falls:
play that is late on falls alone. stuck: a lane at one level. spring-off: a follower that does not come back.
slips: the coupling, once. empty: a magazine at the start. slow-items: the slowest kind of item everywhere.
"""

RepairAction = Literal["reverse-motor", "reprint-disc", "correct", "line-up-hub", "none"]
"""What a button beside a cause may do.

reverse-motor: reverse the rotation of the motor, or turn the crank the other way. reprint-disc: export the
discs of the fault's lanes again. correct: open the correction from measurements with these lanes.
line-up-hub: show how zero marks and hub are lined up. none: nothing to do in the program.
"""


@dataclass(frozen=True)
class BuildFault:
    """One way in which a built machine differs from the drawn one.

    statement: the state of the machine as a sentence without its full stop ("Discs B2 and B3 are swapped").
    look: where to look. do: what to do; both whole sentences. lanes: ids that it touches, empty for all.
    stack: id, for faults of one stack. angle_deg: by which something is late, or off its mark, degrees of
    the master shaft (for off-position and turned-disc of the disc's own stack), positive late or
    counterclockwise.
    share: of the drawn travel, for travel. level: at which a lane is stuck. turned_over: marked face down.
    part: id of the magazine, for empty. slip_at_deg: how far the machine had run when it slipped, degrees.
    """

    kind: FaultKind
    statement: str
    look: str
    do: str
    action: RepairAction = "none"
    lanes: tuple[str, ...] = ()
    stack: str = ""
    angle_deg: float = 0.0
    share: float = 1.0
    level: str = ""
    turned_over: bool = False
    part: str = ""
    slip_at_deg: float = 0.0


@dataclass(frozen=True)
class PredictedSighting:
    """What a cause predicts of one lane at one check.

    level: the nearest level. output_mm: mm, None where no disc carries the follower and nothing is known.
    agrees: whether what was seen there agrees with it; None where nothing was seen.
    """

    level: str
    output_mm: float | None
    agrees: bool | None = None


@dataclass(frozen=True)
class LikelyCause:
    """One fault or a pair, with how well it explains the sheet.

    statement: of all its faults. explained: sightings that differ from the drawn program and that it
    predicts. against: sightings that it contradicts. rank: from 1; equal ones share it. predicted: one
    mapping a check, by lane id. told: a sentence about the first sighting that it contradicts ("B3 would be
    right at 252.0°; you saw left."), empty where there is none. brought: items that it brings, a number for
    each count of the sheet.
    """

    faults: tuple[BuildFault, ...]
    statement: str
    explained: int
    against: int
    rank: int
    predicted: tuple[Mapping[str, PredictedSighting], ...]
    told: str = ""
    brought: tuple[int, ...] = ()

    @property
    def score(self) -> float:
        """What it is ranked by: sightings explained less half of those against (a share of them all)."""
        return self.explained - self.against / 2

    @property
    def lanes(self) -> tuple[str, ...]:
        """Ids of the lanes that its faults touch, each once; empty where they touch all."""
        return tuple(dict.fromkeys(lane for fault in self.faults for lane in fault.lanes))


@dataclass(frozen=True)
class AlikeCauses:
    """Causes of one rank that what was seen cannot tell apart, the simplest first.

    told: a sentence about the others ("Crossed levers on B2 and B3 would look the same: check the codes
    first."), empty where the cause is alone.
    """

    causes: tuple[LikelyCause, ...]
    told: str = ""

    @property
    def first(self) -> LikelyCause:
        """The simplest of them."""
        return self.causes[0]


@dataclass(frozen=True)
class NextLook:
    """The observation that tells the first two causes apart.

    lane: id. angle_deg: master angle, degrees. step: number of the step it is in, from 1. first, second: what
    the two causes predict there. sentence: "Look at C2 in step 5 (207.0°) next: it tells them apart."
    """

    lane: str
    angle_deg: float
    step: int
    first: PredictedSighting
    second: PredictedSighting
    sentence: str


@dataclass(frozen=True)
class FaultRanking:
    """All likely causes of a sheet, best first.

    sightings, differences: how many were seen, and how many differ from the drawn program. groups: causes
    that cannot be told apart, group by group. clear: whether the first group can be believed. message: what
    to say above the list ("Not clear yet. 2 more checks will tell." or "4 of 78 sightings differ.").
    next_look: None where nothing would tell more.
    """

    sightings: int
    differences: int
    groups: tuple[AlikeCauses, ...]
    clear: bool
    message: str
    next_look: NextLook | None = None
