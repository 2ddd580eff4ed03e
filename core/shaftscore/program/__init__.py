"""The program maker: the states of all lanes made from pictures, truth tables, sequences or pasted cells.

A *draft* (`meaning`) holds where the lanes sit (`places`), one frame a step (`frames`), and what a painted
cell means. `present` reads the present program as a draft; `truth`, `sequences`, `pictures` and `pasted` make
frames; `laying` turns a draft into dwells, `summary` says what it comes to, `apply` writes it as one edit.
"""
