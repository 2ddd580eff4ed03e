"""The journal: whatever is written comes back, and what is damaged gives what was whole."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Project
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore_app.keeping.journal import Head, Journal, change, changed, read_journal
from tests.app.machines import gates
from tests.strategies import projects

HEAD = Head(Path("/somewhere/gates.shaft"), "gates.shaft", "abc")
START = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)


def written(folder: Path, *steps: Project) -> Path:
    path = folder / "journal"
    journal = Journal(path, HEAD)
    for count, project in enumerate(steps, start=1):
        journal.add(project, f"Step {count}", count, START + timedelta(seconds=count))
    journal.syncing()()
    journal.close()
    return path


def moved(project: Project, deg: float) -> Project:
    return apply_edit(project, "place_block", ref=BlockRef("right", 0), start_deg=deg).project


@settings(max_examples=30)
@given(st.lists(projects(), min_size=1, max_size=3))
def test_any_projects_come_back_from_their_changes(steps: list[Project]) -> None:
    raw: dict[str, object] = {}
    before = None
    for project in steps:
        raw, before = changed(raw, change(before, project)), project
        alone = project.model_dump(mode="python", by_alias=True, exclude_defaults=True)
        assert {**raw, "lanes": list(raw.get("lanes", []))} == {
            **alone,
            "lanes": list(alone.get("lanes", ())),
        }


def test_the_last_step_comes_back_with_its_name_and_time(tmp_path: Path) -> None:
    first = gates()
    second = moved(first, 200.0)
    kept = read_journal(written(tmp_path, first, second))
    assert kept is not None
    assert kept.project == replaced(second, lanes=with_codes(second.lanes))
    assert (kept.head, kept.steps, kept.last_step) == (HEAD, 2, "Step 2")
    assert kept.when == START + timedelta(seconds=2)


def test_a_change_of_one_lane_of_many_costs_one_lane(tmp_path: Path) -> None:
    project = gates()
    lane = project.lanes[0]
    many = replaced(
        project, rules=(), lanes=tuple(replaced(lane, id=f"l{n}", code=f"B{n}") for n in range(99))
    )
    changes = change(many, replaced(many, lanes=(*many.lanes[:50], replaced(lane, id="x"), *many.lanes[51:])))
    assert changes["lanes"][0] == [0, 49]
    assert changes["lanes"][2] == [51, 98]
    assert changes["lanes"][1]["id"] == "x"
    assert changes["set"] == {}


def test_lanes_added_deleted_and_reordered_come_back(tmp_path: Path) -> None:
    first = gates()
    a, b, c = first.lanes
    plain = replaced(first, rules=())
    steps = [
        plain,
        replaced(plain, lanes=(c, a, b)),
        replaced(plain, lanes=(c, b)),
        replaced(plain, lanes=()),
        replaced(plain, lanes=(b, c, a)),
    ]
    for count in range(1, len(steps) + 1):
        folder = tmp_path / str(count)
        folder.mkdir()
        kept = read_journal(written(folder, *steps[:count]))
        assert kept is not None
        assert kept.project is not None
        assert [lane.id for lane in kept.project.lanes] == [lane.id for lane in steps[count - 1].lanes]


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5, 0.8, 0.99])
def test_a_journal_that_was_cut_off_gives_its_last_whole_line(tmp_path: Path, share: float) -> None:
    path = written(tmp_path, gates(), moved(gates(), 200.0))
    data = path.read_bytes()
    lines = data.split(b"\n")
    last = len(lines[2])
    path.write_bytes(data[: len(data) - 1 - round((last - 1) * (1 - share))])
    kept = read_journal(path)
    assert kept is not None
    assert kept.last_step == "Step 1"
    assert kept.project == gates()


@settings(max_examples=40)
@given(at=st.integers(0, 10_000), junk=st.binary(min_size=1, max_size=4))
def test_a_journal_with_bytes_overwritten_never_raises(at: int, junk: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = written(Path(folder), gates(), moved(gates(), 200.0))
        data = bytearray(path.read_bytes())
        place = at % len(data)
        data[place : place + len(junk)] = junk
        path.write_bytes(data)
        kept = read_journal(path)
    assert kept is None or kept.project in (gates(), moved(gates(), 200.0))


@given(st.binary(max_size=200))
def test_any_bytes_are_no_journal(data: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal"
        path.write_bytes(data)
        assert read_journal(path) is None


def test_a_last_line_that_is_no_project_gives_the_one_before(tmp_path: Path) -> None:
    path = written(tmp_path, gates())
    journal = Journal(tmp_path / "other", HEAD)
    journal._add({"step": "Odd", "steps": 2, "when": START.isoformat(), "set": {"shaft": 5}, "gone": []})
    journal.close()
    path.write_bytes(path.read_bytes() + (tmp_path / "other").read_bytes().split(b"\n", 1)[1])
    kept = read_journal(path)
    assert kept is not None
    assert kept.project == gates()
    assert "shaft" in kept.trouble


def test_a_disk_that_is_full_for_a_while_leaves_no_half_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "journal"
    journal = Journal(path, HEAD)
    journal.add(gates(), "Step 1", 1, START)
    real, left = os.write, [20]

    def small(handle: int, data: bytes) -> int:
        if not left[0]:
            raise OSError(28, "No space left on device")
        count = real(handle, data[: left[0]])
        left[0] -= count
        return count

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", small)
        with pytest.raises(OSError, match="No space"):
            journal.add(moved(gates(), 200.0), "Step 2", 2, START)
    journal.add(moved(gates(), 210.0), "Step 3", 3, START)
    journal.close()
    kept = read_journal(path)
    assert kept is not None
    assert kept.project == moved(gates(), 210.0)


def test_a_file_name_that_is_no_unicode_comes_back(tmp_path: Path) -> None:
    odd = Path(os.fsdecode(b"/tmp/t\xfce.shaft"))
    journal = Journal(tmp_path / "journal", Head(odd, odd.name, ""))
    journal.add(gates(), "Step 1", 1, START)
    journal.close()
    kept = read_journal(tmp_path / "journal")
    assert kept is not None
    assert kept.head.path == odd
