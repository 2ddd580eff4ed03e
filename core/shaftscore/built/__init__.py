"""Physics of the machine that is built: fits, seat, springs, reserve, heights, shaft, gear efficiency.

Plain functions and small frozen records over numbers and arrays; nothing here knows the project's
records. Lengths are mm, forces N, stresses MPa, torques N·m, angles degrees of the part's own stack.

Import the module: `from shaftscore.built import fits`.
"""
