"""The flow: exact simulation of the items that move through supplies, magazines, gates and channels.

Import from here: `from shaftscore.judge.flow import simulate, FlowResult`.
"""

from shaftscore.judge.flow.result import FlowHistory, FlowResult, MagazineResult, Passage
from shaftscore.judge.flow.simulate import MOST_TURNS, simulate
from shaftscore.judge.flow.trial import run_of_copy
from shaftscore.judge.flow.work import WorkBudget

__all__ = [
    "MOST_TURNS",
    "FlowHistory",
    "FlowResult",
    "MagazineResult",
    "Passage",
    "WorkBudget",
    "run_of_copy",
    "simulate",
]
