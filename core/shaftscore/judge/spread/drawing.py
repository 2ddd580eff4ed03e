"""Machines drawn in blocks, so that memory does not grow with their number.

Each block has a stream of random numbers of its own, which the seed and its number decide: a project and a
seed always give the same machines.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from shaftscore.judge.fits import StackFit, clamp_capacity_nm, stack_fits
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects
from shaftscore.judge.spread.draws import Errors, draw
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.play import TorqueSigns, torque_signs
from shaftscore.judge.spread.states import LaneRuns
from shaftscore.judge.spread.tally import LOOKS
from shaftscore.solution import Solution

MACHINES = 10_000
"""Machines that are drawn where their number is not decided by what they show."""

SEED = 20_240
"""The seed of all draws: a number like any other, so that everyone gets the same machines."""

BLOCK = 2_000
"""Machines of the first block, which show how much memory a machine takes."""

MOST_BLOCK = 10_000
"""Machines of any other block: with more of them the arrays do not fit the caches."""

BLOCK_BYTES = 24 * 1024**2
"""What the intervals and slacks of a block may take."""

LEAST_BLOCK = 200
"""Machines of a block at least."""


@dataclass(frozen=True)
class Drawing:
    """What machines of a solved project are drawn with.

    fits: of its stacks. signs: by disc of a loose stack, which way its joints are pushed. effects: what other
    modules add. runs: of the lanes; those that are not known yet are added when first read. seed: of all
    draws.
    """

    solution: Solution
    fits: Mapping[str, StackFit]
    signs: Mapping[str, TorqueSigns]
    effects: BuiltEffects
    runs: dict[str, LaneRuns] = field(repr=False)
    seed: int = SEED

    @staticmethod
    def of(
        solution: Solution,
        loads: MachineLoads | None = None,
        effects: BuiltEffects = NO_EFFECTS,
        runs: dict[str, LaneRuns] | None = None,
        *,
        seed: int = SEED,
    ) -> Drawing:
        """Find the fits of the stacks; see `draw_machines`."""
        fits = stack_fits(solution)
        needed = any(fit.law == "loose" or clamp_capacity_nm(fit) is not None for fit in fits.values())
        known = machine_loads(solution) if loads is None and needed else loads
        signs: dict[str, TorqueSigns] = {}
        for fit in fits.values():
            signs |= {} if known is None else torque_signs(fit, known)
        return Drawing(solution, fits, signs, effects, {} if runs is None else runs, seed)

    def drawn(self, machines: int, block: int = 0) -> Machines:
        """Draw machines in one pass: as many of a block."""
        draws = draw(self.solution.project, machines, block_seed(self.seed, block))
        errors = Errors(self.solution.project, draws, fits=self.fits, signs=self.signs, effects=self.effects)
        return Machines(self.solution, errors, runs=self.runs)

    def blocks(self, machines: int) -> Iterator[Machines]:
        """Draw machines block by block; each also has the nominal machine, as row 0.

        A block ends where a look (`tally.LOOKS`) is due. Those after the first are as large as memory allows
        by what the first one took, so it must be judged before the next one is asked for.
        """
        begin, number, rows = 0, 0, self._rows(8 * self._rules, BLOCK)
        while begin < machines:
            look = next((look for look in LOOKS if look > begin), machines)
            drawn = self.drawn(min(rows, look - begin, machines - begin), number)
            yield drawn
            begin, number = begin + drawn.count - 1, number + 1
            if number == 1:
                rows = self._rows(8 * self._rules + drawn.bytes_a_machine, MOST_BLOCK)

    @property
    def _rules(self) -> int:
        """How many rules, of which each has a slack in each machine, there are at most."""
        project, flow = self.solution.project, self.solution.project.flow
        count = 1 + len(project.rules) + len(project.lanes)
        if flow is None:
            return count
        parts = (flow.gates, flow.magazines, flow.channels, flow.outlets, flow.supplies)
        return count + sum(map(len, parts))

    @staticmethod
    def _rows(bytes_each: int, most: int) -> int:
        return max(LEAST_BLOCK, min(most, BLOCK_BYTES // bytes_each))


def block_seed(seed: int, number: int) -> int:
    """Return the seed of a block; that of the first one is the seed of all."""
    mixed = np.random.SeedSequence((seed, number)).generate_state(1, np.uint64)
    return int(mixed[0]) if number else seed


def draw_machines(
    solution: Solution,
    machines: int = MACHINES,
    seed: int = SEED,
    loads: MachineLoads | None = None,
    effects: BuiltEffects = NO_EFFECTS,
    *,
    runs: dict[str, LaneRuns] | None = None,
) -> Machines:
    """Draw machines of a solved project with the fits of its stacks, in one pass.

    loads: of the same solution; computed where a stack needs them if None. effects: what other modules add.
    runs: of lanes of the same solution, where they are known; those of the others are added when first read.
    """
    return Drawing.of(solution, loads, effects, runs, seed=seed).drawn(machines)
