"""Shafts on bearings against independent routes: differential equation, work, symmetry, limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from shaftscore.built.beam import (
    ShaftBeam,
    ShaftStretch,
    bearing_torque_nm,
    bending_stress_mpa,
    equivalent_stress_mpa,
    even_shaft,
    torsion_stress_mpa,
)
from shaftscore.built.sections import ring_section

EI = 2.0e7


def in_plane(*forces: float) -> np.ndarray:
    """Forces along x at one angle, (k, 2, 1)."""
    both = np.zeros((len(forces), 2, 1))
    both[:, 0, 0] = forces
    return both


def by_double_integration(
    bearings: tuple[float, float], places: list[float], forces: list[float], rigidity: object, at: list[float]
) -> np.ndarray:
    """Integrate M / (E I) twice on a fine grid; the straight line that is free puts both bearings at 0."""
    first, last = bearings
    grid = np.unique(np.concatenate([np.linspace(-60, 260, 80_001), places, bearings, at]))
    moment = np.zeros_like(grid)
    second = -sum(f * (a - first) for f, a in zip(forces, places, strict=True)) / (last - first)
    for force, place in [(-sum(forces) - second, first), (second, last), *zip(forces, places, strict=True)]:
        moment += force * np.maximum(grid - place, 0.0)
    curvature = moment / rigidity(grid)  # type: ignore[operator]
    step = np.diff(grid)
    slope = np.concatenate([[0.0], np.cumsum(step * (curvature[1:] + curvature[:-1]) / 2)])
    curve = np.concatenate([[0.0], np.cumsum(step * (slope[1:] + slope[:-1]) / 2)])
    low, high = np.interp([first, last], grid, curve)
    return np.interp(at, grid, curve - low - (high - low) * (grid - first) / (last - first))


places = st.lists(st.floats(-50, 250), min_size=1, max_size=5)


@given(places=places, data=st.data())
def test_deflections_by_integrating_the_curvature_twice(places: list[float], data: st.DataObject) -> None:
    forces = data.draw(st.lists(st.floats(-30, 30), min_size=len(places), max_size=len(places)))
    at = [-40.0, 0.0, 33.0, 100.0, 171.0, 200.0, 240.0]
    beam = ShaftBeam(
        np.array([0.0, 200.0]),
        (
            ShaftStretch(-60.0, 50.0, EI, 1.0),
            ShaftStretch(50.0, 120.0, 3 * EI, 1.0),
            ShaftStretch(120.0, 260.0, EI, 1.0),
        ),
    )
    found = beam.loaded(np.array(places), in_plane(*forces)).deflection_mm(np.array(at))[:, 0, 0]
    expected = by_double_integration(
        (0.0, 200.0), places, forces, lambda z: np.where((z > 50) & (z < 120), 3 * EI, EI), at
    )
    assert found == pytest.approx(expected, abs=2e-4 * max(1e-3, np.abs(expected).max()))


def test_a_load_on_a_bearing_bends_nothing() -> None:
    loaded = even_shaft([0.0, 200.0], EI).loaded(np.array([200.0]), in_plane(50.0))
    assert loaded.deflection_mm(np.linspace(-50, 250, 7)) == pytest.approx(0.0, abs=1e-12)
    assert loaded.reactions_n[:, 0, 0] == pytest.approx([0.0, -50.0])
    assert loaded.worst_moment_nmm() == pytest.approx(0.0, abs=1e-9)


def test_a_stiff_shaft_does_not_bend() -> None:
    loaded = even_shaft([0.0, 200.0], 1e30).loaded(np.array([80.0]), in_plane(50.0))
    assert np.abs(loaded.deflection_mm(np.array([80.0]))).max() < 1e-20


@pytest.mark.parametrize("bearings", [[0.0, 200.0], [0.0, 90.0, 200.0], [0.0, 60.0, 130.0, 200.0]])
def test_forces_and_moments_balance(bearings: list[float]) -> None:
    rng = np.random.default_rng(2)
    at, forces = rng.uniform(-40, 240, 6), rng.normal(0, 10, (6, 2, 9))
    loaded = even_shaft(bearings, EI).loaded(at, forces)
    assert (loaded.reactions_n.sum(axis=0) + forces.sum(axis=0)) == pytest.approx(0.0, abs=1e-9)
    arms = np.array(bearings)[:, None, None], at[:, None, None]
    assert (loaded.reactions_n * arms[0]).sum(axis=0) + (forces * arms[1]).sum(axis=0) == pytest.approx(
        0.0, abs=1e-7
    )
    assert loaded.deflection_mm(np.array(bearings)) == pytest.approx(0.0, abs=1e-10)
    assert loaded.moment_nmm(np.array([-50.0, 250.0])) == pytest.approx(0.0, abs=1e-7)


def test_three_bearings_by_the_three_moment_equation() -> None:
    """Three-moment equation (strength of materials texts): two equal spans L, the load P at a in the first.

    The moment at the middle bearing is P a (L² - a²) / (4 L²).
    """
    span, a, load = 100.0, 40.0, 25.0
    loaded = even_shaft([0.0, 100.0, 200.0], EI).loaded(np.array([a]), in_plane(load))
    middle = float(loaded.moment_nmm(np.array([span]))[0, 0, 0])
    assert abs(middle) == pytest.approx(load * a * (span**2 - a**2) / (4 * span**2))


def test_three_bearings_by_a_solved_differential_equation() -> None:
    """E I y'''' = q with a narrow load; the middle bearing is the force that makes y 0 there."""
    width, load, a = 2.0, 25.0, 60.0

    def curve(reaction: float) -> object:
        def right(z: np.ndarray, y: np.ndarray) -> np.ndarray:
            q = load * np.exp(-(((z - a) / width) ** 2)) + reaction * np.exp(-(((z - 110) / width) ** 2))
            return np.vstack([y[1], y[2], y[3], q / (width * np.sqrt(np.pi)) / EI])

        grid = np.linspace(0, 200, 801)
        solved = solve_bvp(
            right,
            lambda p, q: np.array([p[0], p[2], q[0], q[2]]),
            grid,
            np.zeros((4, 801)),
            tol=1e-8,
            max_nodes=50_000,
        )
        return solved.sol

    free, pushed = curve(0.0), curve(1.0)
    held = -free(110)[0] / (pushed(110)[0] - free(110)[0])  # type: ignore[operator]
    expected = free(a)[0] + held * (pushed(a)[0] - free(a)[0])  # type: ignore[operator]
    loaded = even_shaft([0.0, 110.0, 200.0], EI).loaded(np.array([a]), in_plane(load))
    assert float(loaded.reactions_n[1, 0, 0]) == pytest.approx(held, rel=2e-3)
    assert float(loaded.deflection_mm(np.array([a]))[0, 0, 0]) == pytest.approx(expected, rel=5e-3)


def test_deflections_are_mutual() -> None:
    """Maxwell: the deflection at i from a load at j is that at j from a load at i."""
    at = np.array([-30.0, 10.0, 55.0, 140.0, 230.0])
    matrix = even_shaft([0.0, 90.0, 200.0], EI).influence(at, at)
    assert matrix == pytest.approx(matrix.T)
    assert np.linalg.eigvalsh(matrix).min() > -1e-12


def test_work_of_the_loads_is_the_energy_of_bending() -> None:
    """½ Σ F u = ½ ∫ M² / (E I) dz, also on three bearings."""
    at, forces = np.array([-20.0, 45.0, 120.0, 215.0]), in_plane(7.0, -11.0, 5.0, 3.0)
    loaded = even_shaft([0.0, 80.0, 200.0], EI).loaded(at, forces)
    work = (forces * loaded.deflection_mm(at)).sum() / 2
    grid = np.linspace(-20, 215, 200_001)
    moment = loaded.moment_nmm(grid)[:, 0, 0]
    assert work == pytest.approx(np.trapezoid(moment**2, grid) / (2 * EI), rel=1e-6)


@given(turn=st.floats(0, 6.3))
def test_loads_turned_about_the_shaft_turn_the_deflection(turn: float) -> None:
    beam = even_shaft([0.0, 200.0], EI)
    at = np.array([50.0, 150.0])
    forces = np.array([[[10.0], [3.0]], [[-4.0], [6.0]]])
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = np.einsum("ij,kjn->kin", matrix, forces)
    straight, other = beam.loaded(at, forces), beam.loaded(at, turned)
    assert other.deflection_mm(at) == pytest.approx(
        np.einsum("ij,kjn->kin", matrix, straight.deflection_mm(at))
    )
    assert other.worst_moment_nmm() == pytest.approx(straight.worst_moment_nmm())


def test_opposed_loads_bend_less_than_loads_side_by_side() -> None:
    beam, at = even_shaft([0.0, 200.0], EI), np.array([95.0, 105.0])
    same = beam.loaded(at, in_plane(10.0, 10.0)).deflection_mm(at)
    opposed = beam.loaded(at, in_plane(10.0, -10.0)).deflection_mm(at)
    assert np.abs(opposed).max() < 0.01 * np.abs(same).max()


def test_angles_are_independent() -> None:
    rng = np.random.default_rng(4)
    at, forces = np.array([20.0, 90.0, 160.0]), rng.normal(0, 5, (3, 2, 50))
    beam = even_shaft([0.0, 200.0], EI)
    together = beam.loaded(at, forces).deflection_mm(at)
    alone = [beam.loaded(at, forces[..., [k]]).deflection_mm(at)[..., 0] for k in range(50)]
    assert together == pytest.approx(np.stack(alone, axis=-1))


def test_twist_by_stretches() -> None:
    """Hub at 0; 2 N·m at 40, 1 N·m at 100, -3 N·m at -20; a soft stretch from 50 on."""
    beam = ShaftBeam(
        np.array([0.0, 200.0]), (ShaftStretch(-30.0, 50.0, EI, 4e6), ShaftStretch(50.0, 210.0, EI, 1e6))
    )
    places, torques = np.array([40.0, 100.0, -20.0]), np.array([[2.0], [1.0], [-3.0]])
    at_40 = 3000 * 40 / 4e6
    at_100 = at_40 + 1000 * (10 / 4e6 + 50 / 1e6)
    expected = np.degrees([at_40, at_100, -3000 * 20 / 4e6])
    assert beam.twist_deg(0.0, places, torques)[:, 0] == pytest.approx(expected)
    assert beam.twist_deg(0.0, places, torques)[0, 0] > 0


def test_twist_has_the_energy_of_the_torque() -> None:
    rng = np.random.default_rng(8)
    places, torques = rng.uniform(0, 200, 6), rng.normal(0, 1, (6, 1))
    twist = np.radians(even_shaft([0.0, 200.0], EI, 3e6).twist_deg(0.0, places, torques))
    grid = np.linspace(0, 200, 400_001)
    carried = ((places[:, None] > grid) * torques).sum(axis=0) * 1000
    energy = np.trapezoid(carried**2, grid) / (2 * 3e6)
    assert (torques * 1000 * twist).sum() / 2 == pytest.approx(energy, rel=1e-3)


def test_stresses() -> None:
    rod = ring_section(8.0)
    assert bending_stress_mpa(-1000.0, rod) == pytest.approx(32_000 / (np.pi * 512))
    assert torsion_stress_mpa(1.0, rod) == pytest.approx(16_000 / (np.pi * 512))
    assert equivalent_stress_mpa(3.0, 0.0) == pytest.approx(3.0)
    assert equivalent_stress_mpa(0.0, 1.0) == pytest.approx(np.sqrt(3))


def test_friction_of_bearings() -> None:
    reactions = np.array([[[3.0, 0.0], [4.0, 0.0]], [[0.0, 2.0], [5.0, 0.0]]])
    assert bearing_torque_nm(reactions, 8.0, 0.2) == pytest.approx([0.2 * 10 * 4e-3, 0.2 * 2 * 4e-3])


def test_impossible_shafts_are_refused() -> None:
    for bearings in ([0.0], [10.0, 0.0], [0.0, 0.0]):
        with pytest.raises(ValueError, match="two or more"):
            ShaftBeam(np.array(bearings), (ShaftStretch(0.0, 1.0, EI, 1.0),))
    with pytest.raises(ValueError, match="do not meet"):
        ShaftBeam(np.array([0.0, 9.0]), (ShaftStretch(0.0, 1.0, EI, 1.0), ShaftStretch(2.0, 9.0, EI, 1.0)))


def test_moments_of_many_loads_are_the_sum_of_each() -> None:
    """Superposition: the moment of a load alone, P b x / l below it, added up over 300 loads."""
    length, places = 400.0, np.linspace(1.0, 399.0, 300)
    forces = np.stack([np.cos(places), np.sin(places)], axis=1)[:, :, None]
    loaded = even_shaft((0.0, length), 1e8).loaded(places, forces)
    z = np.linspace(0.0, length, 41)
    below = np.minimum(z[:, None], places) * (length - np.maximum(z[:, None], places)) / length
    wanted = -np.tensordot(below, forces, axes=1)
    assert loaded.moment_nmm(z) == pytest.approx(wanted, abs=1e-8)
