"""Bodies are closed, whatever the disc is like, and stay so in 32-bit numbers."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.make.solids import Mesh, SolidError, disc_part, part_mesh, printed, spacer_part
from shaftscore.model import Bore, Dogs, Print, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from tests.core.make.exporting.machines import one_sided


def is_closed(mesh: Mesh) -> bool:
    """Whether another library finds the body closed in the 32-bit numbers that files hold."""
    triangles = mesh.corners[mesh.triangles].astype(np.float32)
    return bool(trimesh.Trimesh(**trimesh.triangles.to_kwargs(triangles)).is_watertight)


def disc_of(project: Project) -> Mesh:
    profile = solve(project).lanes["flap"].profile
    assert profile is not None
    return part_mesh(printed(disc_part(project, project.lanes[0], profile)))


@settings(max_examples=40)
@given(
    base=st.floats(14.0, 60.0),
    station=st.floats(-180.0, 180.0),
    shape=st.sampled_from(["round", "hex", "square"]),
    chamfer=st.floats(0.0, 1.5),
    dogs=st.sampled_from([None, 9.5, 10.0]),
    contour=st.floats(-0.2, 0.2),
)
def test_discs_are_closed(
    *, base: float, station: float, shape: str, chamfer: float, dogs: float | None, contour: float
) -> None:
    project = one_sided(
        station_deg=station,
        bore=Bore(shape=shape, across_mm=8.0),  # type: ignore[arg-type]
        base_radius_mm=base,
        edge_chamfer_mm=chamfer,
        printing=Print(contour_mm=contour),
    )
    if dogs is not None:
        keyed = replaced(project.stacks[0], dogs=Dogs(radius_mm=dogs, width_mm=3.0, height_mm=2.0))
        project = replaced(project, stacks=(keyed,))
    mesh = disc_of(project)
    assert is_closed(mesh)
    assert mesh.corners[:, 2].min() == 0
    assert mesh.volume > 0


@given(radius=st.floats(11.6, 40.0), height=st.floats(3.1, 20.0), count=st.integers(1, 6))
@settings(max_examples=20)
def test_spacers_are_closed_and_hold_what_geometry_says(radius: float, height: float, count: int) -> None:
    dogs = Dogs(count=count, radius_mm=8.0, width_mm=2.5, height_mm=2.0)
    stack = Stack(id="main", spacer_mm=height, spacer_radius_mm=radius, dogs=dogs, bore=Bore(shape="round"))
    mesh = part_mesh(spacer_part(replaced(one_sided(), stacks=(stack,)), stack, 1))
    assert is_closed(mesh)
    pegs = count * np.pi * 1.25**2 + 2.5 * 2.5
    pockets = count * np.pi * 1.45**2 + 2.5 * 2.9
    ring = np.pi * (radius**2 - 4.2**2) * height
    assert mesh.volume == pytest.approx(ring + 2.0 * pegs - 2.2 * pockets, rel=2e-3)


def test_a_bore_that_cuts_the_disc_in_pieces_is_refused() -> None:
    project = one_sided(base_radius_mm=24.0, bore=Bore(shape="square", across_mm=42.0))
    with pytest.raises(SolidError, match=r"wall between bore and rim is .* mm; the part cannot be made"):
        disc_of(project)


def test_the_same_disc_gives_the_same_triangles() -> None:
    first, second = disc_of(one_sided()), disc_of(one_sided())
    assert np.array_equal(first.corners, second.corners)
    assert np.array_equal(first.triangles, second.triangles)
