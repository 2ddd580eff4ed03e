"""The tolerance of printed angles that is enough.

The slack of a machine goes with a common scale of all its angle errors along straight lines, of which the
lowest counts. So the scales with which it works are one stretch, which for a machine that works without
errors begins at 0: its end is found by halving, for all machines of a block at once, each at its own scale.
A rule that holds in every machine at both ends holds between them, and is not judged again.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from shaftscore.base.progress import Progress
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.drawing import MACHINES, Drawing
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.judging import holding, judge, smallest
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.tally import is_apart
from shaftscore.judge.spread.wilson import wilson_interval

_HALVINGS = 12


def needed_disc_angle_deg(
    drawing: Drawing, flow: FlowResult | None, share: float, progress: Progress
) -> float | None:
    """Return the largest disc_angle_deg with which surely a share of machines works; None where none is.

    It is sure where the interval of a look (`judge.spread.tally`) leaves no doubt, so that machines with it
    are found to be enough when they are drawn. Of a share of 1, which no interval reaches, all must work.
    """
    ends: list[Floats] = []
    for drawn in drawing.blocks(MACHINES):
        progress.report(0.7, "The tolerance that is enough")
        ends.append(_scales(drawn, flow))
        found = np.concatenate(ends)
        if wilson_interval(int(np.count_nonzero(found >= 0)), len(found))[1] < share:
            return None
    scale = _kept_by(np.concatenate(ends), share)
    return None if scale is None else scale * drawing.solution.project.tolerances.disc_angle_deg


def _kept_by(ends: Floats, share: float) -> float | None:
    """Return the largest scale with which a share of machines works; ends: (n,), -1 for what never does."""
    count = len(ends)
    wanted = max(1, ceil(share * count - 1e-9))
    while wanted < count and not is_apart(wanted, count, (share,)):
        wanted += 1
    scale = float(np.sort(ends)[count - wanted])
    return None if scale < 0 else scale


def _scales(drawn: Machines, flow: FlowResult | None) -> Floats:
    """Return the largest scale under 1 with which each drawn machine works, to 1/4096; -1 where none does."""
    exact, whole = judge(drawn.scaled(0.0), flow), judge(drawn, flow)
    open_ = {one.key for one in (*exact, *whole) if holding(one.slack_deg) < drawn.count - 1}
    low, high = np.zeros(drawn.count), np.ones(drawn.count)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        works = smallest(judge(drawn.scaled(middle), flow, open_), drawn.count) >= -LIMIT
        low, high = np.where(works, middle, low), np.where(works, high, middle)
    still = smallest(exact, drawn.count) >= -LIMIT
    ends: Floats = np.where(still, low, -1.0)[1:]
    return ends
