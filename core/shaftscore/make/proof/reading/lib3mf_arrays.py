"""Corners and triangles in and out of the 3MF library as arrays.

Its own methods make an object of each corner and each triangle, and a list of each byte, which takes longer
than all else of a file. Here the library's C functions, which those methods call, fill arrays at once.
"""

from __future__ import annotations

import ctypes
from typing import Any

import numpy as np
import numpy.typing as npt

Singles = npt.NDArray[np.float32]
Numbers = npt.NDArray[np.uint32]

# Any below: the library has no types of its own.


def set_geometry(lib3mf: Any, mesh: Any, corners: Singles, triangles: Numbers) -> None:
    """Set the corners, (n, 3) mm, and the triangles, (m, 3) numbers of corners, of a mesh object."""
    points = np.ascontiguousarray(corners, "<f4")
    faces = np.ascontiguousarray(triangles, "<u4")
    _call(
        mesh,
        "meshobject_setgeometry",
        ctypes.c_uint64(len(points)),
        points.ctypes.data_as(ctypes.POINTER(lib3mf.Position)),
        ctypes.c_uint64(len(faces)),
        faces.ctypes.data_as(ctypes.POINTER(lib3mf.Triangle)),
    )


def corners_of(lib3mf: Any, mesh: Any) -> Singles:
    """Return the corners of a mesh object, (n, 3) mm."""
    found = np.zeros((mesh.GetVertexCount(), 3), "<f4")
    _fill(mesh, "meshobject_getvertices", found, lib3mf.Position)
    return found


def triangles_of(lib3mf: Any, mesh: Any) -> Numbers:
    """Return the triangles of a mesh object, (m, 3) numbers of corners."""
    found = np.zeros((mesh.GetTriangleCount(), 3), "<u4")
    _fill(mesh, "meshobject_gettriangleindices", found, lib3mf.Triangle)
    return found


def _fill(mesh: Any, name: str, rows: npt.NDArray[Any], kind: Any) -> None:
    needed = ctypes.c_uint64(0)
    into = rows.ctypes.data_as(ctypes.POINTER(kind))
    _call(mesh, name, ctypes.c_uint64(len(rows)), needed, into)


def _call(handled: Any, name: str, *arguments: Any) -> None:
    """Call a C function for an object of the library; raises the library's error if it refuses."""
    wrapper = handled._wrapper
    wrapper.checkError(handled, getattr(wrapper.lib, f"lib3mf_{name}")(handled._handle, *arguments))
