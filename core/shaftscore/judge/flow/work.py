"""How much work one simulation may take, in steps, so that a project always gets the same answer.

A step is one slot looked at in one turn; laying out a run costs a step a slot as well. What a limit cuts off
is named in a finding, never passed over.
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_ITEMS = 25_000
"""Items that all gates may let out in a turn; with more the flow is not simulated."""

RUN_STEPS = 2_000_000
"""Steps of the run that is judged."""

NEEDS_STEPS = 2_000_000
"""Steps of all runs that find what the magazines need."""

CURE_STEPS = 2_000_000
"""Steps of all runs that try cures."""

TURN_STEPS = 8
"""What a turn costs on top of its slots, steps."""


class WorkSpentError(Exception):
    """The steps are spent: what was begun has no answer."""


@dataclass
class WorkBudget:
    """Steps that are left."""

    left: int

    def take(self, slots: int) -> bool:
        """Take the steps of one turn, or of one layout, over some slots; False where too few are left."""
        self.left -= slots + TURN_STEPS
        return self.left >= 0

    def spend(self, slots: int) -> None:
        """Take them as well; raises WorkSpentError where too few are left."""
        if not self.take(slots):
            raise WorkSpentError
