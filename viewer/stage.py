"""The scene: what a Frame shows, kept in one PyVista plotter and changed only where the next Frame differs.

Stills, animation, the live page and the plain window all draw through here. Text never goes through the renderer.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pyvista as pv
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkFloatArray, vtkUnsignedCharArray
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer

from scenes.frame import Camera, CutPlane, Frame, Paint, Shown, Trail
from viewer import meshes, palette

AMBIENT, DIFFUSE = 0.35, 0.75
PALE_AMBIENT, PALE_DIFFUSE = 0.78, 0.26  # parts that wait: hardly shaded, or their pale tint would turn grey
TRAIL_OPACITY = 0.45  # of the stretches of a trail that run behind or inside a part
LIGHTS: Final = (((-1.0, 1.4, 1.6), 0.60), ((1.6, 0.2, 0.8), 0.30), ((0.0, 0.0, 1.0), 0.22))
CAP_ID: Final = 255  # blue component of a cut face in the part-number picture
DASHES: Final = (14.0, 4.0, 2.5, 4.0)  # mm at trail scale 1: long, gap, dot, gap
EDGE_WIDTH = 1.2  # pixels
ZOOM = (0.05, 60.0)  # how far a view may be shrunk or enlarged to fill a rectangle
NEAREST = 0.1  # nearest that is drawn, of the distance to what is looked at
WAY_MARGIN = 0.035  # round what must be seen of a blocked way, of its size
FIELD_ASPECT = 1.5  # width over height that a frame's camera is made for
FIELD_SLACK = 1.04  # a part may reach this much past the camera's own field before the view counts as moved in
Box = tuple[float, float, float, float]


@dataclass(eq=False)
class _Staged:
    """One part on stage and what it looked like when last drawn."""

    key: meshes.MeshKey
    actors: dict[str, vtkActor] = field(default_factory=dict)
    pose: bytes = b""
    colour: palette.Rgb | None = None
    pale: bool = False


@dataclass(frozen=True, eq=False)
class PartMap:
    """Which part each pixel shows: `part` -1 on the ground, else an index into `names`; `cap` where it is a cut face."""

    part: NDArray[np.int16]
    cap: NDArray[np.bool_]
    names: tuple[str, ...]


def colour_of(part: Shown, frame: Frame) -> palette.Rgb:
    """The colour of a part: its role's, its temperature's on the frame's scale, or the pale tint of one that waits."""
    if part.temperature is not None and frame.heat_scale is not None:
        return palette.heat(palette.heat_position(part.temperature, frame.heat_scale.low, frame.heat_scale.high))
    return palette.of(part.role, part.state)


def dash_dot(trails: Iterable[Trail], scale: float = 1.0) -> NDArray[np.float64]:
    """The strokes of all trails as pairs of points, shape (n, 2, 3) [mm]; the pattern runs on round corners."""
    pattern = np.array(DASHES) * scale
    strokes: list[NDArray[np.float64]] = []
    for trail in trails:
        points = np.asarray(trail.points, dtype=float)
        lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(lengths)])
        if along[-1] <= 0.0:
            continue
        starts = np.arange(0.0, along[-1], pattern.sum())
        for offset, length in ((0.0, pattern[0]), (pattern[0] + pattern[1], pattern[2])):
            for a in starts + offset:
                b = min(a + length, along[-1])
                if a >= b:
                    continue
                knots = np.concatenate([[a], along[(along > a) & (along < b)], [b]])
                line = np.stack([np.interp(knots, along, points[:, k]) for k in range(3)], axis=1)
                strokes += [np.stack([line[i], line[i + 1]]) for i in range(len(line) - 1)]
    return np.array(strokes) if strokes else np.zeros((0, 2, 3))


