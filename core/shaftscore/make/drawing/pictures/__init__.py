"""Pictures of parts and of the machine as pure geometry: what a person builds from.

Every function takes a `PicturedMachine` (a solution with the parts that are made and the frame) and a room
on paper, mm, and returns a `Scene` in mm of the paper, or a small record of scenes, texts and rows.
"""

from shaftscore.make.drawing.pictures.assembled import assembled_machine, machine_parts
from shaftscore.make.drawing.pictures.exploded import exploded_shaft
from shaftscore.make.drawing.pictures.machine import PicturedMachine

__all__ = ["PicturedMachine", "assembled_machine", "exploded_shaft", "machine_parts"]
