"""The stack in 3D: meshes and their edges under a parallel projection, through the plot library's OpenGL.

Imported only when the view is first seen. Drawn is into a buffer of one context that all pictures share
and that lives as long as the program, and from there as an image: a widget of OpenGL in a dock would make
Qt rebuild the whole window when it first appears, and lose all that was loaded when the dock is set
afloat. Drag or arrow keys look round, the wheel comes nearer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pyqtgraph.opengl as gl
from OpenGL import GL
from pyqtgraph.opengl import shaders
from pyqtgraph.opengl.GLViewWidget import GLViewMixin
from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QImage,
    QKeyEvent,
    QMatrix4x4,
    QMouseEvent,
    QOffscreenSurface,
    QOpenGLContext,
    QPainter,
    QPaintEvent,
    QVector3D,
    QWheelEvent,
)
from PySide6.QtOpenGL import QOpenGLFramebufferObject, QOpenGLFramebufferObjectFormat
from PySide6.QtWidgets import QWidget

from shaftscore_app.views.stack_scene import Body, StackScene
from shaftscore_app.views.stack_surface import Reals

AZIMUTH_DEG, ELEVATION_DEG = 65.0, 24.0
"""Where the looker stands at first."""

STEP_DEG = 5.0
"""By which an arrow key looks round."""

ZOOMS = (0.5, 8.0)

SAMPLES = 4
"""Of a pixel, so that edges are smooth."""

Pixels = tuple[int, int, int, int]
"""Left, top, width and height of a part of the screen, px."""

Colour = Callable[[Body], tuple[QColor, QColor]]
"""Gives a part's colour and that of its edges."""

_VERTEX = """
    uniform mat4 u_mvp;
    uniform mat3 u_normal;
    attribute vec4 a_position;
    attribute vec3 a_normal;
    attribute vec4 a_color;
    varying vec4 v_color;
    varying float v_light;
    void main() {
        vec3 seen = normalize(u_normal * a_normal);
        float side = 0.84 - 0.14 * seen.x;
        v_light = mix(side, 1.0, step(0.5, abs(a_normal.z)));
        v_color = a_color;
        gl_Position = u_mvp * a_position;
    }
"""
_FRAGMENT = """
    #ifdef GL_ES
    precision mediump float;
    #endif
    varying vec4 v_color;
    varying float v_light;
    void main() {
        gl_FragColor = vec4(v_color.rgb * v_light, 1.0);
    }
"""
_SOLID = {
    GL.GL_DEPTH_TEST: True,
    GL.GL_BLEND: False,
    GL.GL_CULL_FACE: True,  # bodies are closed: what looks away is never seen
    GL.GL_POLYGON_OFFSET_FILL: True,  # edges lie on faces: faces give way
    "glPolygonOffset": (1.0, 2.0),
}


class _Screen:
    """The one context, and the surface it is made current on."""

    _made: _Screen | None = None

    def __init__(self) -> None:
        self.surface, self.context = QOffscreenSurface(), QOpenGLContext()
        self._buffer: QOpenGLFramebufferObject | None = None
        self.surface.create()
        if not self.context.create():
            raise RuntimeError("no OpenGL context can be made")
        self.shader = shaders.ShaderProgram(
            "shaftscore-stack", [shaders.VertexShader(_VERTEX), shaders.FragmentShader(_FRAGMENT)]
        )

    @classmethod
    def the(cls) -> _Screen:
        """Return it; made when first asked for. Raises RuntimeError where there can be none."""
        if cls._made is None:
            cls._made = cls()
        return cls._made

    def buffer(self, size: QSize) -> QOpenGLFramebufferObject:
        """Return a buffer of a size; the last is kept, since most pictures are as large as the one before."""
        if self._buffer is None or self._buffer.size() != size:
            self._buffer = None  # while the context is current
            wanted = QOpenGLFramebufferObjectFormat()
            wanted.setSamples(SAMPLES)
            wanted.setAttachment(QOpenGLFramebufferObject.Attachment.CombinedDepthStencil)
            self._buffer = QOpenGLFramebufferObject(size, wanted)
        return self._buffer

    def make_current(self) -> None:
        """Let what follows draw with it."""
        if not self.context.makeCurrent(self.surface):
            raise RuntimeError("the OpenGL context was lost")


