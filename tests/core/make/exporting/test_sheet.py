"""The build sheet, read by one PDF library (pypdf) and rendered by another (pypdfium2)."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.wording import degrees, millimetres
from shaftscore.judge.findings import words
from shaftscore.judge.report import examine
from shaftscore.make.drawing.fonts import missing_letters, width_mm, wrapped
from shaftscore.make.exporting import export_project
from shaftscore.make.sheet.bench import CAUTIONS
from shaftscore.make.sheet.card import cards
from shaftscore.make.sheet.paper import A4, LETTER, MARGIN_MM, Paper
from shaftscore.make.sheet.section import spread
from shaftscore.model import Dogs, Lane, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.conftest import Exporter
from tests.core.make.exporting.machines import LIFT_MM, OPEN, REST, one_sided
from tests.machines import lane, machine
from tests.samples import sample

SHEETS = {"buildsheet_a4.pdf": (210.0, 297.0), "buildsheet_letter.pdf": (215.9, 279.4)}
"""Sizes of paper, mm: ISO 216, and 8 1/2 x 11 inches."""

LONG = "Überlanger Name eines Schiebers ohne Ende " * 4


def text_of(path: Path) -> str:
    """All words of a PDF, white space as single spaces."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture(scope="module")
def blender(exported_once: Exporter) -> Path:
    return exported_once("tea_blender", sample("tea_blender")).out


def crowded() -> Project:
    """Thirty lanes with long names on two keyed stacks, one of which turns three times a cycle."""
    lane = one_sided().lanes[0]
    lanes = [
        replaced(
            lane,
            id=f"lane{n}",
            name=f"{LONG}{n}"[-190:],
            code=None,
            group="G" * 150 if n % 2 else "",
            stack="fast" if n % 3 == 0 else "main",
        )
        for n in range(30)
    ]
    dogs = Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0)
    stacks = (Stack(id="main", dogs=dogs, spacer_mm=4.0), Stack(id="fast", turns=3, name=LONG[:150]))
    return replaced(one_sided(), lanes=with_codes(lanes), stacks=stacks, name="N" * 200, notes=LONG * 60)


@pytest.fixture(scope="module")
def crammed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("crammed")
    export_project(crowded(), out, ["pdf"], despite_errors=True)
    return out


@pytest.mark.parametrize("name", SHEETS)
def test_the_sheet_names_every_lane_every_part_and_what_can_hurt(blender: Path, name: str) -> None:
    text = text_of(blender / name)
    for one in sample("tea_blender").lanes:
        assert f"{one.code} {one.label}" in text
        assert one.group in text
        assert all(level in text for level in one.levels)
    for caution in CAUTIONS:
        assert caution in text
    for part in ("shaft of Main shaft", "spacer of Main shaft", "follower of Assam", "SPACER"):
        assert part in text
    for word in (
        "Pinch points",
        "Springs",
        "Rotating parts",
        "Stalled motors",
        "Cut the power",
        "Local codes",
    ):
        assert word in text


def test_the_section_has_the_heights_of_the_stack(blender: Path) -> None:
    """Ten discs of 5 mm and nine spacers of 6 mm are 104 mm high; the third part lies at 11 to 16 mm."""
    text = text_of(blender / "buildsheet_a4.pdf")
    assert "Height 104 mm in all. Shaft: hexagon, across flats 10 mm" in text
    assert "A2 Ceylon: z 11 to 16, 5 thick" in text
    assert "SPACER z 5 to 11, 6 thick, r 12 mm" in text


def test_the_assembly_goes_from_bottom_to_top(blender: Path) -> None:
    text = text_of(blender / "buildsheet_a4.pdf").split("Assembly order")[1].split("Test cards")[0]
    places = [text.index(f"{lane.code} {lane.label} (revision") for lane in sample("tea_blender").lanes]
    assert places == sorted(places)
    assert "clockwise seen from the top, as the arrows" in text


def test_the_sheet_tells_what_the_proof_found(tmp_path: Path) -> None:
    result = export_project(one_sided(), tmp_path, ["stl", "pdf"])
    (proof,) = result.proofs
    text = text_of(tmp_path / "buildsheet_letter.pdf")
    shift = degrees(proof.state_shift_deg, 3)
    row = f"{proof.file} A1 {millimetres(proof.lift_error_mm, 4)} {degrees(proof.lift_at_deg)} {shift} "
    assert row in text
    assert text.split(row)[1].split()[2] == "yes"


