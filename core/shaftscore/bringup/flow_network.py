"""The network of a solved machine's flow: of the machine within the tolerances that needs most."""

from __future__ import annotations

from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.judge.flow.reserve import most_needed
from shaftscore.judge.flow.routes import States
from shaftscore.model import State
from shaftscore.solution import Solution


def states_of(solution: Solution) -> States:
    """Return what gives the intervals of states, None of a lane that has no motion."""

    def states(state: State) -> tuple[StateSpan, ...] | None:
        """Return the intervals of a state, master angles."""
        lane = solution.lanes[state.lane]
        return lane.intervals(state) if lane.motion is not None else None

    return states


def needing_most(solution: Solution) -> Network | None:
    """Return the network of the machine within the tolerances that needs most; None without a flow."""
    flow = solution.project.flow
    if flow is None:
        return None
    clock = CycleClock.of(solution.project.shaft.speed_rpm)
    return most_needed(network(flow, clock, states_of(solution)), solution.project.tolerances)
