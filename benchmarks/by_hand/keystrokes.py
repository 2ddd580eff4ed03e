"""The keystroke-level model: how long a practised person takes for what they do, without errors.

S. K. Card, T. P. Moran and A. Newell, "The keystroke-level model for user performance time with interactive
systems", Communications of the ACM 23 (1980) 396-410, and "The Psychology of Human-Computer Interaction"
(1983), chapter 8; 0.1 s for pressing or releasing a button of the mouse is D. Kieras's, "Using the
keystroke-level model to estimate execution times" (1993). The times are from memory.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

SECONDS = {
    "K": 0.28,
    "B": 0.10,
    "P": 1.10,
    "H": 0.40,
    "M": 1.35,
}
"""Operator to its time, s. K: a keystroke of an average typist (40 words a minute); Shift and Ctrl are
keystrokes too. B: pressing or releasing a button of the mouse. P: pointing at something on the screen.
H: moving a hand between keyboard and mouse. M: preparing in the mind for what comes next."""


@dataclass
class KeystrokeCount:
    """What a person has done: operators, and how long the program let them wait, s.

    waited_s: from an act until everything that it made the window do was done.
    """

    operators: Counter[str] = field(default_factory=Counter)
    waited_s: float = 0.0

    def add(self, operator: str, count: int = 1) -> None:
        """Count an operator. Raises KeyError for one that the model does not have."""
        _ = SECONDS[operator]
        self.operators[operator] += count

    @property
    def person_s(self) -> float:
        """Time of the person alone, s."""
        return sum(SECONDS[operator] * count for operator, count in self.operators.items())

    @property
    def total_s(self) -> float:
        """Time of the person, and of waiting for the program, s."""
        return self.person_s + self.waited_s

    @property
    def keys(self) -> int:
        """Keys pressed."""
        return self.operators["K"]

    @property
    def clicks(self) -> int:
        """Clicks and drags: two changes of a button each."""
        return self.operators["B"] // 2
