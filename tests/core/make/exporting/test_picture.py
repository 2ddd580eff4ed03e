"""The picture and the section of the build sheet: what they show, and what hides what."""

from __future__ import annotations

import io
from types import MappingProxyType

import numpy as np
import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.progress import Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.make.exporting.alone import manual_alone
from shaftscore.make.exporting.gather import gather
from shaftscore.make.manual.paper import A4, LETTER
from shaftscore.make.sheet.picture import ELEVATION_RAD, _common, _prisms, _runs, darker, seen
from shaftscore.make.sheet.section import _cuts, pairs
from shaftscore.model import Bore, Dogs, Project, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.stack.paths import circle
from tests.core.make.exporting.machines import one_sided

DOGS = Dogs(count=4, radius_mm=12.0, width_mm=3.0, height_mm=2.0)


def machine(**stack: object) -> Project:
    project = one_sided()
    lanes = [replaced(project.lanes[0], id=f"lane{n}", name=f"Lane {n}", code=None) for n in range(3)]
    made = Stack(id="main", **{"spacer_radius_mm": 18.0, **stack})  # type: ignore[arg-type]
    return replaced(project, lanes=with_codes(lanes), stacks=(made,))


def text_of(project: Project, size=A4) -> str:
    reader = pypdf.PdfReader(io.BytesIO(manual_alone(project, size)))
    return " ".join("\n".join(page.extract_text() for page in reader.pages).split())


def order_of(project: Project):
    return gather(examine(project, stage=QUICK), ("pdf",), Silent(), True)


def test_parts_are_painted_from_the_bottom_up_with_what_is_behind_first() -> None:
    project = machine()
    prisms = list(_prisms(order_of(project), project.stacks[0]))
    kinds = [prism.kind for prism in prisms]
    assert kinds[0] == kinds[-1] == "shaft"
    assert [prism.code for prism in prisms if prism.kind == "disc"] == ["A1", "A2", "A3"]
    discs = [prism for prism in prisms if prism.kind in ("disc", "spacer")]
    assert [prism.bottom for prism in discs] == [0.0, 5.0, 11.0, 16.0, 22.0]
    # The followers stand at 40 degrees, which is behind: bar, roller, then the disc it rides on.
    places = [number for number, kind in enumerate(kinds) if kind == "roller"]
    assert [kinds[place + 1] for place in places] == ["disc"] * 3
    assert all(prisms[place].depth > 0 for place in places)


def test_pegs_stand_on_their_part_and_are_covered_by_the_next() -> None:
    """Four pegs of 2 mm on each of three discs and two spacers, painted between their part and the next."""
    project = machine(dogs=DOGS)
    prisms = list(_prisms(order_of(project), project.stacks[0]))
    parts = [number for number, prism in enumerate(prisms) if prism.hole is not None]
    assert len(parts) == 5
    for place, number in enumerate(parts):
        upper = parts[place + 1] if place + 1 < len(parts) else len(prisms) - 1
        pegs = [prism for prism in prisms[number + 1 : upper] if prism.kind == prisms[number].kind]
        assert [(peg.bottom, peg.top) for peg in pegs] == [(prisms[number].top, prisms[number].top + 2.0)] * 4
        assert [peg.depth for peg in pegs] == sorted((peg.depth for peg in pegs), reverse=True)
        reach = [abs(abs(peg.outline.mean()) - 12.0) for peg in pegs]
        assert max(reach) < 0.1


def test_a_follower_in_a_groove_is_painted_above_its_disc() -> None:
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    project = one_sided(follower=roller, base_radius_mm=26.0, thickness_mm=8.0)
    prisms = list(_prisms(order_of(project), project.stacks[0]))
    (number,) = (place for place, prism in enumerate(prisms) if prism.kind == "disc")
    disc = prisms[number]
    assert disc.flanks is not None
    inner, outer = (np.abs(flank) for flank in disc.flanks)
    assert inner.max() < outer.max() < np.abs(disc.outline).max()
    assert disc.depth_mm == project.lanes[0].disc.groove_depth_mm
    bottoms = {prism.kind: prism.bottom for prism in prisms[number + 1 :] if prism.kind in ("roller", "bar")}
    assert bottoms["roller"] == disc.top
    assert bottoms["bar"] > disc.top
    assert not any(prism.kind in bottoms for prism in prisms[:number])


def test_only_what_lies_in_the_mouth_of_a_groove_is_painted() -> None:
    """A unit square moved by a quarter each way keeps three quarters by three quarters."""
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    (seen_part,) = _common([(x + 0.25, y + 0.25) for x, y in square], square)
    assert set(seen_part) == {(0.25, 0.25), (1.0, 0.25), (1.0, 1.0), (0.25, 1.0)}
    assert list(_common([(x + 3.0, y) for x, y in square], square)) == []


