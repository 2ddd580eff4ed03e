"""`shaftscore arrange` as a process: exit codes, what is written, what is said."""

from __future__ import annotations

import json
import signal
import threading
import time
from pathlib import Path

import pytest

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Share
from shaftscore.placing.search import Search
from shaftscore_app.cli.arranging import Stoppable
from tests.cli.test_cli import DRAFT, in_process, shaftscore, written
from tests.core.placing.test_stopping import LONG_S, hard


def gates(*, gap_deg: float = 2.0, windows: bool = False) -> str:
    """Two gates that are drawn open together, and a rule against it."""
    window = {"window": {"earliest_deg": 100, "latest_deg": 101}} if windows else {}
    lanes = [
        {
            "id": name,
            "levels": {"closed": 0, "open": 10},
            "blocks": [
                {"level": "open", "start_deg": 100, "end_deg": 110, **window},
                {"level": "closed", "start_deg": 150, "end_deg": 420},
            ],
        }
        for name in ("left", "right")
    ]
    states = [{"lane": name, "level": "open"} for name in ("left", "right")]
    return json.dumps(
        {
            "format": "shaftscore-project",
            "version": 1,
            "shaft": {"turn": "clockwise", "speed_rpm": 6},
            "lanes": lanes,
            "rules": [{"kind": "exclusive", "states": states, "gap_deg": gap_deg}],
        }
    )


OPTIONS = ("--seed", "7", "--may-change", "starts,lengths,order")


def test_arrange_writes_a_project_that_checks_clean_and_leaves_the_input(tmp_path: Path) -> None:
    """The same seed writes the same bytes."""
    file, out, other = written(tmp_path, gates()), tmp_path / "arranged.shaft", tmp_path / "other.shaft"
    before = file.read_bytes()
    assert shaftscore("check", file).returncode == 1
    done = shaftscore("arrange", file, "--out", out, *OPTIONS)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert " moved.\n" in done.stdout
    assert f"Written to {out}." in done.stdout
    assert file.read_bytes() == before
    assert shaftscore("check", out).returncode == 0
    assert shaftscore("arrange", file, "--out", other, *OPTIONS).returncode == 0
    assert out.read_bytes() == other.read_bytes()


def test_where_there_is_none_the_reasons_are_printed_and_nothing_is_written(tmp_path: Path) -> None:
    file, out = written(tmp_path, gates(windows=True)), tmp_path / "arranged.shaft"
    done = shaftscore("arrange", file, "--out", out)
    assert done.returncode == 1
    assert "These cannot hold together:" in done.stdout
    assert "left open starts within its window, 100.0° to 101.0°." in done.stdout
    assert "left open and right open hold one at a time, 2.0° apart." in done.stdout
    assert "Widen the window of" in done.stdout
    assert list(tmp_path.iterdir()) == [file]


def test_a_sweep_through_a_guarded_level_is_named() -> None:
    done = shaftscore("arrange", DRAFT, "--out", "nowhere.shaft", "--prefer", "least-change")
    assert done.returncode == 1
    assert "Chute flap sweeps through a guarded level (cup)" in done.stdout
    assert not Path("nowhere.shaft").exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--out", "x.shaft", "--prefer", "torqe"), '--prefer: there is no "torqe"; did you mean "torque"?'),
        (("--out", "no/such/folder/x.shaft"), "is not a file in a folder that is there"),
        (("--out", "x.shaft", "--seed", "-1"), "--seed"),
        (("--out", "x.shaft", "--may-change", "startz"), '--may-change: there is no "startz"; did you mean'),
        (("--out", "x.shaft", "--keep-percent", "120"), "--keep-percent"),
        ((), "--out"),
    ],
)
def test_bad_usage_ends_with_2(tmp_path: Path, options: tuple[str, ...], said: str) -> None:
    done = in_process("arrange", written(tmp_path, gates()), *options)
    assert done.exit_code == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_bad_file_ends_with_2(tmp_path: Path) -> None:
    done = in_process("arrange", written(tmp_path, "{}"), "--out", tmp_path / "x.shaft")
    assert done.exit_code == 2
    assert "fault" in done.stderr.splitlines()[0]


def test_ctrl_c_stops_the_solver_within_its_step() -> None:
    """A search whose first step alone takes minutes: the signal ends it, and the next report cancels."""
    search, begun = Search(hard(), 0), time.process_time()
    before = signal.getsignal(signal.SIGINT)
    interrupt = threading.Timer(0.5, signal.raise_signal, [signal.SIGINT])
    with Stoppable() as progress:
        interrupt.start()
        with pytest.raises(Cancelled):
            search.solve(None, LONG_S, progress=Share(progress, 0.0, 1.0), what="Searching")
        progress.report(0.5, "Goes on")  # it is said once
    assert time.process_time() - begun < 3.0
    assert signal.getsignal(signal.SIGINT) is before
    assert signal.set_wakeup_fd(-1) == -1
