"""Where springs drive the shaft, and how the train reverses there.

While the sum of the torque, with the least friction and the strongest springs, is negative the springs push
the shaft on. A train that can be driven from its shaft then lets it run ahead by the play of its teeth
(overrun) and takes the load on their other flanks. Angles are of the master shaft.
"""

from __future__ import annotations

import numpy as np

from shaftscore.base.angles import Arcs, ahead, wrap
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.loads.camshaft import Camshaft
from shaftscore.judge.loads.long_round import LongCamshaft
from shaftscore.kinematics.followers import Reals


def springs_drive(shaft: Camshaft) -> Arcs:
    """Return the angles at which springs drive the shaft: the sum on the grid is below 0.

    Ends are found by straight lines between the places of the grid; what stays within the tolerance of
    forces of 0 does not count.
    """
    if isinstance(shaft, LongCamshaft):
        return shaft.driven_by_springs
    total = shaft.overrun
    floor = -LIMIT * float(np.max(np.abs(total), initial=0.0))
    below = total < floor
    if np.all(below):
        return Arcs.full()
    theta = shaft.theta_deg
    ends = np.roll(theta, -1)
    step = wrap(ends - theta)
    (into,) = np.nonzero(~below & np.roll(below, -1))
    (out,) = np.nonzero(below & ~np.roll(below, -1))
    starts = [_crossing(total, theta, step, i) for i in into.tolist()]
    stops = [_crossing(total, theta, step, i) for i in out.tolist()]
    return Arcs.of((start, min(ahead(start, stop) for stop in stops)) for start in starts)


def _crossing(total: Reals, theta: Reals, step: Reals, i: int) -> float:
    first, last = float(total[i]), float(np.roll(total, -1)[i])
    share = first / (first - last) if first * last < 0 else 0.5
    return float(wrap(theta[i] + share * step[i]))
