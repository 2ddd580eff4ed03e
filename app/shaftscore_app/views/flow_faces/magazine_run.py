"""One magazine over the run, as data: counts as steps, openings, and its first failure; no Qt."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.base.angles import TURN
from shaftscore.judge.findings import Finding
from shaftscore.judge.flow.drawn import DrawnRun, ElementKey, FlowNetwork, GateElement, MagazineElement


@dataclass(frozen=True)
class Opening:
    """A moment at which a gate opens.

    at: turns from the start. gate: its name. is_empty: it found nothing.
    """

    at: float
    gate: str
    is_empty: bool

    @property
    def deg(self) -> float:
        """The master angle, degrees."""
        return self.at % 1 * TURN

    @property
    def place(self) -> str:
        """Turn and angle: "turn 5, 192.7°"."""
        return f"turn {int(self.at) + 1:,}, {wording.degrees(self.deg)}"

    @property
    def text(self) -> str:
        """What happens: "turn 5, 192.7°: A4 right opens empty"."""
        return f"{self.place}: {self.gate} {'opens empty' if self.is_empty else 'lets one through'}"


@dataclass(frozen=True)
class MagazineRun:
    """What is drawn of a magazine.

    steps: (turns from the start, count from then on). openings: by time. finding: what is found about it, or
    None; is_stale: of an earlier project.
    """

    name: str
    capacity: int
    turns: int
    steps: tuple[tuple[float, int], ...]
    openings: tuple[Opening, ...]
    finding: Finding | None
    is_stale: bool

    @property
    def title(self) -> str:
        """The heading."""
        return f"{self.name}, count over {wording.counted(self.turns, 'turn')}"

    @property
    def first_empty(self) -> Opening | None:
        """The first opening that found nothing; from there on counts mean little."""
        return next((one for one in self.openings if one.is_empty), None)

    @property
    def empty_count(self) -> int:
        """How many openings found nothing."""
        return sum(one.is_empty for one in self.openings)

    @property
    def spoken(self) -> str:
        """All of it in one sentence."""
        lowest = min((count for _, count in self.steps), default=0)
        openings = wording.counted(len(self.openings), "opening")
        said = f"{self.title}: {openings}, lowest {lowest} of {self.capacity}"
        first = self.first_empty
        return (
            f"{said}. Empty at {self.empty_count}, first at {first.place}."
            if first is not None
            else f"{said}."
        )


def magazine_of(network: FlowNetwork, key: ElementKey | None) -> MagazineElement | None:
    """Return the magazine that an element stands for: itself, or the one that a gate lets items out of."""
    element = network.by_key.get(key) if key is not None else None
    if isinstance(element, GateElement):
        element = network.by_key.get(element.magazine)
    return element if isinstance(element, MagazineElement) else None


def run_of_magazine(magazine: MagazineElement, network: FlowNetwork, run: DrawnRun) -> MagazineRun | None:
    """Return what is drawn of a magazine; None where the run does not know it."""
    steps = run.history.counts.get(magazine.id)
    if steps is None or not run.turns:
        return None
    cycle = run.history.cycle_us
    names = {element.id: element.name for element in network.elements if isinstance(element, GateElement)}
    return MagazineRun(
        name=magazine.name,
        capacity=magazine.capacity,
        turns=run.turns,
        steps=tuple((time / cycle, count) for time, count in steps),
        openings=tuple(
            Opening(one.time_us / cycle, names.get(one.gate, one.gate), one.is_empty)
            for one in run.openings
            if one.magazine == magazine.id
        ),
        finding=None if magazine.mark is None else magazine.mark.finding,
        is_stale=network.is_stale,
    )
