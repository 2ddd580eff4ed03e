"""How the timing diagram is painted, one module a layer or family.

Layers read a `Scene` and paint; none keeps state of its own, apart from caches of pictures. Back to
front: ground, step lines, level lines, material, free zones, blocks, curve, veil and seams (all of one
lane in one cached picture: `lane`); columns of findings and state bars; old place and held block;
guides, cursor; block labels; cursor rings; drag tag.
"""
