"""Pictures of parts and of the machine as pure geometry: what a person builds from.

Every function takes a `PicturedMachine` (a solution with the parts that are made and the frame) and a room
on paper, mm, and returns a `Scene` in mm of the paper, or a small record of scenes, texts and rows.
"""

from shaftscore.make.drawing.pictures.assembled import assembled_machine, machine_parts
from shaftscore.make.drawing.pictures.coupon import CouponPicture, FitPicture, coupon_picture, fit_pictures
from shaftscore.make.drawing.pictures.exploded import exploded_shaft
from shaftscore.make.drawing.pictures.follower_pages import (
    BOUGHT_HEAD,
    LANES_HEAD,
    PARTS_HEAD,
    FollowerPage,
    follower_pages,
)
from shaftscore.make.drawing.pictures.frame_steps import frame_steps
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.pictures.outlines import OutlineRow, disc_outlines
from shaftscore.make.drawing.pictures.plan import PlatePlan, plate_plan
from shaftscore.make.drawing.pictures.shaft_steps import shaft_steps
from shaftscore.make.drawing.pictures.stage_steps import stage_steps
from shaftscore.make.drawing.pictures.steps import AssemblyStep, RepeatedStep, repeats_text

__all__ = [
    "BOUGHT_HEAD",
    "LANES_HEAD",
    "PARTS_HEAD",
    "AssemblyStep",
    "CouponPicture",
    "FitPicture",
    "FollowerPage",
    "OutlineRow",
    "PicturedMachine",
    "PlatePlan",
    "RepeatedStep",
    "assembled_machine",
    "coupon_picture",
    "disc_outlines",
    "exploded_shaft",
    "fit_pictures",
    "follower_pages",
    "frame_steps",
    "machine_parts",
    "plate_plan",
    "repeats_text",
    "shaft_steps",
    "stage_steps",
]