class StackPicture(GLViewMixin, QWidget):  # type: ignore[misc]  # the library has no types
    """The picture. Faces up are lit, sides darken to the right, whichever way one looks.

    Signals: looked() when it is looked at from elsewhere, nearer or farther.
    """

    looked = Signal()

    def __init__(self) -> None:
        """Make an empty picture."""
        self._screen = _Screen.the()
        self._screen.make_current()
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("Stack in 3D")
        self.setAccessibleDescription("Drag or use the arrow keys to look round")
        self._zoom, self._size, self._from = 1.0, (100.0, 100.0), QPointF()
        self._scene: StackScene | None = None
        self._colour: Colour | None = None
        self._gap_mm = self._cursor_deg = 0.0
        self._mates_deg: Mapping[str, float] = {}
        shader = self._screen.shader
        self._solids = [gl.GLMeshItem(smooth=False, shader=shader, glOptions=_SOLID) for _ in range(2)]
        self._edges = [
            gl.GLLinePlotItem(mode="lines", antialias=True, glOptions="translucent") for _ in range(3)
        ]
        for item in (*self._solids, *self._edges):
            item.setVisible(False)
            self.addItem(item)
        self.opts |= {"azimuth": AZIMUTH_DEG, "elevation": ELEVATION_DEG}

    # What is shown

    def show_scene(
        self, scene: StackScene, colour: Colour, gap_mm: float, arrow: tuple[Reals, QColor], ground: QColor
    ) -> None:
        """Show a stack; arrow: lines and their colour."""
        self._scene, self._colour, self._gap_mm = scene, colour, gap_mm
        self.setBackgroundColor(ground)
        self._put(0, scene.turning)
        _draw(self._edges[2], arrow[0], np.tile(_rgba(arrow[1]), (2 * len(arrow[0]), 1)))
        height = scene.height_mm(gap_mm)
        self._size = (scene.reach_mm, height)
        self.opts["center"] = QVector3D(0.0, 0.0, height / 2)
        self.opts["distance"] = 4 * (scene.reach_mm + height)
        self.set_cursor(self._cursor_deg, self._mates_deg)

    def set_cursor(self, deg: float, mates_deg: Mapping[str, float]) -> None:
        """Turn the stack to an angle of its own, and move the followers and what meshes with its parts.

        deg: of the stack, mates_deg: of the stacks of the mates, by id; degrees.
        """
        self._cursor_deg, self._mates_deg = deg, mates_deg
        if self._scene is None or any(mate.stack_id not in mates_deg for _, mate in self._scene.mates):
            return
        for item in (self._solids[0], self._edges[0]):
            item.resetTransform()
            item.rotate(self._scene.turn_deg(deg), 0, 0, 1)
        self._put(1, (*self._scene.followers(deg), *self._scene.meshing(mates_deg)))
        self.update()

    def _put(self, place: int, bodies: Sequence[Body]) -> None:
        assert self._colour is not None
        solid, edges = self._solids[place], self._edges[place]
        solid.setVisible(bool(bodies))
        edges.setVisible(bool(bodies))
        if not bodies:
            return
        lifted = [body.lifted(self._gap_mm) for body in bodies]
        colours = [self._colour(body) for body in bodies]
        faces = [
            np.tile(_rgba(face), (len(body.triangles), 3, 1))
            for body, (face, _) in zip(lifted, colours, strict=True)
        ]
        solid.setMeshData(
            vertexes=np.concatenate([body.triangles for body in lifted]), vertexColors=np.concatenate(faces)
        )
        inks = [
            np.tile(_rgba(edge), (2 * len(body.lines), 1))
            for body, (_, edge) in zip(lifted, colours, strict=True)
        ]
        _draw(edges, np.concatenate([body.lines for body in lifted]), np.concatenate(inks))

    # Drawing

    def isValid(self) -> bool:
        """Report the library that there is a context."""
        return True

    def context(self) -> QOpenGLContext:
        """Return the library the context."""
        return self._screen.context

    def image(self, size: QSize) -> QImage:
        """Draw the picture, size in device pixels."""
        self._screen.make_current()
        self.initializeGL()
        buffer = self._screen.buffer(size)
        buffer.bind()
        GL.glViewport(0, 0, size.width(), size.height())
        region = (0, 0, size.width(), size.height())
        self.paint(region=region, viewport=region)
        buffer.release()
        return buffer.toImage()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw, and show the image."""
        ratio = self.devicePixelRatioF()
        image = self.image(self.size() * ratio)
        image.setDevicePixelRatio(ratio)
        painter = QPainter(self)
        painter.drawImage(0, 0, image)
        painter.end()

    # Looking

    def projectionMatrix(self, region: Pixels, viewport: Pixels) -> QMatrix4x4:  # noqa: ARG002 - the library's
        """Look in parallel, with all of the stack in sight."""
        wide, high = max(1, viewport[2]), max(1, viewport[3])
        half = self._half(wide, high)
        matrix = QMatrix4x4()
        far = 2 * self.opts["distance"]
        matrix.ortho(-half * wide / high, half * wide / high, -half, half, 0.1, far)
        return matrix

    def _half(self, wide: float, high: float) -> float:
        """Return half the height that is seen, mm."""
        reach, height = self._size
        tilt = np.radians(self.opts["elevation"])
        half = (height / 2 + 12) * abs(np.cos(tilt)) + reach * abs(np.sin(tilt))
        return float(max(half, reach * high / wide) * 1.03 / self._zoom)

    def seen_at(self, z_mm: float) -> float:
        """Return how far below its upper edge the picture shows a point of the axis, px."""
        wide, high = max(1, self.width()), max(1, self.height())
        up = (z_mm - self._size[1] / 2) * np.cos(np.radians(self.opts["elevation"]))
        return float(high / 2 * (1 - up / self._half(wide, high)))

    def look(self, azimuth_deg: float, elevation_deg: float) -> None:
        """Go round by angles."""
        self.orbit(azimuth_deg, elevation_deg)
        self.looked.emit()

    @property
    def looks_from(self) -> tuple[float, float]:
        """Azimuth and elevation, degrees."""
        return float(self.opts["azimuth"]), float(self.opts["elevation"])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to look round."""
        self._from = event.position()
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Look round: half a degree a pixel."""
        by, self._from = event.position() - self._from, event.position()
        if event.buttons() & Qt.MouseButton.LeftButton:
            self.look(-by.x() / 2, by.y() / 2)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Look from where one did at first."""
        self._zoom = 1.0
        self.setCameraPosition(azimuth=AZIMUTH_DEG, elevation=ELEVATION_DEG)
        self.looked.emit()
        event.accept()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Come nearer, or go away."""
        self._zoom = min(ZOOMS[1], max(ZOOMS[0], self._zoom * 1.001 ** event.angleDelta().y()))
        self.update()
        self.looked.emit()
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Look round with the arrow keys."""
        turns = {
            Qt.Key.Key_Left: (-STEP_DEG, 0.0),
            Qt.Key.Key_Right: (STEP_DEG, 0.0),
            Qt.Key.Key_Up: (0.0, STEP_DEG),
            Qt.Key.Key_Down: (0.0, -STEP_DEG),
        }
        by = turns.get(Qt.Key(event.key()))
        if by is None:
            event.ignore()
            return
        self.look(*by)
        event.accept()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Leave the library's own keys out."""
        event.ignore()


def _rgba(colour: QColor) -> npt.NDArray[np.float32]:
    """Return a colour as the buffers hold it: the library hands them on as they are."""
    return np.array([colour.redF(), colour.greenF(), colour.blueF(), 1.0], np.float32)


def _draw(item: gl.GLLinePlotItem, lines: Reals, colours: npt.NDArray[np.float32]) -> None:
    item.setVisible(True)
    item.setData(pos=lines.reshape(-1, 3), color=colours, width=1.4)
