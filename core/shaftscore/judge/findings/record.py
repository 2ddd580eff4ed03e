"""A finding: something wrong with the machine, as data.

A *finding* has a rule, a severity, a place (lanes and a stretch of the cycle), the measured value with
its limit, the *subjects* that it is about (states and blocks) and, where one is known, a *cure*. Texts
and JSON are derived from it (`judge.findings.words`, `judge.report`). Angles are master
angles, degrees; of a machine with slow stacks they are those of the circle of a round.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef
from shaftscore.judge.findings.rules import RULES, Severity
from shaftscore.model import LevelState, RangeState

Subject = LevelState | RangeState | BlockRef
"""What a finding is about: a state of a lane, or one of its blocks."""

Fact = float | int | str
"""A number or a word that the finding's sentence needs."""


@dataclass(frozen=True, kw_only=True)
class Cure:
    """What would make a finding go away.

    sentence: the order to the maker, with the number to type. edit, arguments: the same as an edit of
    `shaftscore.edits` (`apply_edit(project, edit, **arguments)`); edit is None where it must be done by hand.
    """

    sentence: str
    edit: str | None = None
    arguments: Mapping[str, object] = field(default_factory=dict, hash=False)

    @property
    def is_edit(self) -> bool:
        """Whether the editor can do it."""
        return self.edit is not None


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One finding; see the module's text.

    rule, severity: of `judge.findings.rules.RULES`. lanes: ids, in the order in which the sentence names
    them. span: one stretch of the cycle, or None where there is no place. turn: of the flow's run, from
    1, or None. value, limit: what was measured and what it was measured against, in the rule's unit.
    facts: see the describing function of the rule. place: distinguishes findings with the same
    subjects (a stack that turns several times a cycle), counted from 0. cycles: of the master in the round
    whose circle the span and the fact at_deg speak of; values and other facts are degrees of the master.
    """

    rule: str
    severity: Severity
    lanes: tuple[str, ...]
    span: Arcs | None = None
    turn: int | None = None
    value: float | None = None
    limit: float | None = None
    subjects: tuple[Subject, ...] = ()
    cure: Cure | None = None
    facts: Mapping[str, Fact] = field(default_factory=dict, hash=False)
    place: int = 0
    cycles: Fraction = Fraction(1)

    @property
    def key(self) -> Hashable:
        """What stays the same while a block is dragged, so that lists keep row and selection."""
        return (self.rule, self.lanes, self.subjects, self.turn, self.place)

    @property
    def start_deg(self) -> float | None:
        """Where it starts, degrees, or None."""
        return None if self.span is None else self.span.start

    @property
    def end_deg(self) -> float | None:
        """Where it ends, degrees, 0 <= end < 360 (the full turn: 360), or None."""
        return None if self.span is None else self.span.end

    @property
    def order(self) -> tuple[float | str, ...]:
        """Sorting key: severity, then turn, angle, rule, lanes."""
        start = -1.0 if self.span is None else self.span.start * float(self.cycles)
        return (self.severity.rank, self.turn or 0, start, self.rule, *self.lanes)


def found(
    rule: str,
    lanes: tuple[str, ...],
    *,
    severity: Severity | None = None,
    span: Arcs | None = None,
    turn: int | None = None,
    value: float | None = None,
    limit: float | None = None,
    subjects: tuple[Subject, ...] = (),
    cure: Cure | None = None,
    place: int = 0,
    facts: Mapping[str, Fact] | None = None,
    **more_facts: Fact,
) -> Finding:
    """Make a finding; value and limit in the rule's unit, the rule's own severity unless one is given.

    Facts may be given as a mapping, by keyword, or both. Raises KeyError for an unknown rule.
    """
    return Finding(
        rule=rule,
        severity=severity or RULES[rule].severity,
        lanes=lanes,
        span=span,
        turn=turn,
        value=value,
        limit=limit,
        subjects=subjects,
        cure=cure,
        facts=MappingProxyType({**(facts or {}), **more_facts}),
        place=place,
    )
