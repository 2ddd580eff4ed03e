"""Bodies and files: our solids and STL against another library's on the same outline, and 64 discs whole."""

from __future__ import annotations

import resource
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import trimesh
from shapely.geometry import Polygon

from benchmarks.memory import used_by
from shaftscore.base.samples import sample_folder
from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.solids import MadePart, disc_part, part_mesh
from shaftscore.make.solids.marks import no_marks
from shaftscore.model.loader import load_project
from shaftscore.solution import solve

SAMPLE = sample_folder() / "tea_blender.shaft"

LARGE = """
from pathlib import Path
from shaftscore.model import replaced
from shaftscore.model.loader import load_project
from shaftscore.make.exporting import export_project
from shaftscore_app.cli.exporting import SECOND_LOADS
from shaftscore_app.runtime.both_cores import BothCores
whole = load_project(Path("sample_projects/chime_wall.shaft"))
stacks = tuple(replaced(stack, hub=None) for stack in whole.stacks)
lanes = tuple(replaced(lane, parts=None) for lane in whole.lanes)
discs = replaced(whole, stacks=stacks, lanes=lanes, frame=None, drive=None)
with BothCores(SECOND_LOADS) as both:
    result = export_project(discs, Path({out!r}), ["stl", "3mf"], beside=both)
assert len(result.proofs) == 3 * 64 and not any(proof.faults for proof in result.proofs)
"""


@pytest.fixture(scope="module")
def part() -> MadePart:
    """The sample's flap: three levels, marks, chamfers."""
    project = load_project(Path(str(SAMPLE)))
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    return disc_part(project, project.lane("flap"), profile)


def extruded(part: MadePart) -> trimesh.Trimesh:
    """Let the other library extrude the same outline with the same bore, without chamfers and marks."""
    area = Polygon(part.outline, [part.holes[0].flattened(0.002)])
    return trimesh.creation.extrude_polygon(area, part.thickness_mm, engine="manifold")


@pytest.mark.benchmark(group="Body of one disc")
def test_ours_with_chamfers_marks_and_bore(benchmark: Any, part: MadePart) -> None:
    """A closed body with everything that is on it."""
    benchmark(lambda: part_mesh(part))
    benchmark.extra_info["triangles"] = len(part_mesh(part).triangles)


@pytest.mark.benchmark(group="Body of one disc")
def test_ours_bare(benchmark: Any, part: MadePart) -> None:
    """The outline with its bore alone, as the other library makes it."""
    bare = replace(part, marks=no_marks(), chamfer_mm=0.0)
    benchmark(lambda: part_mesh(bare))
    benchmark.extra_info["triangles"] = len(part_mesh(bare).triangles)


@pytest.mark.benchmark(group="Body of one disc")
def test_trimesh_extrudes_the_bare_outline(benchmark: Any, part: MadePart) -> None:
    """The outline with its bore alone."""
    benchmark(lambda: extruded(part))
    benchmark.extra_info["triangles"] = len(extruded(part).faces)


@pytest.mark.benchmark(group="STL of one disc, binary")
def test_our_stl(benchmark: Any, part: MadePart) -> None:
    """Bytes of the file, normals included."""
    mesh = part_mesh(part)
    benchmark(lambda: stl_bytes(mesh, part.code))


@pytest.mark.benchmark(group="STL of one disc, binary")
def test_trimeshs_stl(benchmark: Any, part: MadePart) -> None:
    """The same body by the other library."""
    mesh = part_mesh(part)
    benchmark(
        lambda: trimesh.exchange.stl.export_stl(
            trimesh.Trimesh(mesh.corners, mesh.triangles, process=False, validate=False)
        )
    )


@pytest.mark.heavy
@pytest.mark.benchmark(group="64 discs to STL and 3MF, read back and proved")
def test_64_discs(benchmark: Any) -> None:
    """Discs, spacers and coupons alone, on two cores. Goal: 5 s and under 1 GiB, from its start."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with tempfile.TemporaryDirectory() as out:
        used = benchmark.pedantic(lambda: used_by(LARGE.format(out=out)), rounds=1, iterations=1)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    benchmark.extra_info["processor time"] = f"{spent:.1f} s"
    benchmark.extra_info["memory"] = f"{used.mib:.0f} MiB"
    benchmark.extra_info["goal"] = "5 s, processor time 10.1 s, 1024 MiB"
    assert used.mib < 1024
