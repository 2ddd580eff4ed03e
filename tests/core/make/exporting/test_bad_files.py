"""The proof's readers under attack: a file gives its rim, or a RimError that says why, and nothing else."""

from __future__ import annotations

import io
import struct
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.proof import RimError, read_stl
from shaftscore.make.proof.reading.solid import MOST_TRIANGLES, SolidPart
from shaftscore.make.proof.reading.threemf import MOST_ENTRIES, read_meshes
from shaftscore.make.solids import Mesh

ROOM = 5_000_000
CORNERS = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 4]], dtype=float)
FACES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])
GOOD = stl_bytes(Mesh(CORNERS, FACES), "A1")

MODEL = """<?xml version="1.0" encoding="UTF-8"?>
<model unit="millimeter" xml:lang="en-US" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
<resources><object id="1" type="model" partnumber="A1"><mesh><vertices>{vertices}</vertices>
<triangles>{triangles}</triangles></mesh></object></resources><build><item objectid="1"/></build></model>"""
VERTICES = "".join(f'<vertex x="{x:g}" y="{y:g}" z="{z:g}"/>' for x, y, z in CORNERS)
TRIANGLES = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in FACES)
TYPES = (
    '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>"
)
RELATIONS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="r" Target="/3D/3dmodel.model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)


def stl(data: bytes) -> str:
    """Read bytes as STL; gives why they are refused, or an empty text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bad.stl"
        path.write_bytes(data)
        try:
            part = read_stl(path, "A1").parts["A1"]
            part.refuse_unsound()
            rim = part.rim(0.0, 4.0, grooved=False)
        except RimError as error:
            return str(error)
    assert np.isfinite(rim.start).all()
    assert np.isfinite(rim.end).all()
    return ""


def archive(model: str = "", **more: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("[Content_Types].xml", TYPES)
        file.writestr("_rels/.rels", RELATIONS)
        file.writestr("3D/3dmodel.model", model or MODEL.format(vertices=VERTICES, triangles=TRIANGLES))
        for name, data in more.items():
            file.writestr(name, data)
    return made.getvalue()


def threemf(data: bytes, room: int = ROOM) -> str:
    """Read bytes as 3MF; gives why they are refused, or an empty text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bad.3mf"
        path.write_bytes(data)
        try:
            for code, triangles in read_meshes(path, room):
                SolidPart(triangles, code).refuse_unsound()
        except RimError as error:
            return str(error)
    return ""


def test_the_good_files_are_read() -> None:
    assert stl(GOOD) == ""
    assert threemf(archive()) == ""


def poisoned(value: float) -> bytes:
    data = bytearray(GOOD)
    data[84 + 12 : 84 + 16] = struct.pack("<f", value)
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "0 bytes are no binary STL file"),
        (b"solid text\nendsolid", "are no binary STL file"),
        (GOOD[:-1], "are no binary STL file of 4 triangles"),
        (GOOD + b"x", "are no binary STL file of 4 triangles"),
        (GOOD[:80] + bytes(4), "are no binary STL file of 0 triangles"),
        (GOOD[:80] + b"\xff" * 4 + GOOD[84:], "are no binary STL file of 4294967295 triangles"),
        (GOOD[:80] + struct.pack("<I", 3) + GOOD[84 : 84 + 150], "the body is not closed"),
        (poisoned(float("nan")), "1 of its numbers are not finite"),
        (poisoned(float("inf")), "1 of its numbers are not finite"),
        (poisoned(1e38), "reaches to 1e+38 mm"),
        (poisoned(11.0), "the body is not closed"),
        (stl_bytes(Mesh(CORNERS, FACES[:, ::-1]), "A1"), "the body is inside out"),
        (bytes(84 + 50 * (MOST_TRIANGLES + 1)), "has over 10,000,084 bytes"),
    ],
    ids=lambda value: value[:30] if isinstance(value, str) else "",
)
def test_a_malformed_stl_file_is_refused_with_its_reason(data: bytes, words: str) -> None:
    assert words in stl(data)


@given(st.binary(max_size=300))
def test_any_bytes_as_stl(data: bytes) -> None:
    stl(data)


