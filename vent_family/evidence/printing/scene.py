"""Picture of a part on the print bed with every bridge and overhang marked, off screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry import Polygon
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkPolyDataNormals
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTextActor,
)

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.printing.report import Printed
from vent_family.evidence.printing.supports import Finding, Kind, longest

# The module also registers the off-screen renderer, and picks one that needs no display.
from vent_family.mesh.scene import ZOOM, Scene, aim

Rgb = tuple[float, float, float]

# Told apart by colour-blind eyes and, by their brightness, in grey.
_COLOURS: Final[dict[Kind, Rgb]] = {
    "bridge": (0.00, 0.32, 0.62),
    "steep": (0.93, 0.68, 0.10),
    "ledge": (0.35, 0.70, 0.60),
    "overhang": (0.45, 0.00, 0.20),
    "floating": (0.45, 0.00, 0.20),
}
_WORDS: Final[dict[Kind, str]] = {
    "bridge": "bridges, longest",
    "steep": "steep places on half a bead, longest step",
    "ledge": "single short steps, longest",
    "overhang": "overhangs that NEED SUPPORTS, longest",
    "floating": "places that START IN MID-AIR",
}
_PART: Final[Rgb] = (0.80, 0.81, 0.83)
_LINE: Final[Rgb] = (0.45, 0.46, 0.48)
_BED: Final[Rgb] = (0.90, 0.91, 0.92)
_INK: Final[Rgb] = (0.10, 0.10, 0.12)
_MARGIN_MM: Final = 12.0
# VTK's helpers carry no types.
_to_vtk: Final[Any] = numpy_to_vtk
_to_vtk_ids: Final[Any] = numpy_to_vtkIdTypeArray


def print_scene(printed: Printed, title: str, size_px: tuple[int, int] = (1100, 640)) -> Scene:
    """Return two views of a part: from above, standing on the bed, and from below the bed.

    Every uncarried place is drawn through the translucent part; the longest bridge carries its
    span.
    """
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(0)
    window.SetAlphaBitPlanes(True)
    window.SetSize(*size_px)
    legend_height = 0.17
    views = (((0.75, -1.0, 0.55), "from above"), ((0.55, -0.75, -0.95), "from below the bed"))
    for i, (direction, caption) in enumerate(views):
        renderer = vtkRenderer()
        renderer.SetViewport(0.5 * i, legend_height, 0.5 * (i + 1), 1.0)
        renderer.SetBackground(1.0, 1.0, 1.0)
        renderer.SetUseDepthPeeling(True)
        renderer.SetMaximumNumberOfPeels(5)
        renderer.SetOcclusionRatio(0.02)
        for actor in _scene(printed, bed=i == 0):
            renderer.AddActor(actor)
        worst = longest(printed.findings, "bridge")
        if worst is not None:
            renderer.AddViewProp(_label(worst))
        aim(renderer, direction, (0.0, 0.0, 1.0), ZOOM if i == 0 else 1.0)
        words = _text(caption, 0, 0, 14)
        words.GetPositionCoordinate().SetCoordinateSystemToNormalizedViewport()
        words.GetPositionCoordinate().SetValue(0.02, 0.94)
        renderer.AddViewProp(words)
        window.AddRenderer(renderer)
    window.AddRenderer(_legend(printed, title, size_px, legend_height))
    return Scene(window, layered=True)


def _scene(printed: Printed, *, bed: bool) -> list[vtkActor]:
    body = _poly(printed.vertices, printed.triangles)
    normals = vtkPolyDataNormals()
    normals.SetInputData(body)
    normals.SetFeatureAngle(25.0)
    skin = _actor(normals, _PART)
    skin.GetProperty().SetOpacity(0.28)
    edges = vtkFeatureEdges()
    edges.SetInputData(body)
    edges.SetFeatureAngle(25.0)
    edges.BoundaryEdgesOff()
    edges.NonManifoldEdgesOff()
    edges.ColoringOff()
    lines = _actor(edges, _LINE)
    lines.GetProperty().SetLineWidth(0.8)
    lines.GetProperty().LightingOff()
    actors = [skin, lines]
    for kind, colour in _COLOURS.items():
        found = printed.of_kind(kind)
        if found:
            actors.append(_marks(found, colour, printed))
    if bed:
        actors.append(_bed(printed))
    return actors


def _marks(found: Sequence[Finding], colour: Rgb, printed: Printed) -> vtkActor:
    """Return all places of a kind as thin slabs at their layer's underside."""
    size = max(printed.size_mm)
    thick, wide = size * 0.006, size * 0.003
    points: list[FloatArray] = []
    cells: list[IntArray] = []
    count = 0
    for finding in found:
        region = finding.region.buffer(wide, quad_segs=1, join_style="mitre")
        for part in shapely.get_parts(region):
            if isinstance(part, Polygon):
                vertices, triangles = _slab(part, finding.z_mm, thick)
                points.append(vertices)
                cells.append(triangles + count)
                count += len(vertices)
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(_poly(np.concatenate(points), np.concatenate(cells)))
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
    actor.GetProperty().SetAmbient(0.55)
    actor.GetProperty().SetDiffuse(0.5)
    return actor


