"""One cause, one finding: which findings follow from others.

A finding is a *consequence* of another, its *cause*, where it is of the same element or downstream of it, is
no worse than it, and is gone when the cure of the cause is tried in a copy. Causes come first; what was not
confirmed, for want of a cure that is an edit or of work that may be spent, is a cause of its own. In a hurry
no cure is tried: what followed before still does while both are found.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from shaftscore.judge.findings import Cure, Finding
from shaftscore.judge.flow.result import CHECKED as FLOW_RULES
from shaftscore.model import Diverter, Project

CausePlace = int | None
"""The place of a finding's cause in the list of findings, or None where it is a cause itself."""

MOST_TRIES = 24
"""Cures that are tried in a copy, at most; those with the most candidates first."""

MOST_LANES = 4_096
"""Lanes of all copies together: a try looks at every lane once."""

MOST_BLOCKS = 4_000
"""Blocks that are laid out again in all copies together; the try that passes it is the last."""

FACTS = ("magazine", "channel", "outlet", "full")
"""Facts of findings that name a part of the flow."""


@dataclass(frozen=True)
class TriedCopy:
    """What is found in a copy with a cure made: its findings, the rules judged, and the blocks laid out."""

    findings: tuple[Finding, ...]
    checked: frozenset[str]
    blocks: int


Try = Callable[[Cure], TriedCopy | None]
"""Tries a cure in a copy; None where it cannot be made."""


@dataclass(frozen=True)
class FoldedFindings:
    """Findings, causes first, each with the place of its cause or None."""

    findings: tuple[Finding, ...]
    causes: tuple[CausePlace, ...]

    @property
    def roots(self) -> tuple[Finding, ...]:
        """The findings that follow from no other."""
        return tuple(one for one, cause in self._pairs if cause is None)

    def following(self, root: Finding) -> tuple[Finding, ...]:
        """Return what follows from a finding, in order; raises ValueError for one that is not here."""
        place = next((n for n, one in enumerate(self.findings) if one is root), None)
        if place is None:
            raise ValueError(f"the finding {root.rule} of {root.lanes} is not among these")
        return tuple(one for one, cause in self._pairs if cause == place)

    @property
    def keys(self) -> dict[Hashable, Hashable]:
        """The key of each consequence with that of its cause."""
        return {one.key: self.findings[cause].key for one, cause in self._pairs if cause is not None}

    @property
    def _pairs(self) -> Iterator[tuple[Finding, CausePlace]]:
        return zip(self.findings, self.causes, strict=True)


def fold(findings: Sequence[Finding], project: Project, try_out: Try) -> FoldedFindings:
    """Fold findings under their causes: candidates first, then those that a try confirms."""
    gone = [entry for entry in _tried(findings, project, try_out) if entry[1]]
    following: dict[Hashable, Hashable] = {}
    heads: set[Hashable] = set()
    for cause, vanished in sorted(gone, key=lambda entry: (-len(entry[1]), entry[0].order)):
        fresh = [one for one in vanished if one.key not in heads and one.key not in following]
        if cause.key in following or not fresh:
            continue
        heads.add(cause.key)
        following |= {one.key: cause.key for one in fresh}
    return _folded(findings, following)


def kept_folds(findings: Sequence[Finding], before: FoldedFindings | None) -> FoldedFindings:
    """Fold findings as they were before, where cause and consequence are both still found."""
    there = {one.key for one in findings}
    kept = before.keys if before is not None else {}
    return _folded(findings, {key: cause for key, cause in kept.items() if cause in there})


def _folded(findings: Sequence[Finding], following: Mapping[Hashable, Hashable]) -> FoldedFindings:
    """Put causes first, and give each finding the place of its cause."""
    if not following:
        return FoldedFindings(tuple(findings), (None,) * len(findings))
    roots = [one for one in findings if one.key not in following]
    rest = [one for one in findings if one.key in following]
    places = {one.key: place for place, one in reversed(list(enumerate(roots)))}
    causes = (*(None for _ in roots), *(places[following[one.key]] for one in rest))
    return FoldedFindings((*roots, *rest), causes)


# Which may follow


def _tried(
    findings: Sequence[Finding], project: Project, try_out: Try
) -> Iterator[tuple[Finding, list[Finding]]]:
    """Yield causes with the candidates that are gone when their cure is tried, while there is work left."""
    tries, lanes, blocks = MOST_TRIES, MOST_LANES, MOST_BLOCKS
    for cure, group in _by_cure(findings, project):
        tries, lanes = tries - 1, lanes - max(1, len(project.lanes))
        if min(tries, lanes, blocks) < 0:
            return
        copy = try_out(cure)
        if copy is None:
            continue
        blocks -= copy.blocks
        vanished = _vanished(findings, copy)
        for cause, candidates in group:
            if cause.key in vanished:
                yield cause, [one for one in candidates if one.key in vanished]


