"""Whatever stands in a file, reading gives a project or a list of faults, and nothing else."""

from __future__ import annotations

import copy
import json
import re
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import ProjectError
from shaftscore.model import Project, read_project, saved_form
from shaftscore.model.parse import MOST_FAULTS
from tests.core.model.test_malformed import GOOD
from tests.strategies import projects

STEP = r'(\.\w+|\[\d+\]|\["[^\n]*["…]\])'
PATH = re.compile(rf"|(\w+|{STEP}){STEP}*")
plain = st.recursive(
    st.none() | st.booleans() | st.integers(-1000, 1000) | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


def read(data: bytes) -> Project | None:
    """Read a file; None where it is refused. Every fault has a path of the right shape and a message."""
    try:
        project = read_project(data, "fuzz")
    except ProjectError as error:
        faults = error.faults
    else:
        assert read_project(saved_form(project), "saved") == project
        return project
    assert 1 <= len(faults) <= MOST_FAULTS
    for fault in faults:
        assert fault.message
        assert len(str(fault).splitlines()) == 1
        assert PATH.fullmatch(fault.path), fault.path
    return None


def places(value: Any, start: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the place of every value inside a plain value."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [place for key, inner in items for place in [(*start, key), *places(inner, (*start, key))]]


PLACES = places(GOOD)


def inside(value: Any, place: tuple[Any, ...]) -> Any:
    for key in place:
        value = value[key]
    return value


@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    assert read(data) is None


@given(plain)
def test_any_json(value: Any) -> None:
    read(json.dumps(value).encode())


@given(st.lists(st.tuples(st.sampled_from(PLACES), plain), min_size=1, max_size=3))
def test_a_good_file_with_other_values_in_places(changes: list[tuple[tuple[Any, ...], Any]]) -> None:
    project = copy.deepcopy(GOOD)
    for place, value in changes:
        try:
            inside(project, place[:-1])[place[-1]] = value
        except (KeyError, TypeError, IndexError):
            continue  # an earlier change took the place away
    read(json.dumps(project).encode())


@given(st.sampled_from(PLACES), st.sampled_from(PLACES))
def test_a_good_file_with_one_part_in_place_of_another(
    place: tuple[Any, ...], other: tuple[Any, ...]
) -> None:
    project = copy.deepcopy(GOOD)
    inside(project, place[:-1])[place[-1]] = copy.deepcopy(inside(GOOD, other))
    read(json.dumps(project).encode())


@given(st.sampled_from(PLACES))
def test_a_good_file_with_a_part_left_out(place: tuple[Any, ...]) -> None:
    project = copy.deepcopy(GOOD)
    del inside(project, place[:-1])[place[-1]]
    read(json.dumps(project).encode())


@given(projects(), st.integers(0, 10_000), st.binary(max_size=3))
def test_a_saved_file_with_bytes_overwritten(project: Project, at: int, junk: bytes) -> None:
    data = bytearray(saved_form(project))
    at = at % len(data)
    data[at : at + len(junk)] = junk
    read(bytes(data))
