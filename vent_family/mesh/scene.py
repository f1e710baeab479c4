"""Views of meshes, and what a graphics library renders of them off screen, in memory."""

from __future__ import annotations

import ctypes.util
import os
import sys
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  registers the off-screen renderer
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import vtk_to_numpy
from vtkmodules.vtkRenderingCore import (
    vtkLightKit,
    vtkRenderer,
    vtkRenderWindow,
    vtkWindowToImageFilter,
)

from vent_family.base.arrays import FloatArray

# VTK's helpers carry no types.
_from_vtk: Final[Any] = vtk_to_numpy

if sys.platform == "linux" and not os.environ.get("DISPLAY") and ctypes.util.find_library("EGL"):
    # Without a display VTK would first try one, wait and complain.
    os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


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


def pixels_of(window: vtkRenderWindow) -> NDArray[np.uint8]:
    """Render a window off screen and return its pixels (rows from the top, columns, 3).

    They are read back as they were rendered, not rendered once more.
    """
    window.Render()
    image = vtkWindowToImageFilter()
    image.SetInput(window)
    image.ReadFrontBufferOff()
    image.ShouldRerenderOff()
    image.Update()
    data = image.GetOutput()
    columns, rows, _ = data.GetDimensions()
    flat: NDArray[np.uint8] = _from_vtk(data.GetPointData().GetScalars())
    return flat.reshape(rows, columns, -1)[::-1, :, :3].copy()
