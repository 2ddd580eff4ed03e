"""Whatever stands in a table, reading gives values or a list of faults, and nothing else."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import read_points
from shaftscore.edits.points import MOST_FAULTS
from shaftscore.edits.state_table import read_sheet, split_text
from shaftscore.edits.state_table.sheets import MOST_ACROSS, MOST_TEXT
from shaftscore.make.asbuilt import read_rows
from shaftscore.make.asbuilt.pasted import MOST_TEXT as MOST_ROWS_TEXT
from shaftscore.model import Project
from tests.app.machines import gates

HEAD = "theta_deg,output_mm\n"
cells = st.text(alphabet="0123456789.,;\t\n\r\"'-+eEnaif \u2212\u0660abc", max_size=60)
odd = st.sampled_from(
    ["nan", "inf", "-inf", "1e400", "0x10", "1_000", "١", "", " ", "--1", "1,2,3", '"', "\x00", "\u2212"]
)
PLACE = re.compile(r"(line \d+(, .*)?|byte \d+|)")


def read(data: bytes) -> None:
    """Read points: finite ones, or faults with their places."""
    try:
        points = read_points(data, "fuzz.csv")
    except ProjectError as error:
        refused = error
    else:
        assert all(math.isfinite(p.theta_deg) and math.isfinite(p.output_mm) for p in points)
        return
    assert 1 <= len(refused.faults) <= MOST_FAULTS
    assert all(PLACE.fullmatch(fault.path) and fault.message for fault in refused.faults)
    assert len(str(refused).splitlines()) == 1 + len(refused.faults) + refused.more


@given(st.binary(max_size=300))
def test_any_bytes_as_points(data: bytes) -> None:
    read(data)
    read(HEAD.encode() + data)


@given(cells)
def test_any_cells_as_points(text: str) -> None:
    read((HEAD + text).encode())


@given(st.lists(st.tuples(odd | st.floats().map(str), odd | st.floats().map(str)), max_size=8))
def test_odd_numbers_as_points(rows: list[tuple[str, str]]) -> None:
    read((HEAD + "\n".join(";".join(row) for row in rows)).replace(",", ";", 1).encode())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the head must be"),
        ("a,b\n1,2\n", "the head must be"),
        (HEAD, "3 to 10,000 points are needed, got 0"),
        (HEAD + "0,0\n90,1\n", "got 2"),
        (HEAD + "0,0\n90,nan\n180,1\n", '"nan" is not a number'),
        (HEAD + "0,0\n90,inf\n180,1\n", '"inf" is not a number'),
        (HEAD + "0,0\n90,1e400\n180,1\n", "line 3"),
        (HEAD + "0,0\n90\n180,1\n", "line 3: has 1 cell"),
        (HEAD + "0,0\n90,1,2\n180,1\n", "line 3: has 3 cells"),
        (HEAD + "0,0\n0,1\n180,1\n", "line 3: 0° was given in line 2 already"),
        (HEAD + "0,0\n720,1\n180,1\n", "line 3"),
        (HEAD + "-1,0\n90,1\n180,1\n", "line 2"),
        (HEAD + "0,-5\n90,1\n180,1\n", "line 2"),
        (HEAD + '0,"0\n', "is not a table"),
        (HEAD + "0,0\n" * 30, "line"),
        ("\x00" + HEAD, "the head must be"),
        (HEAD + "9" * 140_000 + ",1\n", "is not a table"),
    ],
)
def test_a_malformed_table_of_points_says_where(text: str, words: str) -> None:
    with pytest.raises(ProjectError) as caught:
        read_points(text.encode(), "bad.csv")
    assert words in str(caught.value)


@given(cells, st.booleans())
def test_any_text_as_a_state_table(text: str, headed: bool) -> None:
    project = gates()
    grid = split_text(f"Step\tLeft\tRight\n{text}" if headed else text)
    sheet = read_sheet(project, grid, ("left", "right"), 0)
    for lane_id, column in sheet.columns.items():
        levels = project.lane(lane_id).levels
        assert all(level is None or level in levels for level in column)
    assert all(fault.message for fault in sheet.faults)


@pytest.mark.parametrize(
    "text",
    [
        "x" * (MOST_TEXT + 1),
        "\n".join("a" * (MOST_ACROSS + 1)),
        ",".join("a" * (MOST_ACROSS + 1)),
        "\n".join([",".join("a" * 1000)] * 201),
        "a" * 140_000,
    ],
)
def test_a_state_table_larger_than_any_is_refused(text: str) -> None:
    with pytest.raises(EditError):
        split_text(text)


@given(cells)
def test_any_text_as_measurements(text: str) -> None:
    project: Project = gates()
    try:
        rows = read_rows(project, text)
    except EditError:
        return
    assert all(0 <= row.angle_deg < 360 for row in rows)


def test_measurements_stop_after_a_few_faults() -> None:
    with pytest.raises(EditError, match=r"line 5: .*; and more$"):
        read_rows(gates(), "no lane\topen\tbegin\t5\tforward\n" * 100)
    with pytest.raises(EditError, match="are the most"):
        read_rows(gates(), "x" * (MOST_ROWS_TEXT + 1))
