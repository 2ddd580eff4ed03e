"""Scenes painted in a PDF, read back with two other libraries: places, colours, patterns, letters."""

from __future__ import annotations

import io

import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
from pypdfium2 import raw
from reportlab.pdfgen.canvas import Canvas

from shaftscore.make.drawing.fonts import missing_letters, shortened, visual, width_mm, wrapped
from shaftscore.make.drawing.hatch import hatch_dots, hatch_lines
from shaftscore.make.drawing.on_pdf import paint_scene
from shaftscore.make.drawing.scene import Path, Scene, Stroke, Text, scene

POINT_MM = 25.4 / 72.0  # PDF 32000-1:2008, 8.3.2.3: a unit of user space is 1/72 inch
SQUARE = np.array([0, 40, 40 + 20j, 20j])
HOLE = np.array([10 + 5j, 30 + 5j, 30 + 15j, 10 + 15j])


def pdf(drawn: Scene, scale: float = 1.0, offset: complex = 0j) -> bytes:
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(595, 842), invariant=1)
    paint_scene(canvas, drawn, scale, offset)
    canvas.showPage()
    canvas.save()
    return file.getvalue()


def boxes_mm(data: bytes) -> list[tuple[float, ...]]:
    """Boxes of the paths of page 1, mm, without half a line's width round them."""
    page = pdfium.PdfDocument(data)[0]
    paths = page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])
    return [tuple(np.array(path.get_bounds()) * POINT_MM) for path in paths]


def pixels(data: bytes, dots_per_mm: float = 4.0) -> np.ndarray:
    """Page 1 as grey values, rows from the bottom, `dots_per_mm`."""
    picture = pdfium.PdfDocument(data)[0].render(scale=dots_per_mm * POINT_MM, grayscale=True)
    return picture.to_numpy().reshape(picture.height, picture.width)[::-1]


def test_scale_and_offset_put_a_path_where_they_say() -> None:
    path = Path(SQUARE, stroke=None, closed=True, fill="shade")
    assert boxes_mm(pdf(scene([path]), 0.5, 30 + 70j)) == [pytest.approx((30, 70, 50, 80), abs=0.05)]


def test_a_hole_stays_empty_and_later_marks_cover_earlier_ones() -> None:
    face = Path(SQUARE, stroke=None, closed=True, fill="ink", holes=(HOLE,))
    cover = Path(SQUARE[[0, 1, 2]] * 0.2, stroke=None, closed=True, fill="paper")
    seen = pixels(pdf(scene([face, cover]), 1.0, 20 + 20j))
    at = lambda x, y: int(seen[round((20 + y) * 4), round((20 + x) * 4)])  # noqa: E731
    assert (at(5, 10), at(20, 10), at(35, 10), at(6, 1)) == (0, 255, 0, 255)


def test_tones_keep_their_order_in_greys() -> None:
    tones = ("ink", "new", "muted", "pale", "shade", "face", "paper")
    marks = [Path(SQUARE + 40 * n, stroke=None, closed=True, fill=tone) for n, tone in enumerate(tones)]
    seen = pixels(pdf(scene(marks), 0.5, 20 + 20j))
    greys = [int(seen[100, round((30 + 20 * n) * 4)]) for n in range(len(tones))]
    assert greys == sorted(set(greys))


@pytest.mark.parametrize(
    ("pattern", "count"),
    [
        # lines 2 mm apart over a 40 by 20 rectangle; level and upright ones by hand, slanted ones lie
        # 2 * sqrt(2) apart along both sides: (40 + 20) / 2.83 = 21.2
        ("level", 10),
        ("upright", 20),
        ("rising", 21),
        ("falling", 21),
        ("crossed", 42),
    ],
)
def test_pattern_lines_are_cut_at_the_outline(pattern: str, count: int) -> None:
    lines = hatch_lines(Path(SQUARE, closed=True, pattern=pattern), 2.0)
    assert len(lines) == pytest.approx(count, abs=2)
    assert lines.real.min() >= -1e-9
    assert lines.real.max() <= 40 + 1e-9
    assert lines.imag.min() >= -1e-9
    assert lines.imag.max() <= 20 + 1e-9


