"""The items of a turn as an arranging problem sees them: when they leave, and the ways that they may take."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.model import Gate, State
from shaftscore.placing.lanes import HeldInterval


@dataclass(frozen=True)
class ItemWay:
    """One way of an item: its passes (channel, earliest, latest), what diverters must show, its end.

    Times are steps after the item left its gate; asked: (state, earliest, latest). literal: 1 while the
    item goes this way; None where there is no other.
    """

    passes: tuple[tuple[str, float, float], ...]
    asked: tuple[tuple[State, float, float], ...]
    end: str
    literal: int | None = None

    @property
    def window(self) -> tuple[float, float]:
        """Earliest and latest arrival at the end."""
        return self.passes[-1][1:] if self.passes else (0.0, 0.0)

    @property
    def literals(self) -> tuple[int, ...]:
        """The literal, where there is one."""
        return () if self.literal is None else (self.literal,)


@dataclass(frozen=True)
class Leaving:
    """One item a turn: its gate, the moment (an interval of no length), and its ways."""

    gate: Gate
    at: HeldInterval
    ways: tuple[ItemWay, ...]
