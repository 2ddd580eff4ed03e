"""Bring-up: what the built machine does in the maker's hands, and why.

Modules, one a subject. `strengths`: what the parts that a jam loads withstand; `stuck`: what a jam of a lane
does; `stuck_items`: which items then go wrong. `feed`: what every supply must give; `rolling`: how long a
ball takes down a slope. `home`: the angle at which the machine rests, and the way back to it; `hand_torque`:
what a hand feels at each step of the assembly. `wear`: how deep parts wear, and when to look.
"""