@pytest.mark.parametrize("pattern", ["rising", "level", "dots"])
def test_patterns_spare_the_holes(pattern: str) -> None:
    """Length of line per area is 1 / spacing, a dot has spacing squared: the hole's share is missing."""
    path = Path(SQUARE, closed=True, pattern=pattern, holes=(HOLE,))
    lines, dots = hatch_lines(path, 0.5), hatch_dots(path, 0.5)
    measured = np.abs(lines[:, 1] - lines[:, 0]).sum() * 0.5 + len(dots) * 0.25
    assert measured == pytest.approx(40 * 20 - 20 * 10, rel=0.03)
    middles = np.concatenate([lines.mean(axis=1), dots])
    inside = (middles.real > 10.01) & (middles.real < 29.99) & (middles.imag > 5.01) & (middles.imag < 14.99)
    assert not inside.any()


def test_a_pattern_is_seen_without_colour() -> None:
    plain, hatched = (
        pixels(pdf(scene([Path(SQUARE, stroke=None, closed=True, pattern=pattern)]), 1.0, 20 + 20j))
        for pattern in (None, "crossed")
    )
    assert (plain == 255).all()
    inside = hatched[80:160, 80:240]
    assert 0.1 < (inside < 200).mean() < 0.6
    assert (hatched[:70] == 255).all()


def test_texts_are_read_back_at_their_places_and_angles() -> None:
    marks = [
        Text(10 + 20j, "Assam"),
        Text(60 + 20j, "Größe", bold=True, anchor="end"),
        Text(30 + 40j, "turned", turned_deg=90.0, anchor="middle"),
    ]
    seen = []

    def read(text, ctm, tm, font, size) -> None:
        if text.strip():
            seen.append((text.strip(), np.array(ctm), font["/BaseFont"]))

    data = io.BytesIO(pdf(scene(marks), 2.0, 5 + 5j))
    pypdf.PdfReader(data).pages[0].extract_text(visitor_text=read)
    assert [text for text, _, _ in seen] == ["Assam", "Größe", "turned"]
    assert seen[0][1][4:] * POINT_MM == pytest.approx([25, 45], abs=0.01)
    assert seen[2][1][:4] == pytest.approx([0, 1, -1, 0], abs=1e-6)
    assert ["Bold" in font for _, _, font in seen] == [False, True, False]


def test_lines_have_their_widths_and_dashes() -> None:
    line = np.array([0, 50.0])
    strokes = [Stroke(weight="hair"), Stroke(weight="bold", dash="chain")]
    marks = [Path(line + 10j * n, stroke) for n, stroke in enumerate(strokes)]
    content = pypdf.PdfReader(io.BytesIO(pdf(scene(marks)))).pages[0].get_contents().get_data()
    assert b".3 w" in content
    assert b"1.2 w" in content
    assert b"[8 2 1 2] 0 d" in content


def test_the_same_drawing_gives_the_same_bytes() -> None:
    drawn = scene([Path(SQUARE, closed=True, fill="new-face", pattern="dots"), Text(0j, "A1", bold=True)])
    assert pdf(drawn) == pdf(drawn)


def test_right_to_left_names_come_in_the_order_in_which_they_are_painted() -> None:
    """UAX 9: letters from the right, numbers from the left; Arabic letters joined, as Unicode chapter 9.2."""
    assert visual("שלום") == "םולש"
    assert visual("A1 שלום 12") == "A1 12 םולש"
    assert visual("باب") == "\ufe8f\ufe8e\ufe91"  # final beh alone after alef, alef final, beh initial
    assert missing_letters([visual("شاي الصباح"), "Größe − 10° …"]) == ""
    assert visual("Chai, 10 mm") == "Chai, 10 mm"


def test_texts_are_shortened_and_wrapped_to_a_width() -> None:
    assert shortened("Assam", 7.0, 50.0) == "Assam"
    cut = shortened("Assam from the upper valley", 7.0, 20.0, bold=True)
    assert cut.endswith("…")
    assert width_mm(cut, 7.0, bold=True) <= 20.0
    assert shortened("Assam", 7.0, 0.5) == ""
    assert width_mm("Assam", 7.0, bold=True) > width_mm("Assam", 7.0)
    assert " ".join(wrapped("one two three four", 7.0, 12.0, bold=True)) == "one two three four"
