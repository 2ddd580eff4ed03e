"""The timing diagram: every lane as a strip over one turn of the shaft.

geometry: where things stand (pure numbers). layers: how they are painted, one module a layer or family.
drag, snap and tag: the story of a held block (pure). widget: the Qt widget that ties them together.
"""
