"""A part on the print bed, seen from above and from below, with every uncarried place marked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkFeatureEdges, vtkPolyDataNormals
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer, vtkRenderWindow

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.evidence.printing.report import Printed
from vent_family.evidence.printing.shades import shade_of
from vent_family.evidence.printing.supports import Finding

# The module also registers the off-screen renderer, and picks one that needs no display.
from vent_family.mesh.scene import View, pixels_of, view_of

Rgb = tuple[float, float, float]

_PART: Final[Rgb] = (0.78, 0.80, 0.83)
_LINE: Final[Rgb] = (0.52, 0.54, 0.57)
_BED: Final[Rgb] = (0.955, 0.945, 0.92)
_BED_LINE: Final[Rgb] = (0.80, 0.78, 0.73)
_OPACITY: Final = 0.11
BED_STEP_MM: Final = 10.0
"""Distance of the lines drawn on the bed."""
_BED_MARGIN_MM: Final = 3.0
_BELOW_MM: Final = 0.3
"""The bed is drawn so far below the part that both are told apart."""
_ROOM_MM: Final = 0.5
"""What is left free around the part in a view."""
_FINER: Final = 2
"""Pixels are rendered so many times finer than they are shown, so that lines come out smooth."""
VIEWS: Final = (((0.75, -1.0, 0.62), "from above"), ((0.55, -0.85, -0.80), "from below the bed"))
# VTK's helpers carry no types.
_to_vtk: Final[Any] = numpy_to_vtk
_to_vtk_ids: Final[Any] = numpy_to_vtkIdTypeArray


@dataclass(frozen=True, eq=False)
class ViewPixels:
    """One rendered view and where every point lies in it.

    ``pixels`` are (rows from the top, columns, 3), red, green and blue from 0 to 1 (1).
    """

    pixels: NDArray[np.float64]
    view: View


def views_of(printed: Printed) -> list[tuple[View, str]]:
    """Return the views that hold the part and, where it is seen, the bed under it."""
    (towards, above), (under, below) = VIEWS
    standing = np.concatenate([printed.vertices, _bed_corners(printed)])
    return [
        (view_of(standing, towards, _ROOM_MM), above),
        (view_of(printed.vertices, under, _ROOM_MM), below),
    ]


def rendered_view(printed: Printed, view: View, px_per_mm: float) -> ViewPixels:
    """Render one view of a part; every uncarried place is drawn through the translucent part.

    ``px_per_mm`` is the picture's scale, pixels per mm.
    """
    width, height = (max(1, round(side * px_per_mm)) for side in view.size_mm)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(0)
    window.SetAlphaBitPlanes(True)
    window.SetSize(_FINER * width, _FINER * height)
    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 1.0, 1.0)
    for actor in _actors(printed, view):
        renderer.AddActor(actor)
    view.aim(renderer)
    window.AddRenderer(renderer)
    fine = pixels_of(window) / 255.0
    grouped = fine.reshape(height, _FINER, width, _FINER, 3)
    return ViewPixels(grouped.mean(axis=(1, 3)), view)


def _actors(printed: Printed, view: View) -> list[vtkActor]:
    body = _poly(printed.vertices, printed.triangles)
    # The farthest triangle is blended in first. Peeling the skin off layer by layer looks the same
    # and takes four times as long.
    depth = printed.vertices[printed.triangles].sum(axis=1) @ view.towards
    normals = vtkPolyDataNormals()
    normals.SetInputData(
        _poly(printed.vertices, printed.triangles[np.argsort(depth, kind="stable")])
    )
    normals.SetFeatureAngle(25.0)
    skin = _actor(normals, _PART)
    skin.GetProperty().SetOpacity(_OPACITY)
    edges = vtkFeatureEdges()
    edges.SetInputData(body)
    edges.SetFeatureAngle(25.0)
    edges.BoundaryEdgesOff()
    edges.NonManifoldEdgesOff()
    edges.ColoringOff()
    lines = _actor(edges, _LINE)
    lines.GetProperty().SetLineWidth(1.2)
    lines.GetProperty().LightingOff()
    actors = [skin, lines, *(_bed(printed) if view.towards[2] > 0.0 else ())]
    by_colour: dict[str, list[Finding]] = {}
    for finding in printed.findings:
        by_colour.setdefault(shade_of(finding, printed).colour, []).append(finding)
    actors += [_marks(found, colour, printed) for colour, found in by_colour.items()]
    return actors


def _marks(found: Sequence[Finding], colour: str, printed: Printed) -> vtkActor:
    """Return places as thin slabs at their layers' undersides."""
    size = max(printed.size_mm)
    thick, wide = size * 0.004, size * 0.002
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
    actor = _filled(np.concatenate(points), np.concatenate(cells), _rgb(colour))
    actor.GetProperty().SetAmbient(0.65)
    actor.GetProperty().SetDiffuse(0.4)
    return actor


