from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from shaftscore.model.parse import MOST_BYTES
from shaftscore_app.keeping import Versions


class Now:
    def __init__(self) -> None:
        self.now = datetime(2026, 3, 4, 14, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


def test_the_last_five_versions_are_kept_the_newest_first(tmp_path: Path) -> None:
    versions, path = Versions(tmp_path / "data", Now()), tmp_path / "a.shaft"
    assert versions.keep(path) is None
    for count in range(8):
        path.write_bytes(b"%d" % count)
        versions.keep(path)
    assert [version.path.read_bytes() for version in versions.of(path)] == [b"7", b"6", b"5", b"4", b"3"]
    assert versions.of(path)[0].when == datetime(2026, 3, 4, 14, 8, tzinfo=UTC)


def test_what_is_kept_already_is_not_kept_twice(tmp_path: Path) -> None:
    versions, path = Versions(tmp_path / "data", Now()), tmp_path / "a.shaft"
    path.write_bytes(b"one")
    assert versions.keep(path) == versions.keep(path)
    assert len(versions.of(path)) == 1


def test_files_of_one_name_in_two_folders_have_their_own(tmp_path: Path) -> None:
    versions = Versions(tmp_path / "data", Now())
    for folder in ("x", "y"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "a.shaft").write_bytes(folder.encode())
        versions.keep(tmp_path / folder / "a.shaft")
    assert [v.path.read_bytes() for v in versions.of(tmp_path / "x" / "a.shaft")] == [b"x"]


def test_a_file_that_can_be_no_project_is_not_kept(tmp_path: Path) -> None:
    versions, path = Versions(tmp_path / "data", Now()), tmp_path / "a.shaft"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    assert versions.keep(path) is None
