"""Steps of assembly: numbered, each with a title, sentences and a drawing.

A step that is like the one before it is not drawn again but counted: its parts are rows of the drawn one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.make.drawing.scene import Scene


@dataclass(frozen=True)
class RepeatedStep:
    """A step that is done as the one before it: its number, the code and name of its part, its revision.

    bottom_mm: height at which its part is put, from the bottom of its stack; None where that says nothing.
    """

    number: int
    code: str
    name: str
    revision: str
    bottom_mm: float | None = None


@dataclass(frozen=True, eq=False)
class AssemblyStep:
    """A step of assembly. text: sentences, one action each. scene: its drawing, mm on paper, None without.

    codes: of the parts that it adds. repeats: steps that are the same for further parts.
    """

    number: int
    title: str
    text: str
    scene: Scene | None
    codes: tuple[str, ...] = ()
    repeats: tuple[RepeatedStep, ...] = ()

    @property
    def last_number(self) -> int:
        """Number of the last step that this one stands for."""
        return self.repeats[-1].number if self.repeats else self.number


def repeats_text(repeats: Sequence[RepeatedStep]) -> str:
    """Return the sentence that counts steps that are the same; empty for none."""
    if not repeats:
        return ""
    first, last = repeats[0], repeats[-1]
    if first is last:
        return f"Step {first.number} is the same for {first.code or first.name}."
    if last.number == first.number + 1:
        codes = f"{first.code or first.name} and {last.code or last.name}"
        return f"Steps {first.number} and {last.number} are the same for {codes}."
    codes = f"{first.code or first.name} to {last.code or last.name}"
    return f"Steps {first.number} to {last.number} are the same for {codes}."