def _slab(polygon: Polygon, z: float, thick: float) -> tuple[FloatArray, IntArray]:
    """Return vertices (n, 3) and triangles (m, 3) of a flat slab under a polygon."""
    faces = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    corners = np.array([np.asarray(f.exterior.coords)[:3] for f in faces]).reshape(-1, 2)
    flat = np.arange(len(corners), dtype=np.int64).reshape(-1, 3)
    n = len(corners)
    top = np.column_stack([corners, np.full(n, z + thick)])
    low = np.column_stack([corners, np.full(n, z - thick)])
    points, triangles = [top, low], [flat, flat[:, ::-1] + n]
    base = 2 * n
    for ring in (polygon.exterior, *polygon.interiors):
        a = np.asarray(ring.coords)
        k = len(a)
        points += [
            np.column_stack([a, np.full(k, z + thick)]),
            np.column_stack([a, np.full(k, z - thick)]),
        ]
        i = np.arange(k - 1)
        triangles.append(np.column_stack([base + i, base + i + 1, base + k + i]))
        triangles.append(np.column_stack([base + i + 1, base + k + i + 1, base + k + i]))
        base += 2 * k
    return np.concatenate(points), np.concatenate(triangles).astype(np.int64)


def _bed(printed: Printed) -> vtkActor:
    low = printed.vertices.min(axis=0) - _MARGIN_MM
    high = printed.vertices.max(axis=0) + _MARGIN_MM
    z = -0.3
    corners = np.array(
        [(low[0], low[1], z), (high[0], low[1], z), (high[0], high[1], z), (low[0], high[1], z)]
    )
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(_poly(corners, np.array([[0, 1, 2], [0, 2, 3]])))
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*_BED)
    actor.GetProperty().LightingOff()
    return actor


def _label(worst: Finding) -> vtkTextActor:
    """Return the span of a bridge as text drawn over everything, at the bridge."""
    label = _text(f"{worst.span_mm:.1f} mm", 0, 0, 15, bold=True)
    point = worst.region.representative_point()
    label.GetPositionCoordinate().SetCoordinateSystemToWorld()
    label.GetPositionCoordinate().SetValue(point.x, point.y, worst.z_mm)
    style = label.GetTextProperty()
    style.SetBackgroundColor(1.0, 1.0, 1.0)
    style.SetBackgroundOpacity(0.85)
    style.SetFrame(True)
    style.SetFrameColor(*_COLOURS["bridge"])
    return label


def _legend(printed: Printed, title: str, size_px: tuple[int, int], height: float) -> vtkRenderer:
    renderer = vtkRenderer()
    renderer.SetViewport(0.0, 0.0, 1.0, height)
    renderer.SetBackground(1.0, 1.0, 1.0)
    top = int(size_px[1] * height)
    renderer.AddViewProp(_text(title, 14, top - 26, 17, bold=True))
    y = top - 50
    for kind, colour in _COLOURS.items():
        found = printed.of_kind(kind)
        if not found:
            continue
        words = f"{len(found)} {_WORDS[kind]}"
        if kind != "floating":
            words += f" {printed.worst_mm(kind):.2f} mm"
        # A word in its own background colour: a plain filled box.
        swatch = _text("##", 14, y, 15)
        swatch.GetTextProperty().SetColor(*colour)
        swatch.GetTextProperty().SetBackgroundColor(*colour)
        swatch.GetTextProperty().SetBackgroundOpacity(1.0)
        renderer.AddViewProp(swatch)
        renderer.AddViewProp(_text(words, 52, y, 15))
        y -= 22
    return renderer


def _text(words: str, x: int, y: int, size: int, *, bold: bool = False) -> vtkTextActor:
    actor = vtkTextActor()
    actor.SetInput(words)
    actor.SetDisplayPosition(x, y)
    style = actor.GetTextProperty()
    style.SetFontSize(size)
    style.SetBold(bold)
    style.SetColor(*_INK)
    return actor


def _actor(source: vtkPolyDataNormals | vtkFeatureEdges, colour: Rgb) -> vtkActor:
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(source.GetOutputPort())
    mapper.ScalarVisibilityOff()
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
    return actor


def _poly(vertices: FloatArray, triangles: IntArray) -> vtkPolyData:
    points = vtkPoints()
    points.SetData(_to_vtk(np.ascontiguousarray(vertices, dtype=np.float64), deep=True))
    cells = vtkCellArray()
    offsets = np.arange(0, 3 * len(triangles) + 1, 3)
    cells.SetData(
        _to_vtk_ids(offsets.astype(np.int64), deep=True),
        _to_vtk_ids(np.ascontiguousarray(triangles).reshape(-1), deep=True),
    )
    data = vtkPolyData()
    data.SetPoints(points)
    data.SetPolys(cells)
    return data
