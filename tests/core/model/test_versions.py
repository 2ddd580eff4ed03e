"""Files of every version: read, complete in their fields, and never with a field dropped in silence.

`versions/vN` holds files that were written by version N; together they give every field of every record a
value that is not its default. A file of an old version is never changed.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from shaftscore import model
from shaftscore.base.errors import ProjectError
from shaftscore.model import Project, read_project, saved_form
from shaftscore.model.base import Record
from shaftscore.model.loader import load_project
from shaftscore.model.migrations import FIRST, MIGRATIONS, Plain, migrated
from shaftscore.model.project import VERSION

FOLDER = Path(__file__).parent / "versions"
FILES = sorted(FOLDER.rglob("*.shaft"))
NOW = sorted((FOLDER / f"v{VERSION}").glob("*.shaft"))
RECORDS = [
    r for r in vars(model).values() if isinstance(r, type) and issubclass(r, Record) and r is not Record
]


def records_in(value: Any) -> Iterator[Record]:
    """Yield all records inside a record."""
    if isinstance(value, Record):
        yield value
        for name in type(value).model_fields:
            yield from records_in(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from records_in(item)


def fields_of(project: Project) -> set[tuple[str, str]]:
    """Return (record, field) of every field with a value that is not its default."""
    return {
        (type(record).__name__, name)
        for record in records_in(project)
        for name, info in type(record).model_fields.items()
        if info.is_required() or getattr(record, name) != info.get_default(call_default_factory=True)
    }


def test_every_version_has_its_files_and_its_migration() -> None:
    for version in range(FIRST, VERSION + 1):
        assert list((FOLDER / f"v{version}").glob("*.shaft")), version
    assert sorted(MIGRATIONS) == list(range(FIRST, VERSION))


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_a_file_of_every_version_is_read_and_saved_in_the_present_one(path: Path) -> None:
    project = load_project(path)
    assert project.version == VERSION
    assert read_project(saved_form(project), "saved") == project


@pytest.mark.parametrize("path", NOW, ids=lambda path: path.name)
def test_a_file_of_this_version_is_saved_byte_for_byte(path: Path) -> None:
    assert saved_form(load_project(path)) == path.read_bytes()


def test_the_files_of_this_version_give_every_field_a_value() -> None:
    covered = set().union(*(fields_of(load_project(path)) for path in NOW))
    wanted = {(record.__name__, name) for record in RECORDS for name in record.model_fields}
    missing = wanted - covered - CANNOT_BE
    assert not missing, sorted(missing)


CANNOT_BE = {("TranslatingFlat", "closure"), ("SwingingRoller", "output_ratio")}
"""Fields that a record inherits and may not change: a flat face runs in no groove, an arm has no ratio."""


@pytest.mark.parametrize(
    ("kind", "key", "value"),
    [("translating-flat", "closure", "groove"), ("swinging-roller", "output_ratio", 1.75)],
)
def test_a_field_that_a_record_may_not_change_is_told(kind: str, key: str, value: object) -> None:
    raw = copy.deepcopy(RAW["machine"])
    follower = next(f for lane in raw["lanes"] if (f := lane.get("follower", {})).get("kind") == kind)
    follower[key] = value
    with pytest.raises(ProjectError, match=key):
        read_project(json.dumps(raw).encode(), "planted")


def leaves(value: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the place of every plain value."""
    if isinstance(value, dict | list):
        items = value.items() if isinstance(value, dict) else enumerate(value)
        for key, inner in items:
            yield from leaves(inner, (*place, key))
    else:
        yield place


