"""Springs that cure: a stronger one against friction and float, a longer or stouter one against strain.

Each is tried on the lane's loads before it is offered. Typed preloads and rates change by number; of a
described spring the lengths or the wire change, so that it stays one that can be bought or wound.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil, inf

from shaftscore.base.wording import down_to, millimetres, newtons, plain, up_to
from shaftscore.built.reserve import preload_that_does_n, rate_that_does_n_per_mm, spring_needed_n
from shaftscore.judge.findings import Cure
from shaftscore.judge.loads.lane import LaneLoads
from shaftscore.judge.loads.strain import SpringStrain, strain_of
from shaftscore.model import CoilSpring, Load, replaced
from shaftscore.model.base import MOST_FORCE_N

Holds = Callable[[LaneLoads], bool]
"""Whether a finding is gone with other loads."""

MOST_RATE, MOST_LENGTH_MM, MOST_WIRE_MM = 1e5, 2000.0, 50.0
"""Greatest rate N/mm, length mm and wire mm that a record holds."""

RATE_STEP, LENGTH_STEP_MM, WIRE_STEP_MM = 0.01, 0.1, 0.1
"""Rates (N/mm), lengths and wires in cures are rounded to these."""

MOST_WIRES = 20
"""So many stouter wires are tried."""

NO_SPRING = "No spring that can be given holds it here: a gentler move, or a lower speed."


def needed_springs(loads: LaneLoads) -> tuple[float, float]:
    """Return the least preload with the present rate, N, and rate with the present preload, N/mm.

    Each restores the required reserve and keeps the weakest spring from sticking; inf where none does.
    """
    reserve, spring = loads.reserve, loads.load.spring_force
    assert reserve is not None, "only a spring needs a reserve"
    if spring.tolerance_share >= 1:
        return inf, inf
    required, travel = reserve.needs
    share, fixed = spring.tolerance_share, spring.tolerance_n
    needed = spring_needed_n(loads.load.external_n, required, reserve.required, share, fixed)
    return (
        preload_that_does_n(needed, travel, spring.rate_n_per_mm),
        rate_that_does_n_per_mm(needed, travel, spring.preload_n),
    )


def stronger(lane_id: str, loads: LaneLoads, preload_n: float, holds: Holds) -> Cure | None:
    """Return the spring of at least so much preload, N, that cures; None where it does not cure."""
    if loads.load.spring is not None:
        return _tighter(lane_id, loads, loads.load.spring, preload_n, holds)
    preload = ceil(preload_n * 10 + 1e-6) / 10 if preload_n < MOST_FORCE_N else preload_n
    if not preload <= MOST_FORCE_N:
        return Cure(sentence=NO_SPRING)
    load = replaced(loads.load, spring_preload_n=preload)
    if not holds(replace(loads, load=load)):
        return None
    more = preload - loads.load.spring_preload_n
    return _set_load(lane_id, load, f"Preload {newtons(preload)}, {newtons(more)} more.")


def stiffer(loads: LaneLoads, rate_n_per_mm: float, holds: Holds) -> str:
    """Return the words for a rate of at least so much, N/mm, that cures with the present preload, or none."""
    if loads.load.spring is not None or not rate_n_per_mm < MOST_RATE:
        return ""
    rate = up_to(rate_n_per_mm * (1 + 1e-3), RATE_STEP)
    if rate > MOST_RATE or not holds(replace(loads, load=replaced(loads.load, spring_rate_n_per_mm=rate))):
        return ""
    return f"rate {plain(rate, 2)} N/mm"


def _tighter(
    lane_id: str, loads: LaneLoads, spring: CoilSpring, preload_n: float, holds: Holds
) -> Cure | None:
    """Build a described spring in under more tension; where it cannot bear that, state the preload."""
    force = loads.load.spring_force
    stated = (
        f"A spring with a preload of {newtons(up_to(preload_n, 0.1))}; it has {newtons(force.preload_n)}."
    )
    by = (preload_n - force.preload_n) * spring.ratio / force.rate_n_per_mm
    pressed = spring.kind == "compression"
    length = spring.installed_mm + (-by if pressed else by)
    length = down_to(length, LENGTH_STEP_MM) if pressed else up_to(length, LENGTH_STEP_MM)
    if not 0 < length <= MOST_LENGTH_MM:
        return Cure(sentence=stated)
    load = replaced(loads.load, spring=replaced(spring, installed_mm=round(length, 6)))
    changed = replace(loads, load=load)
    strain = strain_of_loads(changed)
    if strain is None or strain.is_solid or strain.is_overstressed or not holds(changed):
        return Cure(sentence=stated)
    sentence = (
        f"Install the spring at {millimetres(length)} instead of {millimetres(spring.installed_mm)}: "
        f"preload {newtons(load.spring_force.preload_n)}."
    )
    return _set_load(lane_id, load, sentence)


def strain_of_loads(loads: LaneLoads) -> SpringStrain | None:
    """Return the strain of a lane's described spring at the greatest travel; None without one."""
    spring = loads.load.spring
    return None if spring is None else strain_of(spring, loads.most_travel.value)


def longer(lane_id: str, loads: LaneLoads) -> Cure | None:
    """Return a longer spring of the same wire and coils, preload and rate, whose coils do not touch."""
    spring, strain = loads.load.spring, strain_of_loads(loads)
    assert spring is not None, "only a described spring is solid"
    assert strain is not None, "only a described spring is solid"
    by = up_to(strain.solid_mm - strain.length_mm + LENGTH_STEP_MM, LENGTH_STEP_MM)
    if spring.free_mm + by > MOST_LENGTH_MM:
        return None
    free, installed = round(spring.free_mm + by, 6), round(spring.installed_mm + by, 6)
    load = replaced(loads.load, spring=replaced(spring, free_mm=free, installed_mm=installed))
    now = strain_of_loads(replace(loads, load=load))
    if now is None or now.is_solid:
        return None
    sentence = (
        f"A spring {millimetres(by)} longer with as many coils: "
        f"free {millimetres(free)}, installed {millimetres(installed)}."
    )
    return _set_load(lane_id, load, sentence)


def stouter(lane_id: str, loads: LaneLoads) -> Cure | None:
    """Return a spring of stouter wire and more coils, of the same rate, that bears the stress and fits."""
    spring = loads.load.spring
    assert spring is not None, "only a described spring has a stress"
    for made in _stouter_wires(spring):
        load = replaced(loads.load, spring=made)
        strain = strain_of_loads(replace(loads, load=load))
        if strain is not None and not (strain.is_overstressed or strain.is_solid):
            wire, coils = millimetres(made.wire_mm), plain(made.active_coils, 1)
            return _set_load(lane_id, load, f"Wire of {wire} with {coils} active coils: the same rate.")
    return None


def _stouter_wires(spring: CoilSpring) -> Iterator[CoilSpring]:
    """Yield springs of the same coil, lengths and rate, the wire 0.1 mm stouter each time."""
    for step in range(1, MOST_WIRES + 1):
        wire = round(spring.wire_mm + step * WIRE_STEP_MM, 6)
        coils = round(spring.active_coils * (wire / spring.wire_mm) ** 4, 1)
        if wire >= min(spring.coil_mm, MOST_WIRE_MM) or coils > 1000:
            return
        yield replaced(spring, wire_mm=wire, active_coils=coils)


def _set_load(lane_id: str, load: Load, sentence: str) -> Cure:
    return Cure(sentence=sentence, edit="set_lane", arguments={"lane_id": lane_id, "load": load})