@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(0, 60))
def test_a_point_that_hides_another_is_never_lower(x: float, y: float, z: float) -> None:
    """Along a line of sight all points are seen in one place; nearer ones are higher."""
    steps = np.linspace(0, 30, 7)
    nearer = np.array([complex(x, y - step * np.cos(ELEVATION_RAD)) for step in steps])
    heights = z + steps * np.sin(ELEVATION_RAD)
    places = [seen(np.array([point]), high)[0] for point, high in zip(nearer, heights, strict=True)]
    assert np.ptp(np.real(places)) < 1e-9
    assert np.ptp(np.imag(places)) < 1e-9
    assert bool(np.all(np.diff(heights) > 0))


def test_the_walls_of_a_round_disc_that_face_the_looker_are_its_near_half() -> None:
    ring = circle(20.0).flattened(0.05) @ np.array([1, 1j])
    front = (np.roll(ring, -1) - ring).real > 1e-9
    ((start, end),) = _runs(front)
    own = [ring[place - len(ring) * (place >= len(ring))] for place in range(start, end + 1)]
    assert max(point.imag for point in own) < 1.5
    assert min(point.imag for point in own) == pytest.approx(-20.0, abs=0.05)


def test_a_shade_is_darker() -> None:
    assert darker("#ffffff") == "#d1d1d1"


def test_the_section_cuts_dogs_and_pockets_where_the_plane_meets_them() -> None:
    """Four dogs 3 mm wide on a circle of 12 mm: at 0 and at 180 degrees, nominal pegs, pockets 0.2 wider."""
    project = machine(dogs=DOGS)
    part = order_of(project).items[0].part
    cuts = list(_cuts(part))
    pegs = sorted((cut.low, cut.high) for cut in cuts if cut.is_solid)
    pockets = sorted((cut.low, cut.high) for cut in cuts if not cut.is_solid)
    np.testing.assert_allclose(pegs, [(-13.5, -10.5), (10.5, 13.5)], atol=0.05)
    np.testing.assert_allclose(pockets, [(-13.7, -10.3), (10.3, 13.7)], atol=0.05)
    assert {(cut.bottom, cut.top) for cut in cuts} == {(5.0, 7.0), (0.0, 2.2)}


def test_the_section_cuts_a_groove_on_both_sides() -> None:
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    project = one_sided(follower=roller, base_radius_mm=26.0, thickness_mm=8.0)
    left, right = sorted(_cuts(order_of(project).items[0].part), key=lambda cut: cut.low)
    for cut in (left, right):
        assert cut.high - cut.low == pytest.approx(10.2, abs=0.6)  # slanted where the disc is not round
        assert (cut.bottom, cut.top) == (5.0, 8.0)
    assert left.high < 0 < right.low


def test_pairs_of_a_ring_off_the_axis_are_none() -> None:
    square = np.array([[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]])
    assert pairs(square) == []
    assert pairs(square - [0.0, 1.5]) == [(1.0, 2.0)]


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
def test_picture_dogs_and_fit_stand_in_the_sheet(size) -> None:
    text = text_of(machine(dogs=DOGS), size)
    assert "Picture of main" in text
    assert "Dogs: 4 pegs on a circle of radius 12 mm, 3 mm wide and 2 mm high" in text
    assert "print FIT (2 pieces)" in text
    assert "The project uses 0.20 mm now." in text


KEYED = MappingProxyType(
    {
        ("shaft", "bottom", True): ("its driven end down", None),
        ("chain", "bottom", True): (
            "driven end down",
            "Fix the disc of Lane 0, the one at the driven end (bottom)",
        ),
        ("chain", "top", False): ("driven end up", "Fix the disc of Lane 2, the one at the driven end (top)"),
    }
)


@pytest.mark.parametrize("case", KEYED)
def test_the_assembly_says_what_turns_what(case: tuple[str, str, bool]) -> None:
    keying, end, clamped = case
    stood, fixed = KEYED[case]
    text = text_of(
        machine(dogs=DOGS, keying=keying, driven_end=end, joints="as-they-lie" if clamped else "loose")
    )
    assert stood in text
    assert ("turned by the dogs of its neighbour" in text) == (keying == "chain")
    assert fixed is None or fixed in text
    assert ("Tighten the discs as they lie" in text) == clamped
    assert ("The joints keep their play" in text) == (not clamped)


def test_a_round_bore_holds_no_disc_by_itself() -> None:
    text = text_of(machine(bore=Bore(shape="round", across_mm=8.0)))
    assert "The bore is round: pin, key or clamp every disc to the shaft" in text
