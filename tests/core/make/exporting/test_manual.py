"""The build manual, read by one PDF library (pypdf) and rendered by another (pypdfium2)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pypdfium2
import pytest

from shaftscore.base.progress import Silent
from shaftscore.base.wording import degrees, millimetres
from shaftscore.judge.findings import words
from shaftscore.judge.report import QUICK, examine
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import BOTH
from shaftscore.make.drawing.fonts import missing_letters
from shaftscore.make.drawing.paper_sizes import A4, LETTER
from shaftscore.make.drawing.pictures import PicturedMachine, plate_plan
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.gather import gather
from shaftscore.make.manual import manual_bytes
from shaftscore.make.manual.paper import MARGIN_MM
from shaftscore.make.manual.words import CAUTIONS
from shaftscore.model import Dogs, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from tests.core.make.exporting.conftest import Exporter
from tests.core.make.exporting.machines import one_sided
from tests.samples import sample, sample_report

MANUALS = {"build_manual_a4.pdf": (210.0, 297.0), "build_manual_letter.pdf": (215.9, 279.4)}
"""Sizes of paper, mm: ISO 216, and 8 1/2 x 11 inches."""

LONG = "Überlanger Name eines Schiebers ohne Ende " * 4

ORDER = (
    "Cover",
    "What to buy",
    "Before you print",
    "Parts to print",
    "Plan of the machine",
    "Assembly",
    "Section of",
    "Followers",
    "Timing diagram",
    "Test cards for the hand crank",
    "Dial",
    "If it does not work",
    "The first difference",
    "Home and restart",
    "Torque of each step by hand",
    "Running and inspection",
    "Proof and notes",
)
"""Beginnings of the titles of all sections, in the order of the bench."""


@dataclass(frozen=True)
class ReadManual:
    """A manual, of which each page is read once: texts have single spaces, sections a title and a page."""

    folder: Path
    pages: tuple[str, ...]
    sections: tuple[tuple[str, int], ...]
    fonts: tuple[Any, ...]

    @property
    def text(self) -> str:
        """All words."""
        return " ".join(self.pages)


def read_manual(path: Path) -> ReadManual:
    """Read one size of paper with each library: pypdf takes seconds for the texts."""
    reader = pypdf.PdfReader(path)
    items: list[Any] = [item for item in reader.outline if not isinstance(item, list)]
    is_first = path.name == next(iter(MANUALS))
    texts = tuple(plain(page.extract_text()) for page in reader.pages) if is_first else texts_of(path)
    return ReadManual(
        path.parent,
        texts,
        tuple((plain(str(item["/Title"])), reader.get_destination_page_number(item) or 0) for item in items),
        tuple(font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()),  # type: ignore[index]
    )


def texts_of(source: Path | bytes) -> tuple[str, ...]:
    """Return the words of each page as pypdfium2 reads them."""
    return tuple(plain(page.get_textpage().get_text_range()) for page in pypdfium2.PdfDocument(source))


def plain(text: str) -> str:
    return " ".join(text.split()).replace("\u00a0", " ")


def text_of(source: Path | io.BytesIO) -> str:
    """All words of a PDF, white space as single spaces."""
    return plain(" ".join(page.extract_text() for page in pypdf.PdfReader(source).pages))


def alone(project: Project, size=LETTER) -> io.BytesIO:
    """Return the manual of a project that is not judged in full."""
    order = gather(examine(project, stage=QUICK), ("manual",), Silent(), True)
    return io.BytesIO(manual_bytes(order, size, ()))


@pytest.fixture(scope="module")
def blender(exported_once: Exporter) -> Path:
    return exported_once("tea_blender", sample("tea_blender")).out


@pytest.fixture(scope="module", params=MANUALS)
def manual(request: pytest.FixtureRequest, blender: Path) -> ReadManual:
    return read_manual(blender / request.param)


def crowded() -> Project:
    """Fourteen lanes with long names on two keyed stacks, one of which turns three times a cycle."""
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
        for n in range(14)
    ]
    dogs = Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0)
    stacks = (Stack(id="main", dogs=dogs, spacer_mm=4.0), Stack(id="fast", turns=3, name=LONG[:150]))
    return replaced(one_sided(), lanes=with_codes(lanes), stacks=stacks, name="N" * 200, notes=LONG * 60)


@pytest.fixture(scope="module")
def crammed() -> io.BytesIO:
    return alone(crowded())


def test_sections_come_in_the_order_of_the_bench(manual: ReadManual) -> None:
    titles = [title for title, _ in manual.sections]
    for title, page in manual.sections[1:]:
        assert title in manual.pages[page]
    places = [next((n for n, start in enumerate(ORDER) if title.startswith(start)), None) for title in titles]
    assert None not in places, titles
    assert places == sorted(places)  # type: ignore[type-var]
    needed = {
        "Cover",
        "Before you print",
        "Timing diagram",
        "Test cards for the hand crank",
        "If it does not work",
        "Home and restart",
        "Torque of each step by hand",
        "Running and inspection",
    }
    assert needed <= set(titles)


def test_it_names_every_lane_every_part_all_that_is_bought_and_what_can_hurt(manual: ReadManual) -> None:
    text = manual.text
    for one in sample("tea_blender").lanes:
        assert f"{one.code} {one.label}" in text
        assert one.group in text
        assert all(level in text for level in one.levels)
    for caution in CAUTIONS:
        assert caution in text
    with (manual.folder / "parts_list.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if row["revision"]:
            assert row["code"] in text
            assert row["revision"] in text
        elif row["what"] != "build plate":
            assert row["size"] in text, row


def test_what_is_bought_is_counted_over_all_that_needs_it(manual: ReadManual) -> None:
    """The six caddies have springs of one kind, as the sample's file says: one line for all of them."""
    lanes = [lane for lane in sample("tea_blender").lanes if lane.load is not None]
    springs = [lane.load.spring for lane in lanes if lane.load is not None]
    assert [lane.code for lane, one in zip(lanes, springs, strict=True) if one == springs[0]] == [
        f"A{number}" for number in range(1, 7)
    ]
    assert "music-wire spring: A1 to A6 6" in manual.text