Candidates = tuple[Finding, list[Finding]]
"""A finding whose cure is an edit, and those that may follow from it."""


def _by_cure(findings: Sequence[Finding], project: Project) -> list[tuple[Cure, list[Candidates]]]:
    """Return the cures to try, those with the most candidates first, each with the findings that it cures."""
    groups: dict[Cure, list[Candidates]] = defaultdict(list)
    for cause, candidates in _candidates(findings, project):
        if cause.cure is not None:
            groups[cause.cure].append((cause, candidates))

    def weight(group: tuple[Cure, list[Candidates]]) -> tuple[int, tuple[float | str, ...]]:
        return -max(len(candidates) for _, candidates in group[1]), group[1][0][0].order

    return sorted(groups.items(), key=weight)


def _candidates(findings: Sequence[Finding], project: Project) -> Iterator[Candidates]:
    """Yield findings whose cure is an edit with those of the same element or downstream that are no worse."""
    about = [_elements(one) for one in findings]
    at = defaultdict[Hashable, list[int]](list)
    for place, elements in enumerate(about):
        for element in elements:
            at[element].append(place)
    machine = [place for place, elements in enumerate(about) if not elements]
    downstream = _downstream(project)
    for place, one in enumerate(findings):
        if one.cure is None or not one.cure.is_edit:
            continue
        reached = {n for element in _reached(about[place], downstream) for n in at[element]} | set(machine)
        may = sorted(n for n in reached if n != place and findings[n].severity.rank >= one.severity.rank)
        if may:
            yield one, [findings[n] for n in may]


def _elements(finding: Finding) -> frozenset[Hashable]:
    """Return what a finding is of: lanes, or gates of lanes, and parts of the flow; empty: the machine."""
    kind = "gate of" if finding.rule in FLOW_RULES else "lane"
    lanes = [(kind, lane) for lane in finding.lanes]
    return frozenset([*lanes, *(("flow", finding.facts[fact]) for fact in FACTS if fact in finding.facts)])


def _downstream(project: Project) -> Mapping[Hashable, list[Hashable]]:
    """Return what lies next downstream of each element.

    A lane moves its gates, and its riders with the disc; a supply fills magazines; a magazine gives to
    its gates; a gate gives to a channel, an outlet or a magazine; a channel and a diverter lead on.
    """
    after = defaultdict[Hashable, list[Hashable]](list)
    for lane in project.lanes:
        after["lane", lane.id].append(("gate of", lane.id))
        if lane.disc_of is not None:
            after["lane", lane.disc_of].append(("lane", lane.id))
    flow = project.flow
    for magazine in flow.magazines if flow is not None else ():
        after["flow", magazine.source].append(("flow", magazine.id))
    for gate in flow.gates if flow is not None else ():
        after["flow", gate.source].append(("gate of", gate.state.lane))
        after["gate of", gate.state.lane].append(("flow", gate.to))
    for channel in flow.channels if flow is not None else ():
        to = channel.to
        ends = [("flow", branch.to) for branch in to.by_state] if isinstance(to, Diverter) else [("flow", to)]
        after["flow", channel.id] += ends
        if isinstance(to, Diverter):
            after["gate of", to.lane] += ends
    return after


def _reached(start: Iterable[Hashable], downstream: Mapping[Hashable, list[Hashable]]) -> set[Hashable]:
    """Return some elements and all downstream of them."""
    seen, waiting = set(start), deque(start)
    while waiting:
        for element in downstream.get(waiting.popleft(), ()):
            if element not in seen:
                seen.add(element)
                waiting.append(element)
    return seen


# Which are gone


def _vanished(findings: Sequence[Finding], copy: TriedCopy) -> set[Hashable]:
    """Return the keys of findings that are gone in a copy.

    What is not checked follows from nothing: a copy is checked in less. Nothing of a rule that the copy did
    not judge is gone; nor of a rule and lanes for which the copy finds something new: it may be the same one,
    moved.
    """
    before, after = _grouped(findings), _grouped(copy.findings)
    gone: set[Hashable] = set()
    for group, keys in before.items():
        now = after.get(group, set())
        if group[0] != "not-checked" and group[0] in copy.checked and not now - keys:
            gone |= keys - now
    return gone


def _grouped(findings: Iterable[Finding]) -> dict[tuple[str, frozenset[str]], set[Hashable]]:
    """Return the keys of findings by rule and lanes."""
    groups = defaultdict[tuple[str, frozenset[str]], set[Hashable]](set)
    for one in findings:
        groups[one.rule, frozenset(one.lanes)].add(one.key)
    return groups
