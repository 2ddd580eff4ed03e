"""Characters that no text of a project may hold: refused with their place, in the loader and in edits."""

from __future__ import annotations

import json
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import set_lane, set_levels
from shaftscore.model.letters import refused_letter
from shaftscore.model.loader import read_project
from tests.core.make.exporting.machines import one_sided

OLD = (*range(0x09), 0x0B, 0x0C, *range(0x0E, 0x20), *range(0x7F, 0xA0))
CONTROLS = [chr(n) for n in (*OLD, 0xFFFE, 0xFFFF)]
DIRECTIONS = [chr(n) for n in (0x61C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A))]
"""Unicode 15.1, PropList.txt, property Bidi_Control."""


def raw(**more: object) -> dict[str, object]:
    lane = {
        "id": "a",
        "levels": {"closed": 0, "open": 10},
        "blocks": [
            {"level": "open", "start_deg": 100, "end_deg": 130},
            {"level": "closed", "start_deg": 170, "end_deg": 420},
        ],
    }
    shaft = {"turn": "clockwise", "speed_rpm": 6}
    whole: dict[str, object] = {"format": "shaftscore-project", "version": 1, "shaft": shaft, "lanes": [lane]}
    return whole | more


def faults(project: dict[str, object]) -> list[str]:
    try:
        read_project(json.dumps(project).encode(), "tea")
    except ProjectError as error:
        return [str(fault) for fault in error.faults]
    return []


@pytest.mark.parametrize("letter", CONTROLS + DIRECTIONS, ids=lambda letter: f"{ord(letter):04X}")
def test_each_is_refused_with_its_place_and_never_written_out(letter: str) -> None:
    (said,) = faults(raw(name=f"Te{letter}a"))
    assert said.startswith(f"name: character 3 (U+{ord(letter):04X}) ")
    assert letter not in said


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20))
def test_what_is_let_through_an_independent_xml_library_writes_and_reads(text: str) -> None:
    """lxml refuses what XML has no place for."""
    if refused_letter(text) is not None:
        return
    node = etree.Element("name")
    node.text = text
    back = etree.fromstring(etree.tostring(node)).text or ""
    assert back == text
    assert not set(back) & set(DIRECTIONS)


def test_ordinary_text_of_every_script_is_let_through() -> None:
    texts = ["Öolong №1 – 茶 ☕", "شاي", "תה", "line\none\ttwo", "👩\u200d🔧", "a\u00a0b", "\U0001f600"]
    assert all(refused_letter(text) is None for text in texts)
    assert all(unicodedata.bidirectional(sign) for sign in "شת")


PLACES = {
    "notes": ("notes", lambda bad: {"notes": bad}),
    "step": ("shaft.step_names[0]", lambda bad: {
        "shaft": {"turn": "clockwise", "speed_rpm": 6, "steps": 4, "step_names": [bad]}
    }),
    "stack": ("stacks[0].name", lambda bad: {"stacks": [{"id": "main", "name": bad}]}),
    "material": ("materials[0].name", lambda bad: {
        "materials": [{"name": bad, "modulus_gpa": 1, "poisson": 0.3, "contact_mpa": 5}]
    }),
    "lane": ("lanes[0].name", lambda bad: {"lanes": [{"id": "a", "name": bad}]}),
    "group": ("lanes[0].group", lambda bad: {"lanes": [{"id": "a", "group": bad}]}),
    "level": ('lanes[0].levels["x\\u202e"]', lambda bad: {"lanes": [{"id": "a", "levels": {bad: 1}}]}),
    "guarded": ("lanes[0].guarded[0]", lambda bad: {"lanes": [{"id": "a", "guarded": [bad]}]}),
    "block": ("lanes[0].blocks[0].level", lambda bad: {
        "lanes": [{"id": "a", "levels": {"up": 1}, "blocks": [{"level": bad, "start_deg": 1, "end_deg": 2}]}]
    }),
    "state": ("rules[0].states[0].level", lambda bad: {
        "rules": [{"kind": "exclusive", "gap_deg": 1,
                   "states": [{"lane": "a", "level": bad}, {"lane": "a", "level": "open"}]}]
    }),
    "item": ("flow.outlets[0].expects[0]", lambda bad: {
        "flow": {"outlets": [{"id": "cup", "expects": [bad]}]}
    }),
}  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
def test_every_place_of_a_text_is_looked_at(place: str) -> None:
    path, make = PLACES[place]
    said = faults(raw(**make("x\u202e")))
    assert any(line.startswith(f"{path}: character 2 (U+202E) changes the direction") for line in said), said


def test_edits_are_refused_in_the_same_words() -> None:
    project = one_sided()
    with pytest.raises(EditError, match=r"character 1 \(U\+202E\) changes the direction of writing"):
        set_lane(project, "flap", name="\u202egpj.exe")
    with pytest.raises(EditError, match=r"character 3 \(U\+0007\) is a control character"):
        set_levels(project, "flap", {"closed": 0.0, "op\x07en": 7.0}, {"open": "op\x07en"})
