"""Proof of the assembly: the parts of an export, read back, put together and turned through the cycle.

`body` gives parts and plain bodies as cross-sections, `placed` their poses, `contacts` how pairs may meet,
`depth` the one definition of how deep two go into one another, `meeting` a pair over angles, `rolling`
followers on their discs, `joints` what turns and shifts on what. `machine` puts an export together, `proof`
judges it.
"""

from shaftscore.make.assembly.joints import assembly_joints
from shaftscore.make.assembly.machine import MachineAssembly, machine_assembly
from shaftscore.make.assembly.proof import AssemblyFault, AssemblyProof, prove_assembly
from shaftscore.make.assembly.record import assembly_json, assembly_text
from shaftscore.make.assembly.whole import assembly_of

__all__ = [
    "AssemblyFault",
    "AssemblyProof",
    "MachineAssembly",
    "assembly_joints",
    "assembly_json",
    "assembly_of",
    "assembly_text",
    "machine_assembly",
    "prove_assembly",
]