def test_the_manual_tells_what_the_proof_found(tmp_path: Path) -> None:
    result = export_project(one_sided(), tmp_path, ["stl", "manual"])
    (proof,) = result.proofs
    text = text_of(tmp_path / "build_manual_letter.pdf")
    shift = degrees(proof.state_shift_deg, 3)
    row = f"A1 {proof.file} {millimetres(proof.lift_error_mm, 4)} {degrees(proof.lift_at_deg)} {shift} "
    assert row in text
    assert text.split(row)[1].split()[2] == "yes"
    bytes_of = (tmp_path / "build_manual_a4.pdf").read_bytes()
    assert result.manifest["formats"] == ["stl", "manual"]
    export_project(one_sided(), tmp_path / "again", ["stl", "pdf"])  # the other name of the format
    assert (tmp_path / "again" / "build_manual_a4.pdf").read_bytes() == bytes_of  # the same bytes


def test_findings_that_are_open_stand_in_it_and_errors_on_its_cover() -> None:
    report = sample_report("tea_blender_first_draft")
    data = manual_bytes(gather(report, ("manual",), Silent(), True), A4, ())
    pages = texts_of(data)
    text = " ".join(pages)
    assert "nothing is proved here" in text
    assert report.folded.roots
    for finding in report.folded.roots:
        told = words(finding, report.project)
        assert f"{finding.severity.name.capitalize()}: {told.title}" in text
        assert " ".join(told.what.split()) in text
    count = sum(one.severity.name == "ERROR" for one in report.folded.roots)
    assert f"{count} errors were open when this was written" in pages[0]


def pages_of(source: Path | io.BytesIO) -> pypdfium2.PdfDocument:
    if isinstance(source, Path):
        return pypdfium2.PdfDocument(source)
    return pypdfium2.PdfDocument(source.getvalue())


@pytest.mark.parametrize("which", ["build_manual_a4.pdf", "build_manual_letter.pdf", "crammed"])
def test_pages_are_filled_and_nothing_is_outside_the_margins(
    which: str, request: pytest.FixtureRequest
) -> None:
    source = (
        request.getfixturevalue("crammed")
        if which == "crammed"
        else request.getfixturevalue("blender") / which
    )
    size = MANUALS.get(which, MANUALS["build_manual_letter.pdf"])
    document = pages_of(source)
    margin = MARGIN_MM * 72 / 25.4 - 1.5  # half of a bold line
    for number, page in enumerate(document, start=1):
        wide, high = page.get_size()
        assert (wide * 25.4 / 72, high * 25.4 / 72) == pytest.approx(size, abs=0.01)
        boxes = np.array([thing.get_bounds() for thing in page.get_objects()])
        assert boxes[:, 0].min() >= margin, number
        assert boxes[:, 1].min() >= margin - 6.0, number  # letters reach below the foot's base line
        assert boxes[:, 2].max() <= wide - margin, number
        assert boxes[:, 3].max() <= high - margin, number
        if number < len(document):  # the last page ends where the text does
            assert filled(page) > 1 / 3, number


def filled(page: pypdfium2.PdfPage) -> float:
    """Return the share of the height between head and foot down to the lowest mark that is not white."""
    picture = np.asarray(page.render(scale=0.5).to_pil().convert("L"))
    inside = picture[round(0.075 * len(picture)) : round(0.925 * len(picture))]
    rows = np.nonzero((inside < 230).any(axis=1))[0]
    return float((rows.max() + 1) / len(inside)) if len(rows) else 0.0


