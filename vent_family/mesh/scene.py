"""Scenes of solids and meshes, rendered off screen to PNG images in memory; no files."""

from __future__ import annotations

import ctypes.util
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import cadquery as cq
import numpy as np
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  registers the off-screen renderer
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkCommonDataModel import vtkPolyData
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLightKit,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

from vent_family.base.arrays import FloatArray

Rgb = tuple[float, float, float]
# VTK's helpers carry no types.
_from_vtk: Final[Any] = vtk_to_numpy

if sys.platform == "linux" and not os.environ.get("DISPLAY") and ctypes.util.find_library("EGL"):
    # Without a display VTK would first try one, wait and complain.
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

_EDGE: Rgb = (0.13, 0.13, 0.15)
_ZOOM: Final = 1.12
"""How much closer than VTK's own fit a picture is taken."""
_BACKGROUND: Rgb = (1.0, 1.0, 1.0)


@dataclass(frozen=True, eq=False)
class View:
    """A parallel view of a stretch of space; where each point lies in the picture is known.

    Attributes
    ----------
    towards, right, up : (3,) arrays
        Unit vectors (1) towards the viewer, to the right and up in the picture.
    low_mm, high_mm : (2,) arrays
        Lower left and upper right corner of the picture, mm along right and up.
    """

    towards: FloatArray
    right: FloatArray
    up: FloatArray
    low_mm: FloatArray
    high_mm: FloatArray

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of what is seen, mm."""
        width, height = self.high_mm - self.low_mm
        return float(width), float(height)

    def flat_mm(self, points: FloatArray) -> FloatArray:
        """Return points (n, 3), mm, in the picture: (n, 2), mm from its lower left corner."""
        return np.asarray(points @ np.stack([self.right, self.up], axis=1) - self.low_mm)

    def aim(self, renderer: vtkRenderer) -> None:
        """Light a scene and look at this part of it; the window must have the view's shape."""
        vtkLightKit().AddLightsToRenderer(renderer)
        across, along = 0.5 * (self.low_mm + self.high_mm)
        centre = across * self.right + along * self.up
        camera = renderer.GetActiveCamera()
        camera.ParallelProjectionOn()
        camera.SetFocalPoint(*centre)
        camera.SetPosition(*(centre + 1e3 * self.towards))
        camera.SetViewUp(*self.up)
        camera.SetParallelScale(0.5 * self.size_mm[1])
        renderer.ResetCameraClippingRange()


def view_of(
    points: FloatArray, towards: tuple[float, float, float], margin_mm: float = 0.0
) -> View:
    """Return the view that just holds points (n, 3), mm, with z upwards and a margin around them.

    ``towards`` points to the viewer, of any length (1), not straight up.

    Examples
    --------
    A box of 4 x 2 x 3 mm seen from the front:

    >>> box = np.array([[x, y, z] for x in (0.0, 4.0) for y in (0.0, 2.0) for z in (0.0, 3.0)])
    >>> view = view_of(box, (0.0, -5.0, 0.0), 1.0)
    >>> view.size_mm
    (6.0, 5.0)
    >>> view.flat_mm(np.array([[4.0, 1.0, 3.0]])).tolist()
    [[5.0, 4.0]]
    """
    ahead = np.array(towards) / np.linalg.norm(towards)
    right = np.cross([0.0, 0.0, 1.0], ahead)
    right /= np.linalg.norm(right)
    up = np.cross(ahead, right)
    flat = points @ np.stack([right, up], axis=1)
    return View(ahead, right, up, flat.min(axis=0) - margin_mm, flat.max(axis=0) + margin_mm)


