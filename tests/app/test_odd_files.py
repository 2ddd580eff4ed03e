"""Files that are no plain files of one name: pipes, devices, hard links; and who may read what is kept."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from shaftscore.base.errors import ProjectError
from shaftscore_app.document.opening import read_file
from shaftscore_app.keeping import PersonStore
from shaftscore_app.keeping.journal import Head
from shaftscore_app.runtime.files import Stamp, read_within, why_not_written, write_whole
from shaftscore_app.runtime.reports import write_report
from tests.app.machines import clean_gates

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes and rights as POSIX has them")

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2030, 1, 2, tzinfo=UTC)
HARD_LINK = (
    "The file has a second name (a hard link), and saving would leave the old contents there: "
    "save under another name."
)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def pipe(folder: Path) -> Path:
    os.mkfifo(folder / "a.shaft")
    return folder / "a.shaft"


def test_a_pipe_is_not_replaced_by_a_file(tmp_path: Path) -> None:
    path = pipe(tmp_path)
    with pytest.raises(OSError, match="is a pipe") as caught:
        write_whole(path, b"new")
    assert why_not_written(caught.value) == "It is a pipe, not a file: save under another name."
    assert stat.S_ISFIFO(path.stat().st_mode)
    assert os.listdir(tmp_path) == ["a.shaft"]


def test_a_device_is_not_replaced_by_a_file(tmp_path: Path) -> None:
    """The device is a terminal of the test's own, where no file could take its place."""
    ours, theirs = os.openpty()
    try:
        link = tmp_path / "a.shaft"
        link.symlink_to(os.ttyname(theirs))
        with pytest.raises(OSError, match="is a device") as caught:
            write_whole(link, b"new")
        assert why_not_written(caught.value) == "It is a device, not a file: save under another name."
        assert os.isatty(theirs)
    finally:
        os.close(ours)
        os.close(theirs)


def test_a_hard_link_is_not_parted_from_its_other_name(tmp_path: Path) -> None:
    path, other = tmp_path / "a.shaft", tmp_path / "b.shaft"
    path.write_bytes(b"old")
    os.link(path, other)
    with pytest.raises(OSError, match="hard link") as caught:
        write_whole(path, b"new")
    assert why_not_written(caught.value) == HARD_LINK
    assert os.path.samefile(path, other)
    assert path.read_bytes() == b"old"
    assert sorted(os.listdir(tmp_path)) == ["a.shaft", "b.shaft"]


def test_a_pipe_is_never_waited_for(tmp_path: Path) -> None:
    """Each of these would wait for a writer that never comes."""
    path, store = pipe(tmp_path), PersonStore(tmp_path / "data")
    assert Stamp.of(path) is None
    assert store.versions.keep(path) is None
    for read in (read_file, read_within):
        with pytest.raises(ProjectError, match="it is a pipe, not a file"):
            read(path)


def test_the_command_line_says_it_in_one_line_before_the_search(tmp_path: Path) -> None:
    sample = ROOT / "sample_projects" / "tea_blender.shaft"
    path = pipe(tmp_path)
    command = [sys.executable, "-m", "shaftscore_app", "arrange", str(sample), "--out", str(path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == f"{path}: It is a pipe, not a file: save under another name.\n"


@pytest.mark.parametrize("rights", [0o600, 0o640, 0o644])
def test_a_version_has_the_rights_of_its_file_and_its_folders_are_private(
    tmp_path: Path, rights: int
) -> None:
    path, store = tmp_path / "a.shaft", PersonStore(tmp_path / "data")
    path.write_bytes(b"one")
    path.chmod(rights)
    version = store.versions.keep(path)
    assert version is not None
    assert mode(version.path) == rights
    assert {mode(folder) for folder in (tmp_path / "data").rglob("*") if folder.is_dir()} == {0o700}
    assert mode(tmp_path / "data") == 0o700


def test_a_file_that_was_made_private_has_its_version_made_private(tmp_path: Path) -> None:
    path, store = tmp_path / "a.shaft", PersonStore(tmp_path / "data")
    path.write_bytes(b"one")
    path.chmod(0o644)
    store.versions.keep(path)
    path.chmod(0o600)
    version = store.versions.keep(path)
    assert version is not None
    assert mode(version.path) == 0o600


def test_folders_that_an_older_program_left_open_are_closed(tmp_path: Path) -> None:
    store, path = PersonStore(tmp_path / "data"), tmp_path / "a.shaft"
    for name in ("versions", "drafts", "open", "reports"):
        (tmp_path / "data" / name).mkdir(parents=True)
        (tmp_path / "data" / name).chmod(0o755)
    path.write_bytes(b"one")
    store.versions.keep(path)
    store.open_files.hold(path)
    write_report(store.reports, "text", NOW)
    draft = store.drafts.begin(Head(path, "a", ""), clean_gates(), "step", 1, NOW)
    draft.close()
    store.open_files.release_all_but(None)
    for folder in (tmp_path / "data").iterdir():
        assert mode(folder) == 0o700, folder.name


def test_a_draft_is_read_by_nobody_else(tmp_path: Path) -> None:
    store = PersonStore(tmp_path / "data")
    draft = store.drafts.begin(Head(None, "a", ""), clean_gates(), "step", 1, NOW)
    draft.close()
    made = list((tmp_path / "data").rglob("*"))
    assert {mode(path) for path in made if path.is_dir()} == {0o700}
    assert [mode(path) for path in made if path.name == "journal"] == [0o600]