@given(at=st.integers(84, len(GOOD) - 1), junk=st.binary(min_size=1, max_size=12))
@example(at=112, junk=b"\x00\x00\x81\x7f")  # a number that signals when it is widened
def test_an_stl_file_with_bytes_overwritten(at: int, junk: bytes) -> None:
    stl((GOOD[:at] + junk + GOOD[at + len(junk) :])[: len(GOOD)])


def lying(size: int) -> bytes:
    """An archive whose directory says that its model has `size` bytes."""
    data = bytearray(archive(MODEL.format(vertices=VERTICES * 5000, triangles=TRIANGLES)))
    at = data.rindex(b"3D/3dmodel.model") - 46
    assert data[at : at + 4] == b"PK\x01\x02"
    data[at + 24 : at + 28] = struct.pack("<I", size)
    return bytes(data)


def model(vertices: str = VERTICES, triangles: str = TRIANGLES) -> Callable[[], bytes]:
    return lambda: archive(MODEL.format(vertices=vertices, triangles=triangles))


BAD: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "is no archive"),
    "no archive": (lambda: b"PK\x03\x04" + bytes(500), "is no archive"),
    "cut off": (lambda: archive()[:-30], "is no archive"),
    "no model": (lambda: archive("not xml"), "is no 3MF file"),
    "a model of another kind": (lambda: archive("<a/>"), "is no 3MF file"),
    "unpacks to too much": (model(VERTICES * 200_000), "unpacks to 3 entries of"),
    "says that it unpacks to little": (lambda: lying(100), "is no archive"),
    "says that it unpacks to much": (lambda: lying(4_000_000_000), "unpacks to 3 entries of 4,000,000,"),
    "too many files": (lambda: archive(**{f"f{n}": b"" for n in range(MOST_ENTRIES)}), "unpacks to 103"),
    "NaN": (model(VERTICES.replace('x="10"', 'x="nan"')), ""),
    "infinity": (model(VERTICES.replace('x="10"', 'x="1e400"')), ""),
    "a corner that is not there": (model(triangles=TRIANGLES.replace('v3="3"', 'v3="9"')), "is no 3MF file"),
    "no triangle": (model(triangles=""), ""),
    "open": (model(triangles=TRIANGLES.rpartition("<triangle")[0]), "the body is not closed"),
    "entities that grow": (
        lambda: archive(
            '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbb"><!ENTITY c "&b;&b;&b;&b;">]><a>&c;</a>'
        ),
        "is no 3MF file",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_a_malformed_3mf_file_is_refused_with_its_reason(case: str) -> None:
    make, words = BAD[case]
    said = threemf(make())
    assert said
    assert words in said


def test_an_archive_of_an_unknown_kind_is_refused() -> None:
    data = bytearray(archive())
    at = data.rindex(b"3D/3dmodel.model") - 46
    data[at + 10 : at + 12] = struct.pack("<H", 99)
    assert "is no archive" in threemf(bytes(data))


def test_an_archive_whose_entry_would_begin_before_the_file_is_refused() -> None:
    data = bytearray(archive())
    end = data.rindex(b"PK\x05\x06")
    size, directory = struct.unpack_from("<II", data, end + 12)
    struct.pack_into("<I", data, end + 16, directory + 1000)  # all places are told from there
    assert size > 0
    assert "is no archive that can be read" in threemf(bytes(data))


@settings(max_examples=60)
@given(at=st.integers(0, 2000), junk=st.binary(min_size=1, max_size=8))
@example(at=1918, junk=b"\x01")
def test_a_3mf_file_with_bytes_overwritten(at: int, junk: bytes) -> None:
    data = archive()
    place = at % len(data)
    threemf(data[:place] + junk + data[place + len(junk) :])


@settings(max_examples=60)
@given(st.text(alphabet='<>/="abvxyz123.-e \n', max_size=80))
def test_a_3mf_model_of_any_text(text: str) -> None:
    threemf(archive(MODEL.format(vertices=VERTICES + text, triangles=TRIANGLES)))
