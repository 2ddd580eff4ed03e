"""The flow as it is drawn: elements in columns with their figures, lines, banks and marks; no Qt.

Import from here: `from shaftscore.judge.flow.drawn import FlowNetwork, flow_network`.
"""

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

__all__ = [
    "ChannelElement",
    "DiverterElement",
    "DiverterWay",
    "ElementKey",
    "ElementKind",
    "FlowBank",
    "FlowColumn",
    "FlowElement",
    "FlowLine",
    "FlowMark",
    "FlowNetwork",
    "GateElement",
    "LineState",
    "MagazineElement",
    "OutletElement",
    "PileElement",
    "ShownNetwork",
    "SupplyElement",
    "key_of",
]
