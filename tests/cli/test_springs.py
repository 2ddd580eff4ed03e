"""The springs of published examples in a machine: `check --json` gives the force that the book gives.

A lane without mass and friction presses with its spring alone, so that the least contact force is that at
the lowest place: the preload, or at a raised lowest place what the rate adds.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from shaftscore.model import CoilSpring, Load, saved_form
from shaftscore_app.cli.program import app
from tests.core.judge.loads.test_forces import lane, machine

EXAMPLES = {
    # d, D, n, the shear modulus and rate of the book (see tests/published/test_springs.py)
    "Jindal 8-4, p. 226": (2.337, 22.2, 9.20131, 81_000, 3.0),
    "Jindal 8-8, p. 229": (2.0, 18.0, 9.0, 81_000, 3.08642),
}
"""U. C. Jindal, Machine Design, 2010. The program's music wire has G 81500: the rate is in proportion."""


def least_contact_n(spring: CoilSpring, lowest_mm: float, folder: Path) -> float:
    levels = {"down": lowest_mm, "up": lowest_mm + 5.0}
    path = folder / "spring.shaft"
    path.write_bytes(saved_form(machine(lane(Load(spring=spring), levels=levels))))
    shown = CliRunner().invoke(app, ["check", "--json", str(path)])
    return float(json.loads(shown.stdout)["lanes"]["a"]["min_contact_n"])


@pytest.mark.parametrize("name", EXAMPLES)
def test_preload_and_rate_of_a_described_spring(name: str, tmp_path: Path) -> None:
    wire, coil, coils, modulus, printed = EXAMPLES[name]
    spring = CoilSpring(
        kind="compression", wire_mm=wire, coil_mm=coil, active_coils=coils, free_mm=83.68, installed_mm=71.68
    )
    rate = printed * 81_500 / modulus
    preload = least_contact_n(spring, 0.0, tmp_path)
    assert preload == pytest.approx(12.0 * rate, rel=1e-5)
    assert least_contact_n(spring, 6.0, tmp_path) - preload == pytest.approx(6.0 * rate, rel=1e-5)
