"""The flow as it is drawn: elements in columns with their figures, lines, banks and marks; no Qt.

Import from here: `from shaftscore.judge.flow.drawn import FlowNetwork, flow_network`.
"""

from shaftscore.judge.flow.drawn.drawing import JudgedFlow, flow_network
from shaftscore.judge.flow.drawn.records import (
    ChannelElement,
    DiverterElement,
    DiverterWay,
    ElementKey,
    ElementKind,
    FlowBank,
    FlowColumn,
    FlowElement,
    FlowLine,
    FlowMark,
    FlowNetwork,
    GateElement,
    LineState,
    MagazineElement,
    OutletElement,
    PileElement,
    ShownNetwork,
    SupplyElement,
    key_of,
)
from shaftscore.judge.flow.drawn.run import (
    MOST_TURNS,
    USUAL_TURNS,
    DrawnRun,
    RunOpening,
    drawn_run,
)

__all__ = [
    "MOST_TURNS",
    "USUAL_TURNS",
    "ChannelElement",
    "DiverterElement",
    "DiverterWay",
    "DrawnRun",
    "ElementKey",
    "ElementKind",
    "FlowBank",
    "FlowColumn",
    "FlowElement",
    "FlowLine",
    "FlowMark",
    "FlowNetwork",
    "GateElement",
    "JudgedFlow",
    "LineState",
    "MagazineElement",
    "OutletElement",
    "PileElement",
    "RunOpening",
    "ShownNetwork",
    "SupplyElement",
    "drawn_run",
    "flow_network",
    "key_of",
]
