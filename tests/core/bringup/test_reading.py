"""Sheets of sightings read from text."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError
from shaftscore.bringup import BenchCheck, read_sightings
from tests.machines import gate, machine

PROJECT = machine(gate("One", 60.0, 90.0, code="A1"), gate("Two", 200.0, 230.0, code="A2"))


@pytest.mark.parametrize(
    "text",
    [
        "angle,turn,A1,two\n10,1,closed,\n72.5°,2,open,7.5\n",
        "Angle;Turn;One;A2\n10;1;Closed;\n\n72,5;2;open;7,5 mm\n",
        "\ufeffangle\tturn\tone\tTwo\n10\t1\tclosed\t\n72.5\t2\topen\t7.5\n",
    ],
    ids=["commas", "semicolons", "tabs"],
)
def test_levels_and_outputs_are_read_with_any_separator(text: str) -> None:
    assert read_sightings(PROJECT, text).checks == (
        BenchCheck(10.0, {"one": "closed"}, 1),
        BenchCheck(72.5, {"one": "open", "two": 7.5}, 2),
    )


BAD = {
    "": "there are no checks: a line with the columns' names and a line a check are required",
    "angle,Onne\n10,open": 'line 1: there is no lane "Onne"; did you mean "one"?',
    "A1\nopen": 'line 1: there is no column "angle"',
    "angle,A1,one\n10,open,open": 'line 1: column "one" is there twice',
    "angle,A1\n10,opne": 'line 2: "opne" is neither a level of One (closed, open) nor a number of mm; '
    'did you mean "open"?',
    "angle,A1\n400,open\n10,9999": "line 2: angle 400° is not 0° to under 360°; line 3: 9999 mm of One is "
    "not −2000 to 2000 mm",
    "angle,A1\n,open": "line 2: has no angle",
    "angle,A1\n10,open,7": "line 2: has 3 cells for 2 columns",
    "angle,turn,A1\n10,0,open": 'line 2: turn "0" is not a whole number from 1 to 10,000',
}


@pytest.mark.parametrize("text", BAD)
def test_what_cannot_be_read_is_named_with_its_line(text: str) -> None:
    with pytest.raises(EditError) as error:
        read_sightings(PROJECT, text)
    assert str(error.value) == BAD[text]