@dataclass(frozen=True, eq=False)
class Scene:
    """A window off screen with everything in it, not yet rendered.

    ``layered`` scenes draw translucent bodies layer by layer and are read back as they were
    rendered; others are rendered once more for the image.
    """

    window: vtkRenderWindow
    layered: bool = False

    def pixels(self) -> NDArray[np.uint8]:
        """Render the scene and return its pixels (rows from the top, columns, 3)."""
        data = self._image().GetOutput()
        columns, rows, _ = data.GetDimensions()
        flat: NDArray[np.uint8] = _from_vtk(data.GetPointData().GetScalars())
        return flat.reshape(rows, columns, -1)[::-1, :, :3].copy()

    def _image(self) -> vtkWindowToImageFilter:
        self.window.Render()
        image = vtkWindowToImageFilter()
        image.SetInput(self.window)
        if self.layered:
            image.ReadFrontBufferOff()
            image.ShouldRerenderOff()
        image.Update()
        return image

    def png(self) -> bytes:
        """Render the scene and return it as a PNG image."""
        image = self._image()
        writer = vtkPNGWriter()
        writer.SetInputConnection(image.GetOutputPort())
        writer.WriteToMemoryOn()
        writer.Write()
        return bytes(memoryview(writer.GetResult()))


def shapes_scene(
    shapes: Sequence[tuple[cq.Shape, Rgb]],
    *,
    direction: tuple[float, float, float] = (0.55, 0.42, 1.0),
    up: tuple[float, float, float] = (0.0, 1.0, 0.0),
    size_px: tuple[int, int] = (900, 700),
    chord_mm: float = 0.05,
) -> Scene:
    """Return shapes, each with its colour (sRGB, 0 to 1), in parallel projection.

    ``direction`` points from the part towards the viewer and ``up`` upwards in the picture, both
    of any length (1); ``chord_mm`` (mm) is how far the drawn
    facets may lie from the faces.
    """
    renderer = vtkRenderer()
    renderer.SetBackground(*_BACKGROUND)
    for shape, colour in shapes:
        for actor in _actors(shape.copy(), colour, chord_mm):
            renderer.AddActor(actor)
    _aim(renderer, direction, up)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(8)
    window.SetSize(*size_px)
    window.AddRenderer(renderer)
    return Scene(window)


def _aim(
    renderer: vtkRenderer,
    direction: tuple[float, float, float],
    up: tuple[float, float, float],
) -> None:
    """Light the scene and look at all of it from ``direction``, in parallel projection.

    ``direction`` points towards the viewer and ``up`` upwards, both of any length (1).
    """
    vtkLightKit().AddLightsToRenderer(renderer)
    camera = renderer.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetFocalPoint(0.0, 0.0, 0.0)
    camera.SetPosition(*direction)
    camera.SetViewUp(*up)
    renderer.ResetCamera()
    camera.Zoom(_ZOOM)


def _actors(shape: cq.Shape, colour: Rgb, chord_mm: float) -> list[vtkActor]:
    """Return the faces' and the edges' actors of one shape."""
    data: vtkPolyData = shape.toVtkPolyData(chord_mm, 0.3, True)
    normals = vtkPolyDataNormals()
    normals.SetInputData(data)
    normals.SetFeatureAngle(25.0)
    faces = vtkPolyDataMapper()
    faces.SetInputConnection(normals.GetOutputPort())
    faces.ScalarVisibilityOff()
    # Pushed back a little, so that the edge lines are not broken by their own faces.
    faces.SetResolveCoincidentTopologyToPolygonOffset()
    faces.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)
    skin = vtkActor()
    skin.SetMapper(faces)
    skin.GetProperty().SetColor(*colour)
    lines = vtkPolyDataMapper()
    lines.SetInputData(_lines_only(data))
    lines.ScalarVisibilityOff()
    edges = vtkActor()
    edges.SetMapper(lines)
    edges.GetProperty().SetColor(*_EDGE)
    edges.GetProperty().SetLineWidth(1.0)
    edges.GetProperty().LightingOff()
    return [skin, edges]


def _lines_only(data: vtkPolyData) -> vtkPolyData:
    result = vtkPolyData()
    result.SetPoints(data.GetPoints())
    result.SetLines(data.GetLines())
    return result
