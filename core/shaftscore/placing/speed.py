"""The fastest safe speed: the highest speed of the machine at which no error is found.

Whether a project holds at a speed is what the real solver finds in it at that speed, as drawn: without the
chance and without cures, on which no error as drawn depends. From a speed that holds, the speed is raised
until something fails; the range is then halved. So everything holds at the speed given, and just above it
the finding named does not; whether it would hold again at some much higher speed is not asked. The work is
bounded by a count, never by a clock: where it ends early, the highest speed that was found to hold is the
answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shaftscore.base.progress import Progress, Silent
from shaftscore.base.wording import down_to, number, rpm
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import Report, examine_as_drawn
from shaftscore.model import Project
from shaftscore.placing.drawn import errors_as_drawn
from shaftscore.placing.why import at_speed

MOST_DOUBLINGS = 7
"""A machine is looked at up to 128 times its speed, and down to a 128th."""

MOST_RPM = 10_000.0
"""Highest speed that is looked at, rev/min."""

NEAR = 0.005
"""The range of speeds is halved until it is this share of the speed."""

MOST_BLOCKS = 30_000
"""No further speed is tried once so many blocks were examined, lanes counted as one block more each."""

DIGITS = 3
"""Digits to which a speed is rounded down."""


@dataclass(frozen=True)
class FastestSpeed:
    """The result.

    speed_rpm: highest speed at which all holds; None where none was found. limited_by: the first error just
    above it (at the slowest speed looked at, where none holds); None where nothing limits it. text: that
    finding in words. fails_at_rpm: lowest speed looked at with an error. ended: whether the search came to
    the end of its work before it had closed in on the speed.
    """

    speed_rpm: float | None
    limited_by: Finding | None
    text: str
    fails_at_rpm: float | None = None
    ended: bool = False


def fastest_safe_speed(project: Project, progress: Progress | None = None) -> FastestSpeed:
    """Find the highest speed at which no error is found. Raises Cancelled if progress does."""
    trial = _Trial(project, progress or Silent())
    low, high = trial.bracket()
    if low is None or high is None:
        found = trial.errors.get(high) if high is not None else None
        return FastestSpeed(low, found, _said(project, found), high, trial.is_spent)
    while high / low > 1 + NEAR and not trial.is_spent:
        middle = (low + high) / 2
        low, high = (low, middle) if trial.fails(middle) else (middle, high)
    ended = high / low > 1 + NEAR
    speed = low if ended else next((s for s in _rounded(low) if not trial.fails(s)), low)
    limit = trial.errors[high]
    return FastestSpeed(speed, limit, _said(at_speed(project, high), limit), high, ended)


class _Trial:
    """Remembers what was found at which speed."""

    def __init__(self, project: Project, progress: Progress) -> None:
        self._project, self._progress = project, progress
        self.errors: dict[float, Finding | None] = {}
        self._last: Report | None = None
        self._blocks = sum(1 + max(len(lane.blocks), len(lane.points or ())) for lane in project.lanes)

    @property
    def is_spent(self) -> bool:
        """Whether the work that one search may take is done."""
        return len(self.errors) * self._blocks >= MOST_BLOCKS

    def fails(self, speed_rpm: float) -> bool:
        """Return whether an error is found at a speed."""
        if speed_rpm not in self.errors:
            done = len(self.errors)
            self._progress.report(min(0.95, done / (done + 6)), f"Trying {rpm(speed_rpm)}")
            self._last = examine_as_drawn(at_speed(self._project, speed_rpm), self._last)
            self.errors[speed_rpm] = next(iter(errors_as_drawn(self._last.findings)), None)
        return self.errors[speed_rpm] is not None

    def bracket(self) -> tuple[float | None, float | None]:
        """Return a speed that holds and a higher one that fails, either None where there is none."""
        speed = self._project.shaft.speed_rpm
        if self.fails(speed):
            for _ in range(MOST_DOUBLINGS):
                if self.is_spent:
                    break
                if not self.fails(speed / 2):
                    return speed / 2, speed
                speed /= 2
            return None, speed
        for _ in range(MOST_DOUBLINGS):
            if 2 * speed > MOST_RPM or self.is_spent:
                break
            if self.fails(2 * speed):
                return speed, 2 * speed
            speed *= 2
        return speed, None


def _rounded(speed_rpm: float) -> Iterator[float]:
    """Yield a speed rounded down to few digits, coarse first."""
    for digits in (DIGITS, DIGITS + 2):
        whole = len(number(speed_rpm, 0))
        yield down_to(speed_rpm, 10.0 ** (whole - digits))


def _said(project: Project, finding: Finding | None) -> str:
    if finding is None:
        return ""
    said = words(finding, project)
    return ": ".join(filter(None, (" ".join(filter(None, (said.title, said.lanes))), said.what)))
