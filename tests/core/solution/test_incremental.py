"""The one way of reuse: what is recomputed, taken over or kept meanwhile; and that reports do not differ."""

from __future__ import annotations

from collections.abc import Hashable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.samples import sample_folder
from shaftscore.edits import BlockRef, EditError, apply_edit
from shaftscore.judge.report import QUICK, Report, examine, report_json
from shaftscore.model import Load, Project, Rod, replaced
from shaftscore.model.loader import load_project, read_project
from shaftscore.model.saved import saved_form
from shaftscore.solution.incremental import Incremental, Kept, KeptResult, same_reads
from tests.machines import at, exclusive, gate, machine


class CountedMaking:
    """Makes results, each another object, and counts them by name."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def __call__(self, name: str, fails: bool = False) -> Any:
        def make(_inside: Incremental) -> object:
            if fails:
                raise ValueError(name)
            self.names.append(name)
            return object()

        return make


def test_a_result_is_taken_over_while_it_reads_the_same() -> None:
    made, record = CountedMaking(), object()
    first = Incremental()
    one = first.keep("a", (record, 1.5, "x"), made("a"))
    second = Incremental(first.now)
    assert second.keep("a", (record, 3.0 / 2, "".join(["x"])), made("a")) is one
    third = Incremental(second.now)
    assert third.keep("a", (object(), 1.5, "x"), made("a")) is not one
    assert made.names == ["a", "a"]
    assert [first.made, second.made, third.made] == [1, 0, 1]


@pytest.mark.parametrize(
    ("one", "two", "same"),
    [
        ((), (), True),
        ((1.0,), (1,), True),
        (("a", 2.0), ("a", 2.0), True),
        ((1.0,), (1.0, 2.0), False),
        ((1.0,), (2.0,), False),
        (((1, 2),), ((1, 2),), True),  # a constant of this module: the very same object
        (([1],), ([1],), False),  # a record counts by what it is, not by what it holds
    ],
)
def test_plain_values_count_by_equality_and_records_by_identity(
    one: tuple[object, ...], two: tuple[object, ...], same: bool
) -> None:
    assert same_reads(one, two) is same


def test_only_what_changed_is_made_again_within_a_result() -> None:
    made = CountedMaking()

    def whole(parts: dict[str, object]) -> Any:
        def make(inside: Incremental) -> dict[str, object]:
            made.names.append("whole")
            return {name: inside.keep(name, (part,), made(name)) for name, part in parts.items()}

        return make

    parts: dict[str, object] = {"a": object(), "b": object()}
    first = Incremental()
    before = first.keep("whole", (*parts.values(),), whole(parts))
    changed = {**parts, "b": object()}
    second = Incremental(first.now)
    after = second.keep("whole", (*changed.values(),), whole(changed))
    assert made.names == ["whole", "a", "b", "whole", "b"]
    assert after["a"] is before["a"]
    third = Incremental(second.now)
    third.keep("whole", (*changed.values(),), whole(changed))
    fourth = Incremental(third.now)  # what was kept within is still there after it was taken over as a whole
    fourth.keep("whole", (*parts.values(),), whole(parts))
    assert made.names[5:] == ["whole", "b"]


def test_in_the_quick_stage_the_last_late_result_stands_in() -> None:
    made, old, new = CountedMaking(), object(), object()
    assert Incremental(stage=QUICK).keep_late("a", (old,), made("a")) == (None, False)
    full = Incremental()
    one, is_present = full.keep_late("a", (old,), made("a"))
    assert is_present
    quick = Incremental(full.now, QUICK)
    assert quick.keep_late("a", (new,), made("a")) == (one, False)
    assert not quick.is_whole
    back = Incremental(quick.now, QUICK)
    assert back.keep_late("a", (old,), made("a")) == (one, True)  # what it reads is back as it was
    again, is_present = Incremental(quick.now).keep_late("a", (new,), made("a"))
    assert (again is one, is_present, made.names) == (False, True, ["a", "a"])


def test_what_is_left_out_in_a_hurry_is_made_when_there_is_time() -> None:
    def hurried(inside: Incremental) -> str:
        return inside.keep("part", (), lambda deeper: deeper.leave_out() or "short")

    quick = Incremental(stage=QUICK, whole_only=False)
    assert quick.keep("a", (), hurried) == "short"
    assert not quick.is_whole
    assert Incremental(quick.now, QUICK, whole_only=False).keep("a", (), lambda _: "again") == "short"
    full = Incremental(quick.now)
    assert full.keep("a", (), lambda inside: inside.keep("part", (), lambda _: "long")) == "long"
    assert full.is_whole


def together(kept: Incremental, made: CountedMaking, runs: tuple[str, ...]) -> tuple[tuple[object, ...], ...]:
    """Keep letters by themselves, in runs; each letter reads itself."""
    return tuple(
        kept.keep_together(
            ("run", number),
            tuple(run),
            lambda inside, run=run: tuple(inside.keep(one, (one,), made(one)) for one in run),
        )
        for number, run in enumerate(runs)
    )


def test_runs_are_kept_whole_and_their_parts_wherever_they_are() -> None:
    made = CountedMaking()
    first = Incremental()
    ab, cd = together(first, made, ("ab", "cd"))
    second = Incremental(first.now)
    assert together(second, made, ("ab", "ce")) == (ab, (cd[0], second.now["e"].value))
    assert made.names == ["a", "b", "c", "d", "e"]
    assert set(second.now) == {"a", "b", "c", "e", ("run", 0), ("run", 1)}  # the unlooked-at ones too
    third = Incremental(second.now)
    assert together(third, made, ("xa", "bc"))[1] == (ab[1], cd[0])  # b and c were in other runs
    assert made.names == ["a", "b", "c", "d", "e", "x"]


def test_a_value_that_comes_out_alike_is_the_last_one_so_that_what_reads_it_stays() -> None:
    record, other = object(), object()
    first = Incremental()
    value = first.keep_alike("v", (record,), lambda: ("a", 1.0))
    second = Incremental(first.now)
    assert second.keep_alike("v", (other,), lambda: ("a", 1.0)) is value
    assert second.keep_alike("v", (record,), lambda: ("b", 2.0)) is value  # of the same reads: not made
    third = Incremental(second.now)
    assert third.keep_alike("v", (object(),), lambda: ("b", 2.0)) == ("b", 2.0)


def test_what_cannot_be_made_is_not_kept() -> None:
    kept = Incremental()
    with pytest.raises(ValueError, match="broken"):
        kept.keep("a", (), CountedMaking()("broken", fails=True))
    assert kept.now == {}


# Whole reports


def anew(after: Kept, before: Kept) -> set[Hashable]:
    """Return the keys of what was recomputed; what only passed on what is within it was not."""
    return {key for key, kept in after.items() if _is_anew(kept, before.get(key))}


def _is_anew(kept: KeptResult, before: KeptResult | None) -> bool:
    if before is None or not kept.inner:
        return kept is not before
    return bool(anew(kept.inner, before.inner))


@cache
def stated() -> Report:
    """Four gates on one shaft, two rules, every gate with a spring, the shaft with a rod."""
    names = "ABCD"
    lanes = [
        replaced(
            gate(name, 70.0 * n + 20.0, 70.0 * n + 40.0),
            load=Load(moving_mass_g=20, spring_preload_n=5.0, friction_n=0.2),
        )
        for n, name in enumerate(names)
    ]
    rules = [exclusive(at(a, "open"), at(b, "open")) for a, b in ("ab", "cd")]
    project = machine(*lanes, rules=tuple(rules))
    stack = replaced(project.stacks[0], rod=Rod(across_mm=8.0, below_mm=10.0, above_mm=10.0))
    return examine(replaced(project, stacks=(stack,)))


OF_ALL = {"shafts", "shaft findings", "camshaft", "chance", ("interference", "main"), ("touch", "main")}
"""What reads every lane of a machine of one stack."""

OF_A = {("lane", "a"), ("loads", "a"), ("strain", "a"), ("walls", 0, "a"), ("overlap", 0), ("margin", 0)}
"""What reads one lane, and the rule about it."""

OF_RUN = {
    *((name, 0) for name in ("lanes", "alone", "lanes judged", "loads of lanes", "strains")),
    *(("walls", 0, 0), ("overlaps", 0), ("interlocks", 0), ("margins", 0)),
}
"""What is kept together with one of these."""

OF_VALUES = {("places of gears", 0), ("heights read", "main", 0), ("fit reads", "main", 0)}
"""Plain values of a run of lanes, which what reads them compares."""

OF_FITS = {("fit", "main"), ("fits", "main")}
OF_HEIGHTS = {("heights", "main"), ("off-edge", "main"), ("touch", "main"), ("between-layers",)}
"""What reads the tolerances."""


@pytest.mark.parametrize(
    ("edit", "arguments", "made"),
    [
        ("set_name", {"name": "Other"}, set()),
        ("set_shaft", {"steps": 8}, set()),
        ("place_block", {"ref": BlockRef("a", 0), "start_deg": 21.0}, OF_A | OF_RUN | OF_ALL | OF_VALUES),
        ("set_tolerances", {"fit_spread_mm": 0.06}, OF_FITS | OF_HEIGHTS | {"chance"}),
    ],
)
def test_a_change_makes_again_exactly_what_reads_it(
    edit: str, arguments: dict[str, Any], made: set[Hashable]
) -> None:
    before = stated()
    edited = apply_edit(before.project, edit, **arguments).project
    after = examine(edited, before)
    found = anew(after.kept, before.kept) | anew(after.solution.kept, before.solution.kept)
    assert found == made


@cache
def theatre() -> Project:
    return load_project(Path(sample_folder()) / "paper_theatre.shaft")


EDITS = st.sampled_from(
    [
        *(("place_block", {"place": n, "by": by}) for n in range(4) for by in (1.0, -3.0)),
        ("set_shaft", {"speed_rpm": 5.0}),
        ("set_limits", {"pressure_angle_deg": 32.0}),
    ]
)
"""Edits of a lane's first block, by the lane's place, and of records that many results read."""


def edited(project: Project, edit: str, arguments: dict[str, Any]) -> Project:
    if edit != "place_block":
        return apply_edit(project, edit, **arguments).project
    lane = [one for one in project.lanes if one.blocks][arguments["place"]]
    start = lane.blocks[0].start_deg + arguments["by"]
    try:
        return apply_edit(project, edit, ref=BlockRef(lane.id, 0), start_deg=start).project
    except EditError:  # no room beside its neighbour
        return project


TOLERANCES = [("set_tolerances", {"profile_mm": 0.1}), ("set_tolerances", {"disc_angle_deg": 0.8})]
"""Edits of what moves every drawn machine, while all lanes stay the same objects."""


@pytest.mark.parametrize("sample", ["tea_blender", "paper_theatre"])
@settings(max_examples=2)
@given(st.lists(EDITS, min_size=1, max_size=2))
def test_drawn_machines_of_lanes_left_alone_are_those_of_a_fresh_examination(
    sample: str, edits: list[tuple[str, dict[str, Any]]]
) -> None:
    project = load_project(Path(sample_folder()) / f"{sample}.shaft")
    report = examine(project)
    for edit, arguments in (*TOLERANCES[:1], *edits, *TOLERANCES[1:]):
        project = edited(project, edit, arguments)
        report = examine(project, report)
        assert report.chance is not None
    again = read_project(saved_form(project), sample)  # no record is the same object
    assert report_json(report) == report_json(examine(again))


@settings(max_examples=2)
@given(st.lists(EDITS, min_size=2, max_size=3))
def test_after_any_edits_a_report_is_that_of_a_fresh_examination(
    edits: list[tuple[str, dict[str, Any]]],
) -> None:
    project = theatre()
    report = examine(project, stage=QUICK)
    for edit, arguments in edits:
        project = edited(project, edit, arguments)
        report = examine(project, report, stage=QUICK)
    assert report_json(examine(project, report)) == report_json(examine(project))
