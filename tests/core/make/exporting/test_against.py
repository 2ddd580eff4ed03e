"""A folder exported before against the project: which files hold, and which parts to reprint."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest

from shaftscore.base.errors import Cancelled, ExportError
from shaftscore.edits import set_disc, set_lane, set_stack
from shaftscore.make.drawing.paper_sizes import A4, LETTER
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.against import check_folder, made_again
from shaftscore.make.exporting.alone import manual_alone
from shaftscore.model import Project
from tests.core.make.exporting.machines import one_sided

STEM = "A1_tea-flap"


def exported(out: Path, *formats: str) -> Project:
    project = one_sided()
    export_project(project, out, formats or ["3mf", "stl", "dxf", "svg"])
    return project


def test_files_of_the_project_hold(tmp_path: Path) -> None:
    found = check_folder(exported(tmp_path), tmp_path)
    assert found.faults == ()
    assert sorted({proof.file for proof in found.proofs}) == sorted(
        [f"{STEM}.{kind}" for kind in ("stl", "dxf", "svg")]
        + ["plates_test-machine.3mf", "assembled_test-machine.3mf"]
    )
    assert all(abs(proof.lift_error_mm) < 0.004 for proof in found.proofs)
    assert found.left_out == ()
    assert all(file.read and not file.changed for file in found.files)
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_project_that_went_on_is_told_with_place_and_amount(tmp_path: Path) -> None:
    project = exported(tmp_path, "stl")
    moved = set_lane(project, "flap", offset_deg=2.0).project
    found = check_folder(moved, tmp_path)
    assert len(found.faults) > 2
    assert all(fault.file == f"{STEM}.stl" for fault in found.found)
    assert found.faults[-1].startswith("A1 roller goes into A1 disc by ")
    assert any("near its contour" in fault for fault in found.faults)
    (wrong,) = [proof for proof in found.proofs if proof.faults]
    assert abs(wrong.lift_error_mm) > 0.1


def test_files_that_are_gone_broken_or_of_nobody_are_faults(tmp_path: Path) -> None:
    project = exported(tmp_path, "stl", "dxf")
    (tmp_path / f"{STEM}.dxf").unlink()
    data = (tmp_path / f"{STEM}.stl").read_bytes()
    (tmp_path / f"{STEM}.stl").write_bytes(data[:-50])
    said = "; ".join(check_folder(project, tmp_path).faults)
    assert f"{STEM}.dxf: it cannot be read" in said
    assert "are no binary STL file" in said
    other = one_sided(name="Cup")
    renamed = Project.model_validate_json(other.model_dump_json().replace('"code":"A1"', '"code":"B7"'))
    assert f"{STEM}.stl: the project has no part A1 any more" in check_folder(renamed, tmp_path).faults


def test_what_must_be_made_again(tmp_path: Path) -> None:
    project = exported(tmp_path, "stl")
    assert made_again(project, tmp_path).fresh == frozenset()
    larger = set_disc(project, "flap", base_radius_mm=24.25).project
    (changed,) = made_again(larger, tmp_path).changed
    assert (changed.code, changed.largest_mm) == ("A1", pytest.approx(0.25, abs=0.01))
    looser = set_stack(project, "main", fit_clearance_mm=0.3).project
    found = made_again(looser, tmp_path)
    assert [part.code for part in found.changed] == ["A1"]
    assert found.unchanged == ("FIT",)


def test_a_folder_without_an_export_is_one_message(tmp_path: Path) -> None:
    for folder in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(ExportError, match="holds no export"):
            made_again(one_sided(), folder)
    assert list(tmp_path.iterdir()) == []


class Stopper:
    def report(self, fraction: float, what: str) -> None:
        if what.startswith("Reading"):
            raise Cancelled("cancelled")


def test_checking_can_be_cancelled(tmp_path: Path) -> None:
    project = exported(tmp_path, "stl")
    with pytest.raises(Cancelled):
        check_folder(project, tmp_path, Stopper())


@pytest.mark.parametrize(("size", "wide"), [(A4, 595.3), (LETTER, 612.0)])
def test_the_manual_by_itself_says_that_nothing_is_proved(size, wide: float) -> None:
    reader = pypdf.PdfReader(io.BytesIO(manual_alone(one_sided(), size)))
    text = "".join(page.extract_text() for page in reader.pages)
    assert "nothing is proved here" in text.replace("\n", " ")
    assert float(reader.pages[0].mediabox.width) == pytest.approx(wide, abs=0.1)


def test_the_files_of_a_manual_go_by_their_hashes(tmp_path: Path) -> None:
    """A manifest names their format by their ending, pdf; the export calls it manual."""
    export_project(one_sided(), tmp_path, ["manual"])
    found = check_folder(one_sided(), tmp_path)
    assert found.faults == ()
    assert len(found.files) == 2
