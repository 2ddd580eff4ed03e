"""A drawing saved by itself, as SVG, DXF or PDF at a scale of paper."""

from __future__ import annotations

from shaftscore.make.drawing.on_dxf import dxf_of
from shaftscore.make.drawing.on_pdf import pdf_of
from shaftscore.make.drawing.on_svg import svg_of
from shaftscore.make.drawing.scene import Scene

KINDS = ("svg", "dxf", "pdf")
"""Formats, by the ending of the file."""


def scene_bytes(scene: Scene, title: str, kind: str) -> bytes:
    """Return a drawing at full size as a file of one of KINDS; raises ValueError for another one."""
    if kind == "svg":
        return svg_of(scene, title)
    if kind == "dxf":
        return dxf_of(scene)
    if kind == "pdf":
        return pdf_of(scene, title)
    raise ValueError(f"a drawing is written as {', '.join(KINDS)}, not as {kind}")
