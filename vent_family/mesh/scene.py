"""Scenes of solids and meshes, rendered off screen to PNG images in memory; no files."""

from __future__ import annotations

import ctypes.util
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cadquery as cq
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  registers the off-screen renderer
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

Rgb = tuple[float, float, float]

if sys.platform == "linux" and not os.environ.get("DISPLAY") and ctypes.util.find_library("EGL"):
    # Without a display VTK would first try one, wait and complain.
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

_EDGE: Rgb = (0.13, 0.13, 0.15)
ZOOM: Final = 1.12
"""How much closer than VTK's own fit a picture is taken."""
_BACKGROUND: Rgb = (1.0, 1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Scene:
    """A window off screen with everything in it, not yet rendered.

    ``layered`` scenes draw translucent bodies layer by layer and are read back as they were
    rendered; others are rendered once more for the image.
    """

    window: vtkRenderWindow
    layered: bool = False

    def png(self) -> bytes:
        """Render the scene and return it as a PNG image."""
        self.window.Render()
        image = vtkWindowToImageFilter()
        image.SetInput(self.window)
        if self.layered:
            image.ReadFrontBufferOff()
            image.ShouldRerenderOff()
        image.Update()
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
    aim(renderer, direction, up, ZOOM)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(8)
    window.SetSize(*size_px)
    window.AddRenderer(renderer)
    return Scene(window)


def aim(
    renderer: vtkRenderer,
    direction: tuple[float, float, float],
    up: tuple[float, float, float],
    zoom: float,
) -> None:
    """Light the scene and look at all of it from ``direction``, in parallel projection.

    ``direction`` points towards the viewer and ``up`` upwards, both of any length (1); ``zoom`` is
    a ratio, above 1 nearer.
    """
    vtkLightKit().AddLightsToRenderer(renderer)
    camera = renderer.GetActiveCamera()
    camera.ParallelProjectionOn()
    camera.SetFocalPoint(0.0, 0.0, 0.0)
    camera.SetPosition(*direction)
    camera.SetViewUp(*up)
    renderer.ResetCamera()
    camera.Zoom(zoom)


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