class Stage:
    """Everything on stage for one Frame at a time.

    `edges` draws sharp edges as lines (for live pictures; stills get ink instead). `plotter`: draw into this one instead of
    a new off-screen one.
    """

    def __init__(self, size: tuple[int, int] = (1280, 800), *, edges: bool = False, plotter: pv.Plotter | None = None) -> None:
        self.plotter = pv.Plotter(off_screen=True, window_size=list(size), lighting="none") if plotter is None else plotter
        self.edges = edges
        self.frame: Frame | None = None
        self.window: Any = self.plotter.render_window
        self.renderer: Any = self.plotter.renderer
        self.window.SetMultiSamples(0)
        self.plotter.set_background(tuple(c / 255 for c in palette.GROUND))
        for position, intensity in LIGHTS:
            self.plotter.add_light(pv.Light(position=position, light_type="camera light", intensity=intensity))
        self._staged: dict[str, _Staged] = {}
        self._trails: tuple[vtkActor, ...] = ()
        self._trail_key: tuple[Trail, ...] = ()
        self._paint: list[tuple[str, vtkActor]] = []
        self._paint_key: tuple[Paint, ...] = ()
        self._over = vtkRenderer()  # trails once more, faint, in front of everything
        self._over.SetLayer(1)
        self._over.InteractiveOff()
        self._over.SetActiveCamera(self.plotter.camera)
        self.window.SetNumberOfLayers(2)
        self.window.AddRenderer(self._over)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the picture [pixel]."""
        width, height = self.window.GetSize()
        return int(width), int(height)

    def resize(self, size: tuple[int, int]) -> None:
        """Change the size of the picture [pixel]."""
        if self.size != tuple(size):
            self.window.SetSize(*size)

    def show(self, frame: Frame, *, camera: bool = True) -> None:
        """Bring the stage to this frame; `camera` False keeps the view a person has turned."""
        kept = [part for part in frame.shown if not meshes.taken_away(part, frame.cut)]
        wanted = {part.name for part in kept}
        for name in [n for n in self._staged if n not in wanted]:
            self._drop(name)
        for part in kept:
            self._place(part, frame)
        if frame.trails != self._trail_key:
            self._draw_trails(frame)
        if frame.paint != self._paint_key:
            self._draw_paint(frame)
        if camera:
            self.look(frame.camera)
        self.frame = frame
        self._clip()

    def look(self, camera: Camera, pan: tuple[float, float] = (0.0, 0.0), zoom: float = 1.0) -> None:
        """Point the camera; `pan` shifts the picture by half widths and heights, `zoom` enlarges it about its middle."""
        view = self.plotter.camera
        view.SetPosition(*camera.position)
        view.SetFocalPoint(*camera.focus)
        view.SetViewUp(*camera.up)
        view.SetViewAngle(float(np.degrees(2.0 * np.arctan(np.tan(np.radians(camera.angle) / 2.0) / zoom))))
        view.SetWindowCenter(-pan[0], -pan[1])
        self._clip()

    def fit(self, camera: Camera, free: Box, names: Iterable[str] | None = None, also: NDArray[np.float64] | None = None) -> bool:
        """Look from `camera`, shifted and enlarged so that parts fill the free rectangle (left, top, right, bottom) [pixel].

        Without `names` all parts are meant, but no more of them than the camera itself takes in, at 3 wide to 2 high: one that was
        moved in close stays close; of a blocked way what must be seen fills it. `also`: points (n, 3) [mm] that shall be seen too.
        True when parts then run out of the rectangle.
        """
        self.look(camera)
        width, height = self.size
        middle = np.array([width, height]) / 2.0
        way = self.frame.blocked if self.frame is not None and names is None else None
        seen = self.corners(names) if way is None else np.array(way.seen)
        spread = self.project(seen if also is None else np.concatenate([seen, also]))
        low, high = spread.min(axis=0), spread.max(axis=0)
        close = way is not None
        if close:
            low, high = low - WAY_MARGIN * (high - low), high + WAY_MARGIN * (high - low)
        if names is None and way is None:
            reach = np.array([FIELD_ASPECT, 1.0]) * height / 2.0
            close = bool((low < middle - FIELD_SLACK * reach).any() or (high > middle + FIELD_SLACK * reach).any())
            if close and (low < middle + reach).all() and (high > middle - reach).all():
                low, high = np.maximum(low, middle - reach), np.minimum(high, middle + reach)
        zoom = float(np.min((np.array(free[2:]) - np.array(free[:2])) / np.maximum(high - low, 1.0)))
        zoom = float(np.clip(zoom, *ZOOM))
        centre = ((low + high) / 2.0 - middle) * zoom + middle
        shift = (np.array([free[0] + free[2], free[1] + free[3]]) / 2.0 - centre) / middle
        self.look(camera, (float(shift[0]), float(-shift[1])), zoom)
        return close

    def corners(self, names: Iterable[str] | None = None) -> NDArray[np.float64]:
        """The corners of the boxes of the named parts (None = all) in the reducer's frame, shape (n, 3) [mm]."""
        points = [np.zeros((0, 3))]
        for name in self._staged if names is None else names:
            staged = self._staged.get(name)
            body = staged.actors.get("body") if staged else None
            if body is not None:
                x0, x1, y0, y1, z0, z1 = body.GetBounds()
                points.append(np.array([(x, y, z) for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)]))
        found = np.concatenate(points)
        return found if len(found) else np.zeros((1, 3))

    def project(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Where points of the reducer's frame [mm] fall in the picture: (x right, y down) [pixel], shape (n, 2)."""
        width, height = self.size
        matrix = self.plotter.camera.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
        full = np.array([[matrix.GetElement(i, j) for j in range(4)] for i in range(4)])
        homogeneous = np.column_stack([np.asarray(points, dtype=float).reshape(-1, 3), np.ones(np.size(points) // 3)]) @ full.T
        flat = homogeneous[:, :2] / homogeneous[:, 3:4]
        return np.stack([(flat[:, 0] + 1.0) * width / 2.0, (1.0 - flat[:, 1]) * height / 2.0], axis=1)

    def render(self) -> None:
        """Draw now."""
        self.window.Render()

    def image(self) -> NDArray[np.uint8]:
        """Draw and read the picture, shape (height, width, 3)."""
        self.render()
        return self._read()

    def part_map(self, only: Iterable[str] | None = None) -> PartMap:
        """Draw and read which part each pixel shows; `only` leaves all other parts away."""
        with self._numbered(only) as names:
            self.render()
            pixels = self._read()
        number = pixels[..., 0].astype(np.int16) + (pixels[..., 1].astype(np.int16) << 8)
        return PartMap(number - np.int16(1), pixels[..., 2] == CAP_ID, names)

    def depth(self) -> NDArray[np.float32]:
        """The raw depth of the picture drawn last, 0 near to 1 far and ground; even on any plane, so its curvature shows edges."""
        width, height = self.size
        data = vtkFloatArray()
        self.window.GetZbufferData(0, 0, width - 1, height - 1, data)
        flat: NDArray[np.float32] = vtk_to_numpy(data).reshape(height, width)
        return flat[::-1]

    def clipping(self) -> tuple[float, float]:
        """Distances of the nearest and farthest depth the picture holds [mm]."""
        near, far = self.plotter.camera.GetClippingRange()
        return float(near), float(far)

    def focal_pixels(self) -> float:
        """How many pixels one radian covers in the middle of the picture."""
        return float(self.size[1] / 2.0 / np.tan(np.radians(self.plotter.camera.GetViewAngle()) / 2.0))

    def fade(self, names: Iterable[str]) -> None:
        """Draw parts in the pale tint of the waiting for one picture; the next `show` brings the true colours back."""
        roles = {part.name: part.role for part in self.frame.shown} if self.frame else {}
        for name in names:
            self._colour(self._staged[name], palette.waiting(palette.role(roles[name])), True)

    def hide(self, names: Iterable[str]) -> None:
        """Show all parts but these."""
        gone = set(names)
        for name, staged in self._staged.items():
            for actor in staged.actors.values():
                actor.SetVisibility(name not in gone)
        for name, actor in self._paint:
            actor.SetVisibility(name not in gone)
        self._show_trails(not gone)
        self._clip()

    def show_edges(self, on: bool) -> None:
        """Switch the edge lines: off while something is dragged, on when it rests."""
        for staged in self._staged.values():
            if "edges" in staged.actors:
                staged.actors["edges"].SetVisibility(on)

    def close(self) -> None:
        """Give the window back."""
        self._staged.clear()
        self.plotter.close()

    # -- one part -----------------------------------------------------------------------------------------------

    def _place(self, part: Shown, frame: Frame) -> None:
        key = meshes.key_of(part, frame.cut)
        staged = self._staged.get(part.name)
        if staged is None or staged.key != key:
            self._drop(part.name)
            staged = self._staged[part.name] = self._build(part, key, frame.cut)
        pose = np.ascontiguousarray(part.pose, dtype=float)
        if staged.pose != pose.tobytes():
            matrix = vtkMatrix4x4()
            matrix.DeepCopy(pose.ravel().tolist())
            for actor in staged.actors.values():
                actor.SetUserMatrix(matrix)
            staged.pose = pose.tobytes()
        self._colour(staged, colour_of(part, frame), part.state == "waiting" and part.temperature is None)

    def _build(self, part: Shown, key: meshes.MeshKey, plane: CutPlane | None) -> _Staged:
        mesh = meshes.load(part, plane)
        staged = _Staged(key)
        if mesh.body is not None:
            body = staged.actors["body"] = self._actor(mesh.body)
            body.GetProperty().BackfaceCullingOn()  # a solid's inside is never seen, and a cut is closed by its cap
        if mesh.cap is not None:
            staged.actors["cap"] = self._plain(self._actor(mesh.cap))
        lines = meshes.edges(part, plane) if self.edges else None
        if lines is not None:
            edge = staged.actors["edges"] = self._plain(self._actor(lines), palette.INK)
            edge.GetProperty().SetLineWidth(EDGE_WIDTH)
            edge.GetMapper().SetResolveCoincidentTopologyToPolygonOffset()
            edge.GetMapper().SetRelativeCoincidentTopologyLineOffsetParameters(-1.0, -1.0)
        return staged

    def _actor(self, mesh: pv.PolyData, renderer: vtkRenderer | None = None) -> vtkActor:
        mapper = vtkPolyDataMapper()
        mapper.SetInputData(mesh)
        mapper.ScalarVisibilityOff()
        actor = vtkActor()
        actor.SetMapper(mapper)
        surface = actor.GetProperty()
        surface.SetAmbient(AMBIENT)
        surface.SetDiffuse(DIFFUSE)
        surface.SetSpecular(0.0)
        surface.SetInterpolationToPhong()
        (self.plotter.renderer if renderer is None else renderer).AddActor(actor)
        return actor

    @staticmethod
    def _plain(actor: vtkActor, colour: palette.Rgb | None = None) -> vtkActor:
        """No light: the picture shows exactly the colour given."""
        surface = actor.GetProperty()
        surface.SetLighting(False)
        surface.SetAmbient(0.0)
        surface.SetDiffuse(1.0)
        if colour is not None:
            surface.SetColor(*(c / 255 for c in colour))
        return actor

    def _colour(self, staged: _Staged, colour: palette.Rgb, pale: bool) -> None:
        if (staged.colour, staged.pale) == (colour, pale):
            return
        staged.colour, staged.pale = colour, pale
        body = staged.actors.get("body")
        if body is not None:
            body.GetProperty().SetAmbient(PALE_AMBIENT if pale else AMBIENT)
            body.GetProperty().SetDiffuse(PALE_DIFFUSE if pale else DIFFUSE)
        for layer, actor in staged.actors.items():
            if layer == "edges":
                continue
            painted = palette.mix(colour, palette.GROUND, palette.CAP_WHITE) if layer == "cap" else colour
            actor.GetProperty().SetColor(*(c / 255 for c in painted))

    def _drop(self, name: str) -> None:
        staged = self._staged.pop(name, None)
        for actor in staged.actors.values() if staged else ():
            self.plotter.renderer.RemoveActor(actor)

    def _draw_trails(self, frame: Frame) -> None:
        for renderer, actor in zip((self.renderer, self._over), self._trails, strict=False):
            renderer.RemoveActor(actor)
        self._trails = ()
        self._trail_key = frame.trails
        distance = float(np.linalg.norm(np.subtract(frame.camera.position, frame.camera.focus)))
        strokes = dash_dot(frame.trails, distance * np.radians(frame.camera.angle) / 900.0)
        if not len(strokes):
            return
        lines = np.column_stack([np.full(len(strokes), 2), np.arange(2 * len(strokes)).reshape(-1, 2)]).ravel()
        mesh = pv.PolyData(strokes.reshape(-1, 3).astype(np.float32), lines=lines)
        self._trails = (self._actor(mesh), self._actor(mesh, self._over))
        for actor in self._trails:
            self._plain(actor, palette.ACCENT)
            actor.GetProperty().SetLineWidth(max(1.5, self.size[1] / 600.0))
        self._trails[1].GetProperty().SetOpacity(TRAIL_OPACITY)

    def _draw_paint(self, frame: Frame) -> None:
        for _, actor in self._paint:
            self.renderer.RemoveActor(actor)
        self._paint_key, self._paint = frame.paint, []
        for paint in frame.paint:
            mesh = pv.PolyData.from_regular_faces(paint.vertices.astype(np.float32), paint.faces)
            mesh.point_data.active_normals = paint.normals.astype(np.float32)
            whole, bare = (palette.COMPOUND, palette.METAL) if paint.kind == "compound" else (palette.MATCH, palette.MATCH)
            mesh.point_data["colour"] = (np.array(bare) + np.outer(paint.values, np.subtract(whole, bare))).astype(np.uint8)
            mesh.point_data.active_scalars_name = "colour"
            actor = self._actor(mesh)
            actor.GetMapper().ScalarVisibilityOn()
            actor.GetMapper().SetResolveCoincidentTopologyToPolygonOffset()
            actor.GetMapper().SetRelativeCoincidentTopologyPolygonOffsetParameters(-1.0, -1.0)
            self._paint.append((paint.part, actor))

    def _show_trails(self, on: bool) -> None:
        for actor in self._trails:
            actor.SetVisibility(on)

    # -- the window ---------------------------------------------------------------------------------------------

    def _clip(self) -> None:
        """Near and far plane about all parts; what is all but at the eye is left out, or depth would grow too coarse for lines."""
        self.plotter.renderer.ResetCameraClippingRange()
        view = self.plotter.camera
        near, far = view.GetClippingRange()
        view.SetClippingRange(max(near, min(NEAREST * view.GetDistance(), 0.5 * far)), far)

    def _read(self) -> NDArray[np.uint8]:
        width, height = self.size
        data = vtkUnsignedCharArray()
        self.window.GetPixelData(0, 0, width - 1, height - 1, 0, data, 0)
        flat: NDArray[np.uint8] = vtk_to_numpy(data).reshape(height, width, 3)
        return flat[::-1]

    @contextlib.contextmanager
    def _numbered(self, only: Iterable[str] | None) -> Iterator[tuple[str, ...]]:
        """Every part in a flat colour that spells its number, on black; all is put back afterwards."""
        names = tuple(self._staged)
        wanted = set(names if only is None else only)
        kept: list[tuple[vtkActor, tuple[Any, ...]]] = []
        renderer = self.plotter.renderer
        for index, name in enumerate(names):
            for layer, actor in self._staged[name].actors.items():
                surface = actor.GetProperty()
                look = surface.GetColor(), surface.GetLighting(), surface.GetAmbient(), surface.GetDiffuse(), actor.GetVisibility()
                kept.append((actor, look))
                self._plain(actor)
                surface.SetColor(((index + 1) & 255) / 255, ((index + 1) >> 8) / 255, CAP_ID / 255 if layer == "cap" else 0.0)
                actor.SetVisibility(bool(actor.GetVisibility()) and name in wanted and layer != "edges")
        trails = bool(self._trails) and bool(self._trails[0].GetVisibility())
        painted = [actor for _, actor in self._paint if actor.GetVisibility()]
        for actor in painted:
            actor.SetVisibility(False)
        self._show_trails(False)
        self._over.SetPreserveDepthBuffer(True)  # else the empty upper layer would wipe the depth
        ground = renderer.GetBackground()
        renderer.SetBackground(0.0, 0.0, 0.0)
        try:
            yield names
        finally:
            renderer.SetBackground(*ground)
            self._over.SetPreserveDepthBuffer(False)
            self._show_trails(trails)
            for actor in painted:
                actor.SetVisibility(True)
            for actor, (colour, lighting, ambient, diffuse, visible) in kept:
                surface = actor.GetProperty()
                surface.SetColor(*colour)
                surface.SetLighting(lighting)
                surface.SetAmbient(ambient)
                surface.SetDiffuse(diffuse)
                actor.SetVisibility(visible)