def test_a_sheet_alone_says_that_nothing_is_proved(tmp_path: Path) -> None:
    export_project(one_sided(), tmp_path, ["pdf"])
    assert "nothing is proved here" in text_of(tmp_path / "buildsheet_a4.pdf")


def test_findings_that_are_open_stand_on_the_sheet(tmp_path: Path) -> None:
    project = sample("tea_blender_first_draft")
    report = examine(project)
    export_project(report, tmp_path, ["pdf"], despite_errors=True)
    text = text_of(tmp_path / "buildsheet_a4.pdf")
    assert report.findings
    for finding in report.findings:
        told = words(finding, project)
        assert f"{finding.severity.name.lower()}: {told.title}" in text
        assert " ".join(told.what.split()) in text


@pytest.mark.parametrize("which", ["blender", "crammed"])
@pytest.mark.parametrize("name", SHEETS)
def test_every_page_has_ink_and_nothing_outside_its_margins(
    which: str, name: str, request: pytest.FixtureRequest
) -> None:
    document = pypdfium2.PdfDocument(request.getfixturevalue(which) / name)
    margin = MARGIN_MM * 72 / 25.4 - 1.0
    for page in document:
        wide, high = page.get_size()
        assert (wide * 25.4 / 72, high * 25.4 / 72) == pytest.approx(SHEETS[name], abs=0.01)
        assert dark_share(page) > 0.0005
        for left, bottom, right, top in bounds(page):
            assert left >= margin
            assert bottom >= margin - 6.0  # letters reach below the footer's base line
            assert right <= wide - margin
            assert top <= high - margin


def dark_share(page: pypdfium2.PdfPage) -> float:
    picture = np.asarray(page.render(scale=1.0).to_pil().convert("L"))
    return float((picture < 200).mean())


def bounds(page: pypdfium2.PdfPage) -> Iterator[tuple[float, float, float, float]]:
    return (thing.get_bounds() for thing in page.get_objects())


def texts(page: pypdfium2.PdfPage) -> list[tuple[float, float, float, float]]:
    kind = pypdfium2.raw.FPDF_PAGEOBJ_TEXT
    return [thing.get_bounds() for thing in page.get_objects(filter=[kind])]


@pytest.mark.parametrize("which", ["blender", "crammed"])
def test_no_words_lie_upon_other_words(which: str, request: pytest.FixtureRequest) -> None:
    document = pypdfium2.PdfDocument(request.getfixturevalue(which) / "buildsheet_letter.pdf")
    for number, page in enumerate(document):
        boxes = np.array(texts(page)) + np.array([0.4, 0.4, -0.4, -0.4])
        low, high = boxes[:, None, :2], boxes[:, None, 2:]
        over = ((low < boxes[None, :, 2:]) & (boxes[None, :, :2] < high)).all(axis=2)
        np.fill_diagonal(over, val=False)
        assert not over.any(), f"page {number + 1}: {boxes[np.argwhere(over)[0]]}"


