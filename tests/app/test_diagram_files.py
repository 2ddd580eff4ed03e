"""The timing diagram as PDF, SVG and PNG, opened again with other libraries."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from lxml import etree
from PySide6.QtCore import Qt
from PySide6.QtGui import QPdfWriter

from shaftscore.judge.report import FULL, Report, examine
from shaftscore.make.drawing.timing.sheet import timing_sheets
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.theme import Theme
from shaftscore_app.timing.diagram_files import (
    PICTURE_MM,
    diagram_bytes,
    page_layout,
    pdf_bytes,
    png_bytes,
    svg_bytes,
)
from shaftscore_app.widgets.choice import Choice
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, repeat_until
from tests.app.machines import _lane, as_bytes, gates, gates_file

SVG = "{http://www.w3.org/2000/svg}"


def _report(project: Project) -> Report:
    return examine(project, None, stage=FULL)


def _text(page: pypdf.PageObject) -> str:
    return " ".join(page.extract_text().split())


def _many(count: int = 40) -> Project:
    levels, blocks = {"closed": 0.0, "open": 10.0}, [("open", 60.0, 80.0), ("closed", 140.0, 360.0)]
    lanes = [_lane(f"Lane{number}", levels, blocks) for number in range(count)]
    return read_project(as_bytes(gates_file(lanes=lanes, rules=[])), "many.shaft")


@pytest.mark.parametrize(
    ("paper", "size_mm"),
    [("A4", (297.0, 210.0)), ("Letter", (279.4, 215.9))],
)
def test_a_pdf_lies_on_its_paper_and_holds_letters_not_pixels(
    paper: str, size_mm: tuple[float, float]
) -> None:
    """Outside values: A4 is 210 x 297 mm (ISO 216), Letter 215.9 x 279.4 mm (ANSI/ASME Y14.1, size A)."""
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(_report(gates()), paper)))
    (page,) = reader.pages
    box = page.mediabox
    assert (float(box.width) * 25.4 / 72, float(box.height) * 25.4 / 72) == pytest.approx(size_mm, abs=0.4)
    text = _text(page)
    for word in (
        "Two gates",
        "Left",
        "Right",
        "Flap",
        "open",
        "Degrees",
        "Steps",
        "Seconds",
        "guarded level",
    ):
        assert word in text
    assert "Cut the power before you reach in" in text
    assert not page.images


def test_a_pdf_is_painted_inside_its_margins() -> None:
    document = pypdfium2.PdfDocument(pdf_bytes(_report(gates()), "A4"))
    scale = 2.0
    dots = np.asarray(document[0].render(scale=scale).to_numpy())[..., :3].min(axis=2)
    rows, columns = np.nonzero(dots < 250)
    margin = 11.0 / 25.4 * 72 * scale
    assert rows.min() > margin
    assert columns.min() > margin
    assert rows.max() < dots.shape[0] - margin
    assert columns.max() < dots.shape[1] - margin


def test_lanes_that_have_no_room_come_on_further_pages_each_once() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(_report(_many()), "A4")))
    assert len(reader.pages) > 1
    texts = [_text(page) for page in reader.pages]
    for number in range(40):
        assert sum(text.split().count(f"Lane{number}") for text in texts) == 1
    assert f"1 of {len(texts)}" in texts[0]


def test_an_svg_is_whole_and_names_every_lane() -> None:
    root = etree.fromstring(svg_bytes(_report(_many())))
    assert root.tag == f"{SVG}svg"
    words = {text.strip() for text in root.itertext()}
    assert {f"Lane{number}" for number in range(40)} <= words
    assert not root.findall(f".//{SVG}image")
    width, height = (float(side) for side in root.get("viewBox").split()[2:])
    (sheet,) = timing_sheets(_report(_many()), PICTURE_MM)
    assert (width, height) == pytest.approx((sheet.wide_mm + 20.0, sheet.high_mm + 20.0), abs=8.0)
    assert root.get("width") == f"{width:g}mm"


def test_a_png_has_eight_pixels_to_a_mm(theme: Theme) -> None:
    data = png_bytes(theme, _report(gates()))
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = (int.from_bytes(data[at : at + 4], "big") for at in (16, 20))
    (sheet,) = timing_sheets(_report(gates()), PICTURE_MM)
    assert (width, height) == (8 * 290, round(8 * (sheet.high_mm + 10.0)))


def test_paper_is_light_also_while_the_screen_is_dark(theme: Theme) -> None:
    light = png_bytes(theme, _report(gates()))
    theme.set_choice("dark")
    assert png_bytes(theme, _report(gates())) == light


def test_the_same_diagram_gives_the_same_pdf() -> None:
    """As the files of the export: no clock and no random name is in it."""
    assert pdf_bytes(_report(gates()), "A4") == pdf_bytes(_report(gates()), "A4")


def _press(qtbot, window: MainWindow, text: str) -> None:
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    qtbot.mouseClick(dialog.button(text), Qt.MouseButton.LeftButton)


def choose(qtbot, chooser: Choice, wanted: str) -> None:
    """Press Down until something is chosen."""
    repeat_until(lambda: chooser.shown() == wanted, lambda: qtbot.keyClick(chooser, Qt.Key.Key_Down))


@pytest.mark.parametrize("kind", ["pdf", "svg", "png"])
def test_the_menu_writes_the_file(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path, kind: str
) -> None:
    answers.target = tmp_path / f"out.{kind}"
    window.actions_table["file.diagram"].trigger()
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    dialog.kind.setFocus()
    choose(qtbot, dialog.kind, kind)
    assert dialog.paper.isEnabled() == (kind == "pdf")
    _press(qtbot, window, "Choose the file…")
    assert answers.proposed[-1].endswith(f"diagram.{kind}")
    assert len(answers.target.read_bytes()) > 1000
    report = window.document.whole_report
    assert answers.target.read_bytes() == diagram_bytes(kind, window.theme, report, "A4")


def test_a_disk_that_refuses_is_said(qtbot, window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    answers.target = tmp_path / "not there" / "out.svg"
    window.groups.printing.write(answers.target, "svg", "A4")
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    assert dialog.windowTitle() == "Export diagram"


def test_print_goes_to_the_printer_that_was_chosen(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    paper = QPdfWriter(str(tmp_path / "printed.pdf"))
    paper.setResolution(600)
    paper.setPageLayout(page_layout("Letter"))
    answers.paper = paper
    window.actions_table["file.print"].trigger()
    del paper
    answers.paper = None
    assert len(pypdf.PdfReader(tmp_path / "printed.pdf").pages) == 1
    assert window.settings.values.paper == "Letter"


def test_the_paper_is_remembered(qtbot, window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    answers.target = tmp_path / "out.pdf"
    for paper in ("A4", "Letter"):
        window.actions_table["file.diagram"].trigger()
        (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
        assert dialog.paper.shown() == paper
        dialog.paper.setFocus()
        choose(qtbot, dialog.paper, "Letter")
        _press(qtbot, window, "Choose the file…")
        page = pypdf.PdfReader(answers.target).pages[0].mediabox
        assert (float(page.width), float(page.height)) == pytest.approx((792, 612), abs=1)  # 11 x 8.5 inches
