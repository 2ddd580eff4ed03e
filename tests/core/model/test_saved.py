"""The saved form: reads back to an equal project, always the same bytes, easy to compare by eye."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import example, given

from shaftscore.model import Block, Project, Shaft, read_project, saved_form
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.model.saved import _number
from tests.strategies import floats, projects

TEXT = """\
{
  "format": "shaftscore-project",
  "version": 2,
  "name": "Tea \u2013 f\u00fcr zwei",
  "shaft": {"turn": "clockwise", "speed_rpm": 6.5},
  "stacks": [
    {"id": "main", "turns": 3}
  ],
  "lanes": [
    {
      "id": "mint",
      "code": "A1",
      "levels": {"closed": 0, "half way": 0.1, "open": 10},
      "blocks": [
        {"level": "closed", "start_deg": 0, "end_deg": 100},
        {"level": "open", "start_deg": 133.33333333333334, "end_deg": 150, "locked": true}
      ]
    }
  ],
  "rules": [
    {"kind": "order", "first": {"lane": "mint", "level": "open"}, "then": {"lane": "mint", "level": "closed"}}
  ]
}
"""
"""Keys in the order of the records, no defaults, a block a line, shortest numbers."""


def test_the_whole_form_of_a_small_project() -> None:
    assert saved_form(read_project(TEXT.encode(), "text")).decode() == TEXT


@given(projects())
def test_a_saved_project_reads_back_equal(project: Project) -> None:
    read = read_project(saved_form(project), "saved")
    assert read == replaced(project, lanes=with_codes(project.lanes))


@given(projects())
def test_saving_what_was_read_gives_the_same_bytes(project: Project) -> None:
    once = saved_form(read_project(saved_form(project), "saved"))
    assert saved_form(read_project(once, "saved")) == once


@given(projects())
def test_every_block_has_a_line_of_its_own(project: Project) -> None:
    lines = saved_form(project).decode().split("\n")
    found = sum(line.lstrip().startswith('{"level"') and '"start_deg"' in line for line in lines)
    assert found == sum(len(lane.blocks) for lane in project.lanes)


@given(floats(-1e300, 1e300))
@example(0.1 + 0.2)
@example(1e22)
@example(5e-324)
@example(-0.0)
def test_a_number_reads_back_exactly_and_is_never_longer_than_pythons(value: float) -> None:
    text = _number(value)
    read = float(json.loads(text))
    assert read == value
    assert math.copysign(1, read) == math.copysign(1, value) or value == 0
    assert len(text) <= len(repr(value))


def test_changing_one_block_changes_one_line() -> None:
    project = read_project(TEXT.encode(), "text")
    (lane,) = project.lanes
    moved = replaced(lane, blocks=(lane.blocks[0], replaced(lane.blocks[1], end_deg=151.0)))
    changed = saved_form(replaced(project, lanes=(moved,))).decode().splitlines()
    different = [line for line in changed if line not in TEXT.splitlines()]
    assert len(changed) == len(TEXT.splitlines())
    assert [line.strip()[:17] for line in different] == ['{"level": "open",']


def test_a_value_equal_to_its_default_is_left_out_even_if_it_was_given() -> None:
    given_default = Shaft(turn="clockwise", speed_rpm=6.0, steps=12)
    project = Project(format="shaftscore-project", version=2, shaft=given_default)
    assert b"steps" not in saved_form(project)


@pytest.mark.parametrize("locked", [True, False])
def test_blocks_are_sorted_whatever_the_file_s_order(locked: bool) -> None:
    first = Block(level="closed", start_deg=0.0, end_deg=100.0)
    second = Block(level="open", start_deg=120.0, end_deg=150.0, locked=locked)
    (lane,) = read_project(TEXT.encode(), "text").lanes
    assert replaced(lane, blocks=(second, first)).blocks == (first, second)
