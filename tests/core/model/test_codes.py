"""Lane codes: given by group, kept where they are."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.model import Lane
from shaftscore.model.codes import with_codes


def codes(*rows: tuple[str, str | None]) -> list[str | None]:
    made = [Lane(id=f"l{n}", group=group, code=code) for n, (group, code) in enumerate(rows)]
    return [lane.code for lane in with_codes(made)]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ([], []),
        ([("", None)], ["A1"]),
        ([("tea", None), ("flap", None), ("tea", None), ("lift", None)], ["A1", "B1", "A2", "C1"]),
        # A group goes on with the letters it has; others keep off them.
        ([("tea", "B2"), ("tea", None), ("flap", None), ("tea", None)], ["B2", "B1", "A1", "B3"]),
        ([("flap", None), ("tea", "A1")], ["B1", "A1"]),
        ([("tea", "AB7"), ("tea", None)], ["AB7", "AB1"]),
        # Two groups that share letters by hand still get no code twice.
        ([("tea", "A1"), ("flap", "A2"), ("tea", None), ("flap", None)], ["A1", "A2", "A3", "A4"]),
    ],
)
def test_codes_by_group(rows: list[tuple[str, str | None]], expected: list[str]) -> None:
    assert codes(*rows) == expected


def test_past_ninety_nine_lanes_a_group_takes_further_letters() -> None:
    found = codes(*[("tea", None)] * 100, ("flap", None))
    assert found[98:] == ["A99", "C1", "B1"]


def test_more_groups_than_letters() -> None:
    found = codes(*[(f"g{n}", None) for n in range(800)])
    assert found[25:28] == ["Z1", "AA1", "AB1"]
    assert len(set(found)) == 800


letters = st.from_regex(r"\A[A-C]{1,2}[0-9]{1,2}\Z")


@given(st.lists(st.tuples(st.sampled_from(["", "tea", "flap"]), st.none() | letters), max_size=12))
def test_every_lane_has_its_own_code_and_keeps_one_it_had(rows: list[tuple[str, str | None]]) -> None:
    had = [code for _, code in rows if code]
    if len(set(had)) < len(had):
        return
    found = codes(*rows)
    assert len(set(found)) == len(rows)
    assert all(re.fullmatch("[A-Z]{1,2}[0-9]{1,2}", code or "") for code in found)
    assert all(new == old for new, (_, old) in zip(found, rows, strict=True) if old)


def test_lanes_that_have_codes_stay_the_same_objects() -> None:
    lanes = (Lane(id="a", code="A1"), Lane(id="b", code="A2"))
    assert all(new is old for new, old in zip(with_codes(lanes), lanes, strict=True))
