"""After a cure that is an edit its finding is gone, whatever the finding and the machine."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from shaftscore.base.tolerance import LIMIT
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Finding
from shaftscore.judge.report import Report, examine
from shaftscore.model import Channel, Flow, Gate, Lane, Magazine, Outlet, Project, Supply
from tests.core.test_seedling_sower import ERRORS, WARNINGS, sower
from tests.core.test_seedling_sower import report as clean_report
from tests.machines import exclusive, gate, machine, order, requires, within
from tests.strategies import projects


def cured_by_edits(report: Report) -> Iterator[Finding]:
    """Yield of each rule the first finding whose cure is an edit."""
    seen = set()
    for finding in report.findings:
        if finding.cure is not None and finding.cure.edit is not None and finding.rule not in seen:
            seen.add(finding.rule)
            yield finding


def hold_cures(report: Report) -> set[str]:
    """Do each cure and look again; returns the rules whose cures were held."""
    held = set()
    for finding in cured_by_edits(report):
        assert finding.cure is not None
        assert finding.cure.edit is not None
        edited = apply_edit(report.project, finding.cure.edit, **finding.cure.arguments).project
        after = examine(edited, report)
        assert is_gone(finding, report, after), finding.cure.sentence
        held.add(finding.rule)
    return held


def is_gone(finding: Finding, before: Report, after: Report) -> bool:
    """Return whether a finding is gone: fewer are like it, and none where it stood.

    Findings of the same subjects are told apart by counting them, so another one may have its number now.
    Those of other bodies of the same lanes have cures of their own.
    """
    counts, left = ([one for one in report.findings if _is_like(one, finding)] for report in (before, after))
    if len(left) >= len(counts):
        return False
    spans = [one.span for one in left if one.span is not None]
    return finding.span is None or not any((span & finding.span).length > LIMIT for span in spans)


def _is_like(one: Finding, other: Finding) -> bool:
    """Return whether two findings are about the same subjects, and the same bodies where such meet."""
    same = all(one.facts.get(body) == other.facts.get(body) for body in ("first", "second"))
    return same and one.key[:-1] == other.key[:-1]


ANY = settings(
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],  # a whole examination is too slow to shrink with
)


@settings(ANY, max_examples=8)
@given(projects(clean=True, most_lanes=2))
def test_a_cure_takes_its_finding_away(project: Project) -> None:
    hold_cures(examine(project))


@pytest.mark.long
@settings(ANY, max_examples=300)
@given(projects(clean=True, most_lanes=3))
def test_a_cure_takes_its_finding_away_in_many_machines(project: Project) -> None:
    hold_cures(examine(project))


@pytest.mark.long
@pytest.mark.parametrize("name", [*ERRORS, *WARNINGS])
def test_a_cure_takes_its_finding_away_in_the_broken_sower(name: str) -> None:
    change, _ = {**ERRORS, **WARNINGS}[name]
    hold_cures(examine(change(sower()), clean_report()))


def ridden(*rules: object, **more: object) -> Project:
    """Return a gate with a rider on its disc, and another gate; the rider is open from 190 to 210."""
    rider = Lane(
        id="rider",
        name="Rider",
        kind="rider",
        disc_of="a",
        station_deg=-90.0,
    )
    return machine(gate("A", 100, 120), rider, gate("B", 185, 195), rules=rules, **more)  # type: ignore[arg-type]


HALF_RIDER, HALF_B = within("rider", 5, 10), within("b", 5, 10)

RIDDEN = {
    "overlap": ridden(exclusive(HALF_RIDER, HALF_B)),
    "interlock": ridden(requires(HALF_RIDER, HALF_B)),
    "order": ridden(order(HALF_RIDER, HALF_B, max_s=1.0)),
    "pressure-angle": ridden(limits={"pressure_angle_deg": 4.0}),
}


@pytest.mark.parametrize("name", RIDDEN)
def test_the_blocks_of_a_rider_are_those_of_its_disc(name: str) -> None:
    report = examine(RIDDEN[name])
    refs = {
        subject
        for finding in report.findings
        if "rider" in finding.lanes
        for subject in finding.subjects
        if isinstance(subject, BlockRef)
    }
    assert refs
    assert "rider" not in {ref.lane_id for ref in refs}
    assert all(ref.index < len(report.project.lane(ref.lane_id).blocks) for ref in refs)
    hold_cures(report)


def test_a_gate_that_a_rider_opens_is_cured_by_its_disc_s_block() -> None:
    flow = Flow(
        supplies=(Supply(id="s"),),
        magazines=(Magazine(id="m", source="s", capacity=4, start_count=4),),
        channels=(Channel(id="c", to="cup"),),
        outlets=(Outlet(id="cup"),),
        gates=(Gate(id="g", state=HALF_RIDER, source="m", to="c", item_s=1.5),),
    )
    report = examine(ridden(flow=flow))
    (finding,) = (one for one in report.findings if one.rule == "missed-release")
    assert BlockRef("a", 0) in finding.subjects
    assert "missed-release" in hold_cures(report)
