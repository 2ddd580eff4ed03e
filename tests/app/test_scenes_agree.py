"""One scene in all four back ends, read back by other libraries: the same bounds, lines and texts."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

import ezdxf
import numpy as np
import pypdf
import pypdfium2 as pdfium
import pytest
import svgelements
from lxml import etree
from pypdfium2 import raw
from PySide6.QtCore import QBuffer, QIODevice, QPointF, QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtSvg import QSvgGenerator
from reportlab.pdfgen.canvas import Canvas

from shaftscore.make.drawing.on_dxf import dxf_of
from shaftscore.make.drawing.on_pdf import paint_scene
from shaftscore.make.drawing.on_svg import svg_of
from shaftscore.make.drawing.scene import Path, Scene, Stroke, Text, box, circle, scene
from shaftscore_app.theme import Theme
from shaftscore_app.theme.scenes import TOKENS, ScenePainting

MM = 72.0 / 25.4  # points

DRAWN = scene(
    [
        Path(box(0j, 60 + 30j), closed=True, fill="face", holes=(box(10 + 10j, 20 + 20j),), name="plate"),
        Path(box(30 + 5j, 55 + 25j), closed=True, fill="level-2", pattern="rising", name="cut"),
        circle(70 + 40j, 5.0, name="hole"),
        Path(np.array([-5, 75 + 0j]), Stroke("muted", "hair", "chain"), name="axis"),
        Text(5 + 3j, "Größe 12"),
        Text(70 + 40j, "שלום", bold=True, anchor="middle"),
        Text(2 + 15j, "upright", turned_deg=90.0),
    ]
)
LINED = [(0, 0, 60, 30), (10, 10, 20, 20), (30, 5, 55, 25), (65, 35, 75, 45), (-5, 0, 75, 0)]
"""Boxes of the contours that are lined, by hand, mm."""

WORDS = ["Größe 12", "שלום", "upright"]


@dataclass
class ReadBack:
    """Boxes of lines and the texts, as another library reads them."""

    boxes: list[tuple[float, ...]]
    words: list[str]


def of_pdf(drawn: Scene) -> ReadBack:
    file = io.BytesIO()
    canvas = Canvas(file, pagesize=(500, 500), invariant=1)
    paint_scene(canvas, drawn, 1.0, 20 + 20j)
    canvas.save()
    page = pdfium.PdfDocument(file.getvalue())[0]
    boxes = []
    for one in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        if _is_stroked(one):
            boxes += _contours(one)
    words = pypdf.PdfReader(file).pages[0].extract_text().replace("\n", "|")
    return ReadBack(boxes, [w if w in words else w[::-1] if w[::-1] in words else "" for w in WORDS])


def _is_stroked(one: pdfium.PdfObject) -> bool:
    import ctypes

    fill, stroke = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(one.raw, ctypes.byref(fill), ctypes.byref(stroke))
    return bool(stroke.value)


def _contours(one: pdfium.PdfObject) -> Iterator[tuple[float, ...]]:
    import ctypes

    contours: list[list[complex]] = []
    for index in range(raw.FPDFPath_CountSegments(one.raw)):
        segment = raw.FPDFPath_GetPathSegment(one.raw, index)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, ctypes.byref(x), ctypes.byref(y))
        if raw.FPDFPathSegment_GetType(segment) == raw.FPDF_SEGMENT_MOVETO:
            contours.append([])
        contours[-1].append(complex(x.value, y.value) / MM)
    yield from (_box(np.array(points)) for points in contours)


def _box(points: np.ndarray) -> tuple[float, ...]:
    return (points.real.min(), points.imag.min(), points.real.max(), points.imag.max())


def of_svg(drawn: Scene) -> ReadBack:
    data = svg_of(drawn, "title", margin_mm=3.0)
    root = etree.fromstring(data)
    boxes = []
    for line in root.iterfind(".//{*}path[@stroke]"):
        for part in svgelements.Path(line.get("d")).as_subpaths():
            left, top, right, bottom = svgelements.Path(part).bbox()
            boxes.append((left, -bottom, right, -top))
    return ReadBack(boxes, [text.text for text in root.iterfind(".//{*}text")])


def of_dxf(drawn: Scene) -> ReadBack:
    document = ezdxf.read(io.StringIO(dxf_of(drawn).decode()))
    boxes, words = [], []
    for one in document.modelspace():
        if one.dxftype() == "TEXT":
            words.append(one.dxf.text)
        elif one.dxftype() == "CIRCLE":
            x, y, radius = one.dxf.center.x, one.dxf.center.y, one.dxf.radius
            boxes.append((x - radius, y - radius, x + radius, y + radius))
        elif one.dxftype() == "LINE":
            ends = np.array([complex(end.x, end.y) for end in (one.dxf.start, one.dxf.end)])
            boxes.append(_box(ends))
        else:
            boxes.append(_box(np.array([complex(x, y) for x, y in one.get_points("xy")])))
    return ReadBack(boxes, words)


def of_screen(drawn: Scene, theme: Theme) -> ReadBack:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    device = QSvgGenerator()
    device.setOutputDevice(buffer)
    device.setViewBox(QRectF(0, 0, 1000, 1000))
    with QPainter(device) as painter:
        ScenePainting(painter, theme, 8.0, QPointF(100.0, 500.0)).paint(drawn)
    root = etree.fromstring(bytes(buffer.data().data()))
    return ReadBack(list(_boxes_of_qt(root)), [text.text for text in root.iterfind(".//{*}text")])


def _boxes_of_qt(root: etree._Element) -> Iterator[tuple[float, ...]]:
    for line in root.iterfind(".//{*}path"):
        if line.getparent().get("stroke", "none") != "none":
            for part in svgelements.Path(line.get("d")).as_subpaths():
                left, top, right, bottom = svgelements.Path(part).bbox()
                yield tuple(np.array([left - 100.0, 500.0 - bottom, right - 100.0, 500.0 - top]) / 8.0)
    drawn = [*root.iterfind(".//{*}polyline"), *root.iterfind(".//{*}polygon")]
    for line in (one for one in drawn if one.getparent().get("stroke") != "none"):
        corners = [complex(*map(float, pair.split(","))) for pair in line.get("points").split()]
        points = (np.array(corners).conj() - complex(100.0, -500.0)) / 8.0
        yield _box(points)


@pytest.fixture
def read_back(theme: Theme) -> dict[str, ReadBack]:
    return {
        "pdf": of_pdf(DRAWN),  # corners before the canvas moves them; test_on_pdf reads places
        "svg": of_svg(DRAWN),
        "dxf": of_dxf(DRAWN),
        "screen": of_screen(DRAWN, theme),
    }


def test_all_back_ends_draw_the_same_lines_patterns_and_texts(read_back: dict[str, ReadBack]) -> None:
    for name, found in read_back.items():
        assert found.words == WORDS, name
        for wanted in LINED:
            same = [one for one in found.boxes if np.allclose(one, wanted, atol=0.02)]
            assert len(same) == 1, (name, wanted)
        rest = [one for one in found.boxes if not any(np.allclose(one, w, atol=0.02) for w in LINED)]
        # 45 degrees, 4 pt = 1.411 mm apart over 25 by 20 mm: (25 + 20) / (1.411 * sqrt(2)) = 22.5 lines;
        # on the screen 4 pt are 5.33 px or 0.667 mm at 8 px a mm: 47.7
        assert len(rest) == pytest.approx(47.7 if name == "screen" else 22.5, abs=1.5), name
        assert all(x0 >= 30 - 1e-2 and x1 <= 55 + 1e-2 for x0, _, x1, _ in rest)
        assert all(y0 >= 5 - 1e-2 and y1 <= 25 + 1e-2 for _, y0, _, y1 in rest)


def test_holes_stay_empty_and_faces_have_the_colours_of_the_theme(theme: Theme) -> None:
    image = QImage(800, 400, QImage.Format.Format_RGB32)
    for choice in ("light", "dark"):
        theme.set_choice(choice)
        image.fill(QColor("white"))
        with QPainter(image) as painter:
            ScenePainting(painter, theme, 8.0, QPointF(100.0, 300.0)).paint(DRAWN)
        at = lambda x, y: image.pixelColor(round(100 + 8 * x), round(300 - 8 * y))  # noqa: E731
        assert at(25, 28) == theme.color("material")
        assert at(15, 15) == QColor("white")
        assert {at(x / 8, 15).name() for x in range(250, 430)} >= {theme.color("l2").name()}


def test_every_tone_has_a_token_of_both_themes(theme: Theme) -> None:
    for choice in ("light", "dark"):
        theme.set_choice(choice)
        assert all(theme.color(token).isValid() for token in TOKENS.values())
