"""One cause, one finding: machines by hand in which some findings follow from others."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Cure, Finding, Severity, found
from shaftscore.judge.report import QUICK, Report, examine, report_json, verdict_text
from shaftscore.judge.report import causes as module
from shaftscore.judge.report.causes import TriedCopy, fold, kept_folds
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Project, Supply, replaced
from tests.machines import at, exclusive, gate, machine

CURE = {name: Cure(sentence=f"Do {name}.", edit="set_name", arguments={"name": name}) for name in "ABCD"}


def starving(gates: int = 6, rate: float = 3.0, tubes: int = 1) -> Project:
    """A hopper that gives too little to tubes, each with some gates; a turn takes 10 s."""
    names = [f"{tube}{n}" for tube in range(tubes) for n in range(gates)]
    apart = 360.0 / len(names)
    lanes = [gate(f"G{name}", n * apart, n * apart + apart / 3, apart / 3) for n, name in enumerate(names)]
    flow = Flow(
        supplies=tuple(Supply(id=f"hopper{tube}", rate_per_min=rate) for tube in range(tubes)),
        magazines=tuple(
            Magazine(id=f"tube{tube}", source=f"hopper{tube}", capacity=8, start_count=8)
            for tube in range(tubes)
        ),
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.1, to="tray"),),
        outlets=(Outlet(id="tray"),),
        gates=tuple(
            Gate(
                id=f"g{name}",
                state=at(f"g{name}", "open"),
                source=f"tube{name[0]}",
                to="chute",
                item="bead",
                item_s=0.05,
                mode="single",
            )
            for name in names
        ),
    )
    return machine(*lanes, flow=flow)


def roots(report: Report) -> list[Finding]:
    return list(report.folded.roots)


def test_gates_that_starve_of_one_hopper_are_one_cause() -> None:
    """The hopper gives 3 a minute of the 36 that six gates take: all are gone once it gives 36."""
    report = examine(starving())
    assert {one.rule for one in report.findings} == {"starvation"}
    assert len(report.findings) == 6
    assert report.causes == (None, 0, 0, 0, 0, 0)
    (root,) = roots(report)
    assert root.cure is not None
    fixed = apply_edit(report.project, root.cure.edit or "", **root.cure.arguments).project
    assert "starvation" not in {one.rule for one in examine(fixed).findings}
    assert verdict_text(report) == "1 error, and 5 that follow from it."


def test_two_hoppers_are_two_causes() -> None:
    report = examine(starving(gates=3, tubes=2))
    heads = roots(report)
    assert len(heads) == 2
    tubes = {str(one.facts["magazine"]): report.folded.following(one) for one in heads}
    assert set(tubes) == {"tube0", "tube1"}
    for tube, following in tubes.items():
        assert {one.facts["magazine"] for one in following} == {tube}
    assert len(report.findings) == len(heads) + sum(map(len, tubes.values()))


def test_the_place_of_a_cause_is_that_of_the_json() -> None:
    report = examine(starving(gates=3, tubes=2))
    listed = report_json(report)["findings"]
    assert isinstance(listed, list)
    causes = [one["cause"] for one in listed]
    assert causes[:2] == [None, None]
    assert all(listed[cause]["cause"] is None for cause in causes[2:])
    lanes = [one["lanes"] for one in listed]
    assert lanes == [list(one.lanes) for one in report.findings]
    for one, cause in zip(listed, causes, strict=True):
        assert cause is None or one["lanes"][0][1] == listed[cause]["lanes"][0][1]  # the same tube


def test_findings_of_different_lanes_are_causes_of_their_own() -> None:
    rule = (exclusive(at("a", "open"), at("b", "open")), exclusive(at("c", "open"), at("d", "open")))
    report = examine(
        machine(
            gate("A", 100, 130), gate("B", 120, 150), gate("C", 200, 230), gate("D", 220, 250), rules=rule
        )
    )
    overlaps = [one for one in report.findings if one.rule == "overlap"]
    assert len(overlaps) == 2
    assert all(cause is None for cause in report.causes)


def test_in_a_hurry_what_followed_still_does() -> None:
    first = examine(starving())
    faster = replaced(first.project, name="Another name")
    hurried = examine(faster, first, stage=QUICK)
    assert hurried.causes == first.causes
    assert examine(faster, stage=QUICK).causes == ()


# The rules of folding, on findings by hand


def one(rule: str, *lanes: str, cure: str = "", severity: Severity = Severity.ERROR) -> Finding:
    return found(rule, lanes, severity=severity, cure=CURE.get(cure))


class Copies:
    """Answers for copies: which findings are left after each cure."""

    def __init__(self, findings: list[Finding], **gone: list[int]) -> None:
        self.findings, self.gone = findings, gone
        self.tried: list[str] = []
        self.blocks = 1
        self.checked = frozenset(each.rule for each in findings)

    def __call__(self, cure: Cure) -> TriedCopy | None:
        name = str(cure.arguments["name"])
        self.tried.append(name)
        left = [each for n, each in enumerate(self.findings) if n not in self.gone.get(name, [])]
        return TriedCopy(tuple(left), self.checked, self.blocks)


EMPTY = machine(gate("A", 0, 60))


def test_what_a_cure_removes_follows() -> None:
    findings = [one("overlap", "a", "b", cure="A"), one("interlock", "b", "c"), one("undercut", "b")]
    folded = fold(findings, EMPTY, Copies(findings, A=[0, 1]))
    assert [each.rule for each in folded.findings] == ["overlap", "undercut", "interlock"]
    assert folded.causes == (None, None, 0)


def test_what_stays_when_the_cure_is_tried_is_a_cause_of_its_own() -> None:
    findings = [one("overlap", "a", "b", cure="A"), one("undercut", "b")]
    assert fold(findings, EMPTY, Copies(findings, A=[0])).causes == (None, None)


def test_a_cure_that_does_not_remove_its_own_finding_explains_nothing() -> None:
    findings = [one("overlap", "a", "b", cure="A"), one("undercut", "b")]
    assert fold(findings, EMPTY, Copies(findings, A=[1])).causes == (None, None)


def test_what_is_neither_the_same_element_nor_downstream_does_not_follow() -> None:
    findings = [one("overlap", "a", "b", cure="A"), one("undercut", "c")]
    tried = Copies(findings, A=[0, 1])
    assert fold(findings, EMPTY, tried).causes == (None, None)
    assert tried.tried == []  # no candidate: nothing to confirm


def test_an_error_never_hides_behind_a_warning() -> None:
    findings = [
        one("self-locking", "a"),
        one("pressure-angle", "a", cure="A", severity=Severity.WARNING),
    ]
    assert fold(findings, EMPTY, Copies(findings, A=[0, 1])).causes == (None, None)


def test_of_two_that_remove_each_other_the_first_is_the_cause() -> None:
    findings = [one("overlap", "a", cure="A"), one("interlock", "a", cure="B")]
    ordered = sorted(findings, key=lambda each: each.order)
    folded = fold(ordered, EMPTY, Copies(ordered, A=[0, 1], B=[0, 1]))
    assert folded.causes == (None, 0)
    assert folded.findings[0] is ordered[0]


def test_a_cause_that_explains_more_goes_before_one_that_explains_less() -> None:
    findings = [
        one("interlock", "a", cure="A"),
        one("overlap", "a", cure="B"),
        one("undercut", "a"),
        one("velocity-jump", "a"),
    ]
    folded = fold(findings, EMPTY, Copies(findings, A=[0, 1], B=[1, 2, 3]))
    assert [each.rule for each in folded.roots] == ["interlock", "overlap"]
    assert folded.causes == (None, None, 1, 1)


def test_a_finding_that_only_moves_does_not_follow() -> None:
    """The same rule and lanes, in another turn: a feed that is a little faster only fails later."""
    findings = [one("overlap", "a", cure="A"), replace(one("starvation", "a"), turn=5)]
    later = replace(findings[1], turn=9)

    def copy(_cure: Cure) -> TriedCopy:
        return TriedCopy((later,), frozenset({"overlap", "starvation"}), 1)

    assert fold(findings, EMPTY, copy).causes == (None, None)


def test_what_the_copy_did_not_judge_does_not_follow() -> None:
    findings = [one("overlap", "a", cure="A"), one("undercut", "a"), one("not-checked", "a")]
    tried = Copies(findings, A=[0, 1, 2])
    tried.checked = frozenset({"overlap", "not-checked"})
    assert fold(findings, EMPTY, tried).causes == (None, None, None)


def test_work_is_bounded_and_what_is_not_confirmed_is_a_cause(monkeypatch: pytest.MonkeyPatch) -> None:
    findings = [
        one("overlap", "a", cure="A"),
        one("interlock", "a"),
        one("overlap", "b", cure="B"),
        one("interlock", "b"),
        one("undercut", "b"),
    ]
    gone = {"A": [0, 1], "B": [2, 3, 4]}
    monkeypatch.setattr(module, "MOST_TRIES", 1)
    tried = Copies(findings, **gone)
    folded = fold(findings, EMPTY, tried)
    assert tried.tried == ["B"]  # the most candidates first
    assert [each.lanes for each in folded.roots] == [("a",), ("a",), ("b",)]
    monkeypatch.setattr(module, "MOST_TRIES", 24)
    many = Copies(findings, **gone)
    many.blocks = module.MOST_BLOCKS + 1
    fold(findings, EMPTY, many)
    assert many.tried == ["B"]


def test_folds_are_kept_by_key_while_both_are_found() -> None:
    findings = [one("overlap", "a", cure="A"), one("interlock", "a"), one("undercut", "a")]
    folded = fold(findings, EMPTY, Copies(findings, A=[0, 1]))
    assert kept_folds(findings, folded).causes == (None, None, 0)
    assert kept_folds(findings[1:], folded).causes == (None, None)


def test_hundreds_of_findings_cost_little() -> None:
    findings = [one("overlap", "a", f"l{n}", cure="ABCD"[n % 4]) for n in range(400)]
    start = time.process_time()
    fold(findings, EMPTY, Copies(findings, A=list(range(400))))
    assert time.process_time() - start < 2.0
