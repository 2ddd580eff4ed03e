"""The flow: exact simulation of the items that move through supplies, magazines, gates and channels.

Import from here: `from shaftscore.judge.flow import simulate, FlowResult`.
"""

from shaftscore.judge.flow.result import FlowResult, History, MagazineResult, Passage
from shaftscore.judge.flow.simulate import MOST_TURNS, simulate

__all__ = ["MOST_TURNS", "FlowResult", "History", "MagazineResult", "Passage", "simulate"]
