"""The fastest safe speed: the highest speed of the machine at which no error is found.

Whether a project holds at a speed is what the real solver finds in it at that speed, as drawn: without the
chance and without cures, on which no error as drawn depends. From a speed that holds, the speed is raised
until something fails; the range is then halved. So everything holds at the speed given, and just above it
the finding named does not; whether it would hold again at some much higher speed is not asked.

Most of a machine does not care how fast it turns. So the search looks at the rules between lanes and at the
flow alone, and the speed that it comes to is then examined as a whole. Where that finds an error, what it is
about is looked at as well (the motions, discs and forces of its lanes, or everything), and the search goes
on. The work is bounded by a count, never by a clock: where it ends early, the highest speed that was found
to hold is the answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shaftscore.base.progress import Progress, Silent
from shaftscore.base.wording import down_to, number, rpm
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import PARTS_RULES, Report, examine_as_drawn, examine_parts
from shaftscore.model import Project
from shaftscore.placing.drawn import errors_as_drawn
from shaftscore.placing.why import at_speed

MOST_DOUBLINGS = 7
"""A machine is looked at up to 128 times its speed, and down to a 128th."""

LEAST_RPM, MOST_RPM = 0.001, 10_000.0
"""Lowest speed that a project may have, and the highest that is looked at, rev/min."""

NEAR = 0.005
"""The range of speeds is halved until it is this share of the speed."""

MOST_BLOCKS = 30_000
"""No further speed is tried once so many blocks were examined, lanes counted as one block more each."""

PART = 0.25
"""Share of the work of a whole examination that one of parts takes."""

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
    low, high, ended = trial.closed_in()
    while low is not None and trial.fails_whole(low):
        if trial.is_spent:
            low, high, ended = *trial.surely(), True
            break
        low, high, ended = trial.closed_in()
    limit = None if high is None else trial.limit(high, whole=low is None)
    return FastestSpeed(low, limit, _said(at_speed(project, high or 1.0), limit), high, ended)


class _Trial:
    """Remembers what was found at which speed, and what is looked at."""

    def __init__(self, project: Project, progress: Progress) -> None:
        self._project, self._progress = project, progress
        self._last: Report | None = None
        self._parts: dict[float, Finding | None] = {}
        self._whole: dict[float, Finding | None] = {}
        self._lanes: frozenset[str] = frozenset()
        self._is_whole = False
        self._work = 0.0
        self._blocks = sum(1 + max(len(lane.blocks), len(lane.points or ())) for lane in project.lanes)

    @property
    def is_spent(self) -> bool:
        """Whether the work that one search may take is done."""
        return self._work >= MOST_BLOCKS

    def fails(self, speed_rpm: float) -> bool:
        """Return whether an error is found at a speed in what is looked at, the parts first."""
        return self._fails_in_part(speed_rpm) or (self._is_whole and self.fails_whole(speed_rpm))

    def fails_whole(self, speed_rpm: float) -> bool:
        """Return whether a whole examination finds an error at a speed; such are looked at from then on."""
        if speed_rpm not in self._whole:
            errors = self._errors(speed_rpm, whole=True)
            self._whole[speed_rpm] = next(iter(errors), None)
            self._look_at(errors)
        return self._whole[speed_rpm] is not None

    def _fails_in_part(self, speed_rpm: float) -> bool:
        if speed_rpm in self._whole:
            return self._whole[speed_rpm] is not None
        if speed_rpm not in self._parts:
            self._parts[speed_rpm] = next(iter(self._errors(speed_rpm, whole=False)), None)
        return self._parts[speed_rpm] is not None

    def limit(self, speed_rpm: float, *, whole: bool) -> Finding | None:
        """Return the first error of a speed that was found to fail; whole: of a whole examination."""
        if whole:
            self.fails_whole(speed_rpm)
        return self._whole.get(speed_rpm) or self._parts.get(speed_rpm)

    def _errors(self, speed_rpm: float, *, whole: bool) -> Sequence[Finding]:
        """Examine the machine at a speed, all of it or in parts."""
        done = len(self._parts) + len(self._whole)
        self._progress.report(min(0.95, done / (done + 6)), f"Trying {rpm(speed_rpm)}")
        tried = at_speed(self._project, speed_rpm)
        if whole:
            self._last = examine_as_drawn(tried, self._last)
        else:
            self._last = examine_parts(tried, self._last, self._lanes)
        self._work += self._blocks * (1.0 if whole else PART)
        return errors_as_drawn(self._last.findings)

    def _look_at(self, errors: Sequence[Finding]) -> None:
        """Look at the lanes of errors that the parts did not show from now on, or else at everything."""
        lanes = frozenset(lane for one in errors if one.rule in PARTS_RULES for lane in one.lanes)
        if lanes - self._lanes:
            self._lanes |= lanes
            self._parts = {speed: error for speed, error in self._parts.items() if error is not None}
        elif errors:
            self._is_whole = True

    def closed_in(self) -> tuple[float | None, float | None, bool]:
        """Return a speed that holds and a higher one that fails, either None where there is none.

        With them whether the work ended before they were near.
        """
        low, high = self._bracket()
        if low is None or high is None:
            return low, high, self.is_spent
        while high / low > 1 + NEAR and not self.is_spent:
            middle = (low + high) / 2
            low, high = (low, middle) if self.fails(middle) else (middle, high)
        if high / low > 1 + NEAR:
            return low, high, True
        return next((speed for speed in _rounded(low) if not self.fails(speed)), low), high, False

    def _bracket(self) -> tuple[float | None, float | None]:
        """Return a speed that holds and a higher one that fails, either None where there is none."""
        speed = self._project.shaft.speed_rpm
        if self.fails(speed):
            for _ in range(MOST_DOUBLINGS):
                if speed / 2 < LEAST_RPM or self.is_spent:
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

    def surely(self) -> tuple[float | None, float | None]:
        """Return the highest speed that holds in a whole examination, the drawn one at least looked at.

        With it the lowest speed above it that is known to fail.
        """
        self.fails_whole(self._project.shaft.speed_rpm)
        low = max((speed for speed, error in self._whole.items() if error is None), default=None)
        known = {**self._parts, **self._whole}
        failing = [speed for speed, error in known.items() if error is not None and speed > (low or 0.0)]
        return low, min(failing, default=None)


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
