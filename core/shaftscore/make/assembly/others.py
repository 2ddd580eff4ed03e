"""Parts beside discs and spacers, and what is bought for them: groups that move together, with places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shaftscore.layout import Course, Placement
from shaftscore.make.assembly.body import SectionedBody
from shaftscore.make.assembly.contacts import PairContact
from shaftscore.model import Project

Contacts = Mapping[frozenset[str], PairContact]
"""How pairs meet, by the names of both."""


@dataclass(frozen=True)
class StackPlace:
    """Where a stack is: its axis in plan, the height of its bottom face, and both ends of its rod, mm.

    rod_mm: None where the rod's own record says.
    """

    at: complex = 0j
    bottom_mm: float = 0.0
    rod_mm: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class BoughtBody:
    """Something bought as a plain body; bottom_mm: height of its own z = 0; course: where it is."""

    name: str
    body: SectionedBody
    bottom_mm: float
    course: Course


@dataclass(frozen=True, eq=False)
class PartGroup:
    """Parts that belong together.

    placements, bought: made and bought ones. contacts: of pairs that do not just pass one another, by the
    instances of placements and the names of what is bought. follows: id of the stack in whose turn their
    motion repeats, empty if they stand still. lane: id of their lane. stack: id of that whose place theirs
    follows, None for parts of the machine.
    """

    placements: Sequence[Placement] = ()
    bought: Sequence[BoughtBody] = ()
    contacts: Contacts = field(default_factory=dict)
    follows: str = ""
    lane: str = ""
    stack: str | None = None


@dataclass(frozen=True, eq=False)
class OtherParts:
    """All groups, and the places of stacks by id; stacks without one are proved by themselves."""

    groups: Sequence[PartGroup] = ()
    places: Mapping[str, StackPlace] = field(default_factory=dict)

    def frame_of(self, project: Project, stack: str | None) -> str:
        """Return the frame of a stack's bodies: the machine's, or its own where its place is not known."""
        return "" if stack is None or stack in self.places or len(project.stacks) == 1 else stack
