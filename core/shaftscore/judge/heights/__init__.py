"""Heights: where each disc is along its shaft, how much of its rim its roller keeps, and layers.

`stacks` computes the heights of all lanes, `touching` finds what a follower may touch beside its disc,
`layers` thicknesses between two layers, `cures` what helps, `findings` puts all of it into findings.
"""

from shaftscore.judge.heights.findings import HEIGHT_RULES, height_findings
from shaftscore.judge.heights.stacks import LaneHeights, StackHeights, machine_heights

__all__ = ["HEIGHT_RULES", "LaneHeights", "StackHeights", "height_findings", "machine_heights"]