@pytest.mark.parametrize("which", ["blender", "crammed"])
def test_no_words_lie_upon_other_words(which: str, request: pytest.FixtureRequest) -> None:
    source = request.getfixturevalue(which)
    document = pages_of(source / "build_manual_letter.pdf" if which == "blender" else source)
    for number, page in enumerate(document, start=1):
        boxes = np.array([*text_boxes(page)]) + np.array([0.4, 0.6, -0.4, -0.6])
        low, high = boxes[:, None, :2], boxes[:, None, 2:]
        over = ((low < boxes[None, :, 2:]) & (boxes[None, :, :2] < high)).all(axis=2)
        np.fill_diagonal(over, val=False)
        assert not over.any(), f"page {number}: {boxes[np.argwhere(over)[0]]}"


def text_boxes(page: pypdfium2.PdfPage) -> Iterator[tuple[float, float, float, float]]:
    kind = pypdfium2.raw.FPDF_PAGEOBJ_TEXT
    return (thing.get_bounds() for thing in page.get_objects(filter=[kind]))


def test_the_fonts_are_within_the_file(manual: ReadManual) -> None:
    assert manual.fonts
    for font in manual.fonts:
        descriptor = font.get("/FontDescriptor")
        assert descriptor is None or "/FontFile2" in descriptor


def test_letters_that_the_font_has_not_are_named_in_a_note(tmp_path: Path) -> None:
    result = export_project(one_sided(name="Tea 茶 flap θ"), tmp_path, ["manual"])
    assert result.notes == (
        "the font of the build manual does not have 茶 (U+8336): \ufffd is printed instead",
    )
    assert "Tea \ufffd flap θ" in text_of(tmp_path / "build_manual_a4.pdf")
    assert missing_letters(["Größe − 10°, Ж, \n"]) == ""


def test_a_name_from_right_to_left_is_printed_in_the_order_in_which_it_is_read() -> None:
    """The letters of a Hebrew word are painted from the left in the reverse of their order (UAX #9)."""
    project = one_sided(name="מנוע")
    assert "A1 עונמ" in text_of(alone(project, A4)) or "A1 מנוע" in text_of(alone(project, A4))


def test_every_hole_has_one_name_in_drawing_table_and_plan(manual: ReadManual) -> None:
    """Names in the drawing of a plate, in its table and of the layout are the same, with their places."""
    solution = solve(sample("tea_blender"))
    frame = machine_frame(solution)
    assert frame is not None
    order = gather(examine(sample("tea_blender"), stage=QUICK), ("manual",), Silent(), True)
    machine = PicturedMachine(solution, tuple(item.part for item in order.items), frame)
    for side in BOTH:
        plan = plate_plan(machine, side, 184.0, 150.0)
        assert plan is not None
        names = sorted(hole.name for hole in frame.of_plate(side))
        assert sorted(row[0] for row in plan.rows) == names
        drawn = [one.text for one in plan.scene.texts if one.text in names]
        assert sorted(drawn) == names
        for hole in frame.of_plate(side):
            figures = (f"{value:.1f}".replace("-", "−") for value in (hole.at.real, hole.at.imag))
            assert f"{hole.name} {' '.join(figures)}".replace("−0.0", "0.0") in manual.text


def test_what_is_seen_when_a_tooth_is_off_follows_from_the_teeth(manual: ReadManual) -> None:
    """72 teeth, so 5.0° a tooth; a hexagon has six sides, so 60.0°."""
    assert "5.0°: the hub gear is one tooth off." in manual.text
    assert "late or early by 60.0° or a multiple" in manual.text


def test_files_of_the_sheet_that_was_are_replaced_and_named(tmp_path: Path) -> None:
    """A folder of an earlier version: its manifest calls the format pdf and the files buildsheet_..."""
    export_project(one_sided(), tmp_path, ["manual"])
    manifest = (tmp_path / "manifest.json").read_text("ascii").replace("build_manual_", "buildsheet_")
    (tmp_path / "manifest.json").write_text(manifest.replace(' "manual"', ' "pdf"'), "ascii")
    for size in ("a4", "letter"):
        (tmp_path / f"build_manual_{size}.pdf").rename(tmp_path / f"buildsheet_{size}.pdf")
    result = export_project(one_sided(), tmp_path, ["manual"])
    assert {file.name: file.why for file in result.removed} == {
        f"buildsheet_{size}.pdf": f"it is now called build_manual_{size}.pdf" for size in ("a4", "letter")
    }
    assert not list(tmp_path.glob("buildsheet_*"))