def test_the_same_project_gives_the_same_bytes(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        export_project(one_sided(), tmp_path / folder, ["stl", "pdf"])
    for name in SHEETS:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_the_font_is_within_the_file(blender: Path) -> None:
    for page in pypdf.PdfReader(blender / "buildsheet_a4.pdf").pages:
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object().get("/FontDescriptor")
            assert descriptor is None or "/FontFile2" in descriptor


def test_letters_that_the_font_has_not_are_named_in_a_note(tmp_path: Path) -> None:
    result = export_project(one_sided(name="Tea 茶 flap θ"), tmp_path, ["pdf"])
    assert result.notes == (
        "the font of the build sheet does not have 茶 (U+8336): \ufffd is printed instead",
    )
    assert "Tea \ufffd flap θ" in text_of(tmp_path / "buildsheet_a4.pdf")
    assert missing_letters(["Größe − 10°, Ж, \n"]) == ""


def test_a_card_looks_at_the_middles_of_the_blocks() -> None:
    (card,) = cards(examine(one_sided()))
    assert card.rows == (
        (f"{sum(REST) / 2:.1f}°", "closed (0.0 mm)", ""),
        (f"{sum(OPEN) / 2:.1f}°", f"open ({LIFT_MM:.1f} mm)", ""),
    )


def test_a_card_of_a_stack_that_turns_thrice_has_each_place_three_times() -> None:
    (card,) = cards(examine(one_sided(turns=3)))
    middle = sum(REST) / 2
    closed = [row[0] for row in card.rows if row[1].startswith("closed")]
    assert closed == [f"{(middle + 360 * turn) / 3:.1f}°" for turn in range(3)]


def test_a_card_of_a_stack_that_turns_thrice_has_its_millimetres_at_each_place() -> None:
    """Format section 2: the lanes of a stack with turns = 3 repeat s_lane(3 theta mod 360)."""
    (card,) = cards(examine(one_sided(turns=3)))
    places = [
        ((sum(span) / 2 + 360 * turn) / 3, said)
        for span, said in ((REST, "closed (0.0 mm)"), (OPEN, f"open ({LIFT_MM:.1f} mm)"))
        for turn in range(3)
    ]
    assert card.rows == tuple((f"{deg:.1f}°", said, "") for deg, said in sorted(places))


def test_a_card_says_where_a_faster_stack_s_lane_is_on_its_way() -> None:
    """Slow dwells at 110°: Fast is at 330° of its own, half its way down at constant speed."""
    slow = lane("Slow", ("open", 100, 120), ("closed", 160, 420), stack="slow")
    fast = lane("Fast", ("closed", 0, 180), ("open", 240, 300), law="constant-velocity", stack="fast")
    stacks = (Stack(id="slow"), Stack(id="fast", turns=3))
    (card,) = cards(examine(machine(slow, fast, stacks=stacks)))
    rows = {row[0]: row[1:3] for row in card.rows}
    assert rows["110.0°"] == ("open (10.0 mm)", "moving (5.0 mm)")


@pytest.mark.parametrize(("turn", "at_deg"), [("clockwise", 200.0), ("counterclockwise", 20.0)])
def test_a_card_finds_a_rider_at_its_level_when_the_place_of_the_disc_comes_to_it(
    turn: str, at_deg: float
) -> None:
    """The disc's place that Host feels at 110° comes a quarter turn later, or sooner, to a rider at −90°."""
    host = lane("Host", ("open", 100, 120), ("closed", 160, 420))
    rider = Lane(id="rider", name="Rider", kind="rider", disc_of="host", station_deg=-90.0)
    (card,) = cards(examine(machine(host, rider, turn=turn)))
    rows = {row[0]: row[1:3] for row in card.rows}
    assert rows["110.0°"][0] == "open (10.0 mm)"
    assert rows[f"{at_deg:.1f}°"][1] == "open (10.0 mm)"
    assert sum("open" in row[1] for row in rows.values()) == 1


@given(st.text(max_size=80), st.floats(5.0, 60.0))
def test_wrapped_lines_fit_and_lose_no_letter(text: str, wide: float) -> None:
    lines = wrapped(text, 7.0, wide)
    assert all(width_mm(line, 7.0) <= wide for line in lines)
    assert sum(len(line.replace(" ", "")) for line in lines) == len("".join(text.split()))


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=20), st.floats(1.0, 12.0))
def test_labels_keep_their_distance_and_the_paper(wanted: list[float], high: float) -> None:
    places = spread(sorted(wanted, reverse=True), [high] * len(wanted), 0.0, 100.0)
    gap = min(high, (100.0 - high) / max(1, len(wanted) - 1))
    assert all(below - above >= gap - 1e-9 for below, above in pairwise(places))
    assert min(places) >= high / 2 - 1e-9
    assert max(places) <= 100.0 - high / 2 + 1e-9


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
def test_a_row_higher_than_a_page_goes_on_on_the_next(size: object, tmp_path: Path) -> None:
    paper = Paper(A4 if size is A4 else LETTER, "t", "t")
    cells = [f"w{n}" for n in range(3000)]
    paper.table(("a", "b"), [(" ".join(cells), "x")], (1, 3))
    path = tmp_path / "t.pdf"
    path.write_bytes(paper.finished())
    text = text_of(path)
    assert all(word in text for word in cells[::97])
    assert len(pypdf.PdfReader(path).pages) > 1
