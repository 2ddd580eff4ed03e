"""Names that try to break out of the files that they stand in; other libraries open every file."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path
from typing import Any

import ezdxf
import lib3mf
import pypdf
import pytest
import trimesh
from lxml import etree

from shaftscore.make.exporting import export_project
from shaftscore.model import Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.cells import cell_text, text_cell
from shaftscore.model.codes import with_codes
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from tests.core.make.exporting.machines import one_sided

NAMES = (
    "</title><script>alert(1)</script>",
    "]]><![CDATA[ &amp; &#0; &x; <?pi?>",
    "\"'><path d='M0 0'/>",
    "a\n  0\nLINE\n  8\ncut\n 10\n0\n 20\n0\n 11\n9\n 21\n9\n  0\nEOF",
    "tab\there\rand\r\nthere",
    "%%uCAD \\P{\\H99;x} ^J \\U+0041",
    ") Tj ET Q endstream endobj (",
    "\u2028\u2029\u00a0\ufeff\u200b",
    "\U0001fffe \U0010ffff \ue000 \U0001f680",
    "=HYPERLINK(1)",
    "+1+1|x",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "\uff1d1+1",
    "'=1",
    "x" * 200,
)
PLAIN = tuple(f"Lane {n}" for n in range(len(NAMES)))


def machine(names: tuple[str, ...], name: str) -> Project:
    lane = one_sided().lanes[0]
    lanes = [replaced(lane, id=f"l{n}", name=one, group=one, code=None) for n, one in enumerate(names)]
    return replaced(one_sided(), name=name, lanes=with_codes(lanes), stacks=(Stack(id="main", name=name),))


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """An export with hostile names (read from a file, as a stranger's would be), and one with plain ones."""
    made = []
    for names, name, formats in (
        (NAMES, NAMES[0], ["3mf", "dxf", "svg", "csv", "pdf"]),
        (PLAIN, "Plain", ["dxf", "svg"]),
    ):
        out = tmp_path_factory.mktemp("out")
        project = read_project(saved_form(machine(names, name)), "test")
        export_project(project, out, formats)
        made.append(out)
    return made[0], made[1]


def of_code(folder: Path, code: str, ending: str) -> Path:
    (path,) = [path for path in folder.glob(f"*.{ending}") if path.name.split("_")[0].split(".")[0] == code]
    return path


def codes(project: Project) -> list[str]:
    return [str(lane.code) for lane in project.lanes]


def test_every_svg_is_xml_with_the_name_as_text_and_nothing_else(folders: tuple[Path, Path]) -> None:
    hostile, plain = folders
    for name, code, own in zip(NAMES, codes(machine(NAMES, "x")), codes(machine(PLAIN, "x")), strict=True):
        root = etree.parse(str(of_code(hostile, code, "svg"))).getroot()
        title = root.findtext("{*}title") or ""
        assert title.split() == f"{code} {name}".split()
        tags = Counter(etree.QName(node).localname for node in root.iter(etree.Element))
        other = etree.parse(str(of_code(plain, own, "svg"))).getroot()
        assert tags == Counter(etree.QName(node).localname for node in other.iter(etree.Element))


@pytest.mark.parametrize("kind", ["plates", "assembled"])
def test_every_3mf_opens_and_names_its_parts(folders: tuple[Path, Path], kind: str) -> None:
    (path,) = folders[0].glob(f"{kind}_*.3mf")
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    named: list[str] = []
    meshes = model.GetMeshObjects()
    while meshes.MoveNext():
        named.append(meshes.GetCurrentMeshObject().GetName())
    for code, name in zip(codes(machine(NAMES, "x")), NAMES, strict=True):
        assert any(f"{code} {name}".split() == one.split() for one in named), name
    scene: Any = trimesh.load(path)
    assert len(scene.geometry) >= len(NAMES)


def test_every_dxf_opens_and_holds_the_same_entities(folders: tuple[Path, Path]) -> None:
    hostile, plain = folders
    for code, own in zip(codes(machine(NAMES, "x")), codes(machine(PLAIN, "x")), strict=True):
        document = ezdxf.readfile(of_code(hostile, code, "dxf"))
        assert not document.audit().errors
        kinds = Counter((e.dxftype(), e.dxf.layer) for e in document.modelspace())
        other = ezdxf.readfile(of_code(plain, own, "dxf"))
        assert kinds == Counter((e.dxftype(), e.dxf.layer) for e in other.modelspace())


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_every_pdf_opens_without_a_complaint(folders: tuple[Path, Path], size: str) -> None:
    reader = pypdf.PdfReader(folders[0] / f"build_manual_{size}.pdf", strict=True)
    text = " ".join(page.extract_text() for page in reader.pages)
    for words in ("<script>alert(1)</script>", "=HYPERLINK(1)", "endstream"):
        assert words in text
    root: Any = reader.trailer["/Root"]
    assert "/OpenAction" not in root
    assert "/AA" not in root


def test_no_cell_of_the_parts_list_is_a_formula(folders: tuple[Path, Path]) -> None:
    with (folders[0] / "parts_list.csv").open(encoding="utf-8", newline="") as file:
        head, *rows = csv.reader(file)
    for row in rows:
        assert len(row) == len(head)
        assert not [cell for cell in row if cell.startswith(tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"))]
    named = {cell_text(row[head.index("part")]) for row in rows}
    assert set(NAMES) <= named
    assert "'=HYPERLINK(1)" in {row[head.index("part")] for row in rows}
    assert {row[head.index("count")] for row in rows} >= {"1"}


def test_numbers_of_a_table_stay_numbers(folders: tuple[Path, Path]) -> None:
    with of_code(folders[0], codes(machine(NAMES, "x"))[0], "csv").open(encoding="utf-8", newline="") as file:
        _, *rows = csv.reader(file)
    cells = [cell for row in rows for cell in row if cell]
    assert any(cell.startswith("-") for cell in cells)
    assert all(isinstance(float(cell), float) for cell in cells)


@pytest.mark.parametrize("text", [*NAMES, "", "'", "''=", "plain", "-5", "a=b"])
def test_a_text_comes_back_from_its_cell(text: str) -> None:
    assert cell_text(text_cell(text)) == text


@pytest.mark.parametrize(
    ("text", "cell"),
    [("=1", "'=1"), ("+1", "'+1"), ("-5", "'-5"), ("@a", "'@a"), ("\t=", "'\t="), ("a=1", "a=1"), ("5", "5")],
)
def test_what_a_cell_holds(text: str, cell: str) -> None:
    assert text_cell(text) == cell