def objects(value: Any, place: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the place of every object with fixed keys."""
    if isinstance(value, dict) and place[-1:] != ("levels",):
        yield place
    if isinstance(value, dict | list):
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from objects(inner, (*place, key))


def at(value: Any, place: tuple[Any, ...]) -> Any:
    for key in place:
        value = value[key]
    return value


RAW = {path.stem: json.loads(path.read_bytes()) for path in NOW}


@pytest.mark.parametrize("name", RAW)
def test_every_value_of_a_file_comes_back_from_the_saved_form(name: str) -> None:
    saved = json.loads(saved_form(read_project(json.dumps(RAW[name]).encode(), name)))
    for place in leaves(RAW[name]):
        assert at(saved, place) == at(RAW[name], place), place


UNKNOWN = [(name, place) for name, raw in RAW.items() for place in objects(raw)]


@pytest.mark.parametrize(("name", "place"), UNKNOWN, ids=[f"{n}-{'.'.join(map(str, p))}" for n, p in UNKNOWN])
def test_an_unknown_key_anywhere_is_told_and_never_dropped(name: str, place: tuple[Any, ...]) -> None:
    raw = copy.deepcopy(RAW[name])
    at(raw, place)["unheard_of"] = 1
    with pytest.raises(ProjectError) as caught:
        read_project(json.dumps(raw).encode(), "planted")
    assert any(fault.path.endswith("unheard_of") for fault in caught.value.faults), caught.value


LEAVES = [(name, place) for name, raw in RAW.items() for place in leaves(raw)]
POISON = ("[]", "{}", "NaN", "1e400", "-1e9", '"\\u0000\\u001b"')
"""As text, since some of it is no JSON."""


FREE = {"name", "notes", "group", "base_group", "item", "step_names", "expects"}


@pytest.mark.parametrize("poison", POISON)
def test_every_value_of_a_file_is_held_to_its_bounds(poison: str) -> None:
    """More than 1,500 malformed files: each value in turn is one that it can never be."""
    refused = 0
    for name, place in LEAVES:
        raw = copy.deepcopy(RAW[name])
        if poison == POISON[-1] and FREE & {*place}:
            continue  # any text may stand there
        at(raw, place[:-1])[place[-1]] = "<poison>"
        data = json.dumps(raw).replace('"<poison>"', poison)
        with pytest.raises(ProjectError) as caught:
            read_project(data.encode(), "planted")
        assert all(len(str(fault).splitlines()) == 1 for fault in caught.value.faults)
        refused += 1
    assert refused > 200


# From version 1 to 2


def old(**more: Any) -> Plain:
    """Return the plain values of a small project of version 1."""
    shaft = {"turn": "clockwise", "speed_rpm": 6}
    return {"format": "shaftscore-project", "version": 1, "shaft": shaft, **more}


def read(raw: Plain) -> Project:
    return read_project(json.dumps(raw).encode(), "old")


def test_defaults_that_version_2_has_changed_are_written_out() -> None:
    before = read(old()).tolerances
    assert (before.disc_angle_deg, before.profile_mm) == (0.5, 0.15)
    given = read(old(tolerances={"profile_mm": 0.1, "speed_percent": 5})).tolerances
    assert (given.disc_angle_deg, given.profile_mm, given.speed_percent) == (0.5, 0.1, 5)
    now = read({**old(), "version": 2}).tolerances
    assert (now.disc_angle_deg, now.profile_mm) == (0.3, 0.10)


def test_a_stage_keeps_the_efficiency_of_version_1_and_a_worm_counts_that_of_its_kind() -> None:
    stage = {"driver_teeth": 1, "driven_teeth": 20}
    angled = {"bevel", "worm"}
    stages = [
        {**stage, "kind": kind, **({"reverses": False} if kind in angled else {})}
        for kind in ("external", "internal", "belt", "chain", "bevel", "worm")
    ]
    source = {"kind": "crank", "radius_mm": 80, "turn": "clockwise"}
    drive = read(old(drive={"source": source, "stages": [*stages, {**stages[5], "efficiency": 0.6}]})).drive
    assert drive is not None
    assert [made.efficiency for made in drive.stages] == [0.9] * 5 + [None, 0.6]
    assert drive.stages[5].efficiency_used == 0.4


@pytest.mark.parametrize(
    ("fields", "joints"),
    [({}, None), ({"clamped": True}, None), ({"clamped": False}, "loose")],
)
def test_a_clamped_stack_is_as_its_discs_lie_and_any_other_is_loose(
    fields: dict[str, Any], joints: str | None
) -> None:
    """Joints left out mean "as-they-lie", and say that the person has not stated them yet."""
    stack = read(old(stacks=[{"id": "main", "joint_play_deg": 0.8, **fields}])).stacks[0]
    assert (stack.joints, stack.joint_play_deg) == (joints, 0.8)


@pytest.mark.parametrize(
    ("part", "path"),
    [
        ({"stacks": [{"id": "main", "clamped": "yes"}]}, "stacks[0].clamped"),
        ({"stacks": 5}, "stacks"),
        ({"stacks": [7]}, "stacks[0]"),
        ({"drive": []}, "drive"),
        ({"drive": {"source": 1, "stages": {}}}, "drive.stages"),
        ({"tolerances": "tight"}, "tolerances"),
    ],
)
def test_what_was_wrong_in_version_1_is_told_where_it_is(part: Plain, path: str) -> None:
    with pytest.raises(ProjectError) as caught:
        read(old(**part))
    assert path in [fault.path for fault in caught.value.faults]


SAMPLES = sorted((FOLDER / "v1" / "samples").glob("*.shaft"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_a_sample_of_version_1_keeps_what_it_said(path: Path) -> None:
    """What was a default of version 1 is what the solver reads; everything else is as it stood."""
    raw, project = json.loads(path.read_bytes()), load_project(path)
    limits = {"disc_angle_deg": 0.5, "profile_mm": 0.15} | raw.get("tolerances", {})
    assert {key: getattr(project.tolerances, key) for key in limits} == limits
    stages = raw.get("drive", {}).get("stages", [])
    given = [stage.efficiency_used for stage in project.drive.stages] if project.drive else []
    assert given == [stage.get("efficiency", 0.9) for stage in stages]
    clamped = [stack.get("clamped", True) for stack in raw.get("stacks", [{}])]
    assert [stack.joints != "loose" for stack in project.stacks] == clamped
    saved = json.loads(saved_form(project))
    changed = ("version", "tolerances", "drive", "stacks")
    assert {k: v for k, v in saved.items() if k not in changed} == {
        k: v for k, v in raw.items() if k not in changed
    }


# Migrations themselves, with planted ones


def second(raw: Plain) -> Plain:
    return {**raw, "title": raw["name"]} if "name" in raw else raw


def third(raw: Plain) -> Plain:
    return {**raw, "lanes": tuple({**lane, "third": True} for lane in raw.get("lanes", ()))}


PLANTED = {1: second, 2: third}


def test_migrations_run_in_order_and_leave_what_they_do_not_know() -> None:
    old = {"version": 1, "name": "x", "unheard_of": 7, "lanes": ({"id": "a"},)}
    assert migrated(old, 3, PLANTED) == {
        "version": 3,
        "name": "x",
        "title": "x",
        "unheard_of": 7,
        "lanes": ({"id": "a", "third": True},),
    }
    assert migrated({"version": 2, "name": "x"}, 3, PLANTED) == {"version": 3, "name": "x", "lanes": ()}
    assert old["version"] == 1


@pytest.mark.parametrize("version", [0, 3, 4, -1, "1", None, True, 1.0])
def test_what_is_no_earlier_version_is_left_for_the_loader(version: object) -> None:
    raw = {"version": version}
    assert migrated(raw, 3, PLANTED) is raw


def test_the_loader_migrates_before_it_validates(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a planted version 2 that calls the notes something else."""

    def renamed(raw: Plain) -> Plain:
        return {("notes" if key == "remarks" else key): value for key, value in raw.items()}

    monkeypatch.setattr("shaftscore.model.loader.migrated", lambda raw, to: {**renamed(raw), "version": to})
    raw = {**RAW["crank"], "remarks": "Oil it"}
    assert read_project(json.dumps(raw).encode(), "old").notes == "Oil it"
    with pytest.raises(ProjectError, match="unheard_of"):
        read_project(json.dumps({**raw, "unheard_of": 1}).encode(), "old")


def test_a_newer_version_is_refused_with_what_can_be_done() -> None:
    raw = {**RAW["machine"], "version": VERSION + 1}
    with pytest.raises(ProjectError, match=f"newer Shaftscore .file version {VERSION + 1};"):
        read_project(json.dumps(raw).encode(), "new")