def _rgb(colour: str) -> Rgb:
    """Return a colour written as #rrggbb."""
    red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    return red, green, blue


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


def _bed_corners(printed: Printed) -> FloatArray:
    """Return the corners (4, 3) of the piece of bed under a part, mm."""
    (x0, y0, _), (x1, y1, _) = _bed_ends(printed)
    return np.array([(x, y, -_BELOW_MM) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])


def _bed_ends(printed: Printed) -> tuple[FloatArray, FloatArray]:
    low, high = printed.vertices.min(axis=0), printed.vertices.max(axis=0)
    return low - _BED_MARGIN_MM, high + _BED_MARGIN_MM


def _bed(printed: Printed) -> list[vtkActor]:
    """Return the bed under a part and its lines."""
    corners = _bed_corners(printed)
    (x0, y0, z), (x1, y1, _) = corners[0], corners[2]

    def steps(low: float, high: float) -> FloatArray:
        return np.arange(math.ceil(low / BED_STEP_MM), high / BED_STEP_MM) * BED_STEP_MM

    ends = [((x, y0, z), (x, y1, z)) for x in (x0, *steps(x0, x1), x1)]
    ends += [((x0, y, z), (x1, y, z)) for y in (y0, *steps(y0, y1), y1)]
    data = vtkPolyData()
    data.SetPoints(_points(np.array(ends).reshape(-1, 3)))
    data.SetLines(_cells(np.arange(2 * len(ends)).reshape(-1, 2)))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    lines = vtkActor()
    lines.SetMapper(mapper)
    lines.GetProperty().SetColor(*_BED_LINE)
    lines.GetProperty().SetLineWidth(1.6)
    lines.GetProperty().LightingOff()
    below = corners - np.array([0.0, 0.0, 0.05])
    board = _filled(below, np.array([[0, 1, 2], [0, 2, 3]]), _BED)
    board.GetProperty().LightingOff()
    return [board, lines]


def _filled(points: FloatArray, triangles: IntArray, colour: Rgb) -> vtkActor:
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(_poly(points, triangles))
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
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
    data = vtkPolyData()
    data.SetPoints(_points(vertices))
    data.SetPolys(_cells(triangles))
    return data


def _points(points: FloatArray) -> vtkPoints:
    found = vtkPoints()
    found.SetData(_to_vtk(np.ascontiguousarray(points, dtype=np.float64), deep=True))
    return found


def _cells(corners: IntArray) -> vtkCellArray:
    """Return cells (n, k) given by the numbers of their corners."""
    count, each = corners.shape
    cells = vtkCellArray()
    offsets = np.arange(0, each * count + 1, each)
    cells.SetData(
        _to_vtk_ids(offsets.astype(np.int64), deep=True),
        _to_vtk_ids(np.ascontiguousarray(corners, dtype=np.int64).reshape(-1), deep=True),
    )
    return cells
