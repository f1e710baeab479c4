"""Pictures as a product page shows a part: studio light, soft shadow, a white ground.

Drawn by the graphics library: physically based shading under the light of a studio (a painted
sphere around everything), corners darkened by what is near them on the screen (ambient occlusion),
every pixel drawn several times finer than it is shown. The ground's shadow is reckoned here, from
the convex outlines that bodies throw away from many lights. Lengths mm, y upwards.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.spatial import ConvexHull
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkFiltersSources import vtkPlaneSource
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTexture,
)
from vtkmodules.vtkRenderingOpenGL2 import (
    vtkOpenGLRenderer,
    vtkRenderStepsPass,
    vtkSSAOPass,
)

from vent_family.base.arrays import FloatArray

# The module also registers the off-screen renderer, and picks one that needs no display.
from vent_family.mesh.scene import pixels_of
from vent_family.mesh.skin import Piece, Skin, skin_of

if TYPE_CHECKING:
    from PIL.Image import Image

CHORD_MM: Final = 0.03
ANGLE_RAD: Final = 0.12
"""Arcs are drawn in chords so short that none is seen."""
FINER: Final = 2
"""Pixels are drawn so many times finer than they are shown, so that edges come out smooth."""
_OPENING_RAD: Final = math.radians(14.0)
"""Angle under which the viewer sees a ball around everything: that of a long lens."""
_MARGIN: Final = 0.06
"""Share of the picture left free on each side."""
_UP: Final = np.array([0.0, 1.0, 0.0])

# The studio: what its painted sphere sends, as multiples of what white paper sends (1).
_SKY: Final = 0.70
_GROUND: Final = 0.45
_LAMP: Final = 6.0
_LAMP_WIDTH: Final = 0.06
_FILL: Final = 0.35
_FILL_WIDTH: Final = 0.12
"""Lamp and fill fade with one less the cosine (1) of the angle to their middles, over so much."""
_STUDIO_PX: Final = (64, 128)
_ROUGHNESS: Final = 0.5
_REFRACTION: Final = 1.35
"""Index of refraction: lower than plastic's, since printed faces have no gloss."""

# Ambient occlusion, as shares of half the diagonal of everything.
_NEAR: Final = 0.22
_BIAS: Final = 0.01
"""Below a hundredth, faces darken themselves in stripes."""
_SAMPLES: Final = 64

_SHADOW_PX: Final = 384
_SHADOW_SPAN: Final = 4.0
"""Side of the piece of ground that is drawn, in radii of everything."""
_SHADOW: Final = 0.55
"""How much of the ground's shadow is shown (1)."""
_SKY_LIGHTS: Final = 64
_LAMP_LIGHTS: Final = 48
_LAMP_HALF_RAD: Final = math.radians(16.0)

# VTK's helpers carry no types.
_to_vtk: Final[Any] = numpy_to_vtk
_to_vtk_ids: Final[Any] = numpy_to_vtkIdTypeArray


@dataclass(frozen=True, eq=False)
class Camera:
    """A viewer with a long lens, shifted so that what is seen fills the picture.

    Attributes
    ----------
    eye_mm, aim_mm : (3,) arrays
        Where the viewer is and what is looked at, mm.
    towards, right, up : (3,) arrays
        Unit vectors (1) to the viewer, to the right and up in the picture.
    half : tuple of float
        Tangents (1) of half the angles seen, across and up.
    shift : tuple of float
        Where the picture's middle lies off the line of sight, in halves of its sides (1).
    radius_mm : float
        Radius of a ball around everything, mm.
    """

    eye_mm: FloatArray
    aim_mm: FloatArray
    towards: FloatArray
    right: FloatArray
    up: FloatArray
    half: tuple[float, float]
    shift: tuple[float, float]
    radius_mm: float

    def look(self, renderer: vtkRenderer) -> None:
        """Look at a scene from here."""
        camera = renderer.GetActiveCamera()
        camera.SetPosition(*self.eye_mm)
        camera.SetFocalPoint(*self.aim_mm)
        camera.SetViewUp(*_UP)
        camera.SetViewAngle(math.degrees(2.0 * math.atan(self.half[1])))
        camera.SetWindowCenter(*self.shift)
        renderer.ResetCameraClippingRange()


def camera_of(
    points: FloatArray, direction: tuple[float, float, float], size_px: tuple[int, int]
) -> Camera:
    """Return the viewer in a direction (1) who just sees points (n, 3), mm, in a picture (px)."""
    towards = np.array(direction) / np.linalg.norm(direction)
    right = np.cross(_UP, towards)
    right /= np.linalg.norm(right)
    up = np.cross(towards, right)
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    radius = float(np.linalg.norm(points - middle, axis=1).max())
    eye = middle + radius / math.sin(0.5 * _OPENING_RAD) * towards
    ways = points - eye
    flat = np.stack([ways @ right, ways @ up], axis=1) / -(ways @ towards)[:, None]
    low, high = flat.min(axis=0), flat.max(axis=0)
    size = np.array(size_px, dtype=np.float64)
    scale = float(((1.0 - 2.0 * _MARGIN) * size / (high - low)).min())
    half = 0.5 * size / scale
    shift = 0.5 * (low + high) / half
    return Camera(
        eye,
        middle,
        towards,
        right,
        up,
        (float(half[0]), float(half[1])),
        (float(shift[0]), float(shift[1])),
        radius,
    )


def spread(count: int, axis: FloatArray, half_rad: float) -> FloatArray:
    """Return unit vectors (count, 3) spread evenly within an angle (rad) around an axis (1).

    Examples
    --------
    Over a whole sphere they cancel one another:

    >>> bool(np.abs(spread(100, np.array([0.0, 1.0, 0.0]), math.pi).sum(axis=0)).max() < 1.0)
    True
    """
    side = _UP if abs(axis[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    right = np.cross(side, axis)
    right /= np.linalg.norm(right)
    up = np.cross(axis, right)
    step = np.arange(count) + 0.5
    along = 1.0 - (1.0 - math.cos(half_rad)) * step / count
    out = np.sqrt(np.maximum(1.0 - along * along, 0.0))
    # Turned by the golden section from one to the next.
    turn = math.pi * (1.0 + math.sqrt(5.0)) * step
    flat = (out * np.cos(turn))[:, None] * right + (out * np.sin(turn))[:, None] * up
    return np.asarray(flat + along[:, None] * axis)


def product_pixels(
    pieces: Sequence[Piece],
    *,
    direction: tuple[float, float, float],
    size_px: tuple[int, int],
    cut_x_mm: float | None = None,
    chord_mm: float = CHORD_MM,
) -> NDArray[np.uint8]:
    """Return the picture of some pieces on a white ground: (rows from the top, columns, 3).

    Parameters
    ----------
    pieces : sequence of Piece
        What is drawn; the lowest point stands on the ground, y is upwards.
    direction : tuple of float
        Towards the viewer, of any length (1), from above, but not straight down.
    size_px : tuple of int
        Columns and rows, px.
    cut_x_mm : float, optional
        Where the pieces have been cut open, if they have, mm (see :func:`skin_of`).
    chord_mm : float
        How far the drawn facets may lie from the faces, mm.

    Raises
    ------
    ValueError
        if ``chord_mm`` is not a positive number
    RuntimeError
        if the kernel could not mesh a shape
    """
    skins = [skin_of(piece, chord_mm, ANGLE_RAD, cut_x_mm) for piece in pieces]
    columns, rows = size_px
    camera = camera_of(np.concatenate([skin.points for skin in skins]), direction, size_px)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(0)
    window.SetSize(FINER * columns, FINER * rows)
    renderer = vtkOpenGLRenderer()
    window.AddRenderer(renderer)
    renderer.SetBackground(1.0, 1.0, 1.0)
    _light(renderer, camera)
    for skin in skins:
        renderer.AddActor(_actor(skin))
    renderer.AddActor(_ground(camera, [skin.points for skin in skins]))
    renderer.SetPass(_occlusion(np.concatenate([skin.points for skin in skins])))
    camera.look(renderer)
    fine = pixels_of(window).reshape(rows, FINER, columns, FINER, 3).astype(np.float64)
    window.Finalize()
    return np.asarray(fine.mean(axis=(1, 3)) + 0.5).astype(np.uint8)


def png(pixels: NDArray[np.uint8], most_bytes: int) -> bytes:
    """Return pixels (rows from the top, columns, 3) as a PNG image of at most so many bytes.

    What is larger as it is gets as many colours as bring it below, 256 or fewer, but 32 at least.
    """
    # Imported here: it takes a while to load.
    from PIL.Image import Dither, Quantize, fromarray

    picture = fromarray(pixels)
    data = _encoded(picture)
    # By how often colours occur; where that takes too many bytes, spread over all that occur, or
    # rare dark tones would lose theirs.
    ways = [(Quantize.MEDIANCUT, 256)]
    ways += [(Quantize.MAXCOVERAGE, count) for count in (256, 192, 160, 128, 96, 64, 48, 32)]
    for way, count in ways:
        if len(data) <= most_bytes:
            break
        data = _encoded(picture.quantize(count, way, kmeans=2, dither=Dither.NONE))
    return data


def _encoded(picture: Image) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, "png", optimize=True)
    return stream.getvalue()


def _lamp_way(camera: Camera) -> FloatArray:
    """Return the unit vector (1) to the lamp, above the viewer's left shoulder."""
    way = -0.60 * camera.right + 0.80 * _UP + 0.65 * camera.towards
    return np.asarray(way / np.linalg.norm(way))


def studio(camera: Camera) -> NDArray[np.float32]:
    """Return the studio's sphere, each pixel's light (1): rows from below, columns all round.

    The columns go from -x over -z, +x and +z back to -x.
    """
    rows, columns = _STUDIO_PX
    rise = ((np.arange(rows) + 0.5) / rows - 0.5) * math.pi
    turn = ((np.arange(columns) + 0.5) / columns - 0.5) * 2.0 * math.pi
    flat = np.cos(rise)[:, None]
    ways = np.stack(
        [
            flat * np.cos(turn),
            np.broadcast_to(np.sin(rise)[:, None], (rows, columns)),
            flat * np.sin(turn),
        ],
        axis=-1,
    )
    fill = 0.80 * camera.right + 0.25 * _UP + 0.70 * camera.towards
    light = np.where(ways[..., 1] > 0.0, _SKY * (1.0 + 0.25 * ways[..., 1]), _GROUND)
    light += _FILL * np.exp(-(1.0 - ways @ (fill / np.linalg.norm(fill))) / _FILL_WIDTH)
    light += _LAMP * np.exp(-(1.0 - ways @ _lamp_way(camera)) / _LAMP_WIDTH)
    return np.repeat(light[..., None], 3, axis=-1).astype(np.float32)


def _light(renderer: vtkOpenGLRenderer, camera: Camera) -> None:
    """Light a scene by the studio alone; its tables are as fine as so soft a light needs."""
    sphere = _texture(studio(camera))
    sphere.MipmapOn()
    renderer.AutomaticLightCreationOff()
    renderer.UseImageBasedLightingOn()
    renderer.UseSphericalHarmonicsOn()
    renderer.SetEnvironmentTexture(sphere, False)
    table = renderer.GetEnvMapLookupTable()
    table.SetLUTSize(128)
    table.SetLUTSamples(256)
    blurred = renderer.GetEnvMapPrefiltered()
    blurred.SetPrefilterLevels(4)
    blurred.SetPrefilterMaxSamples(64)


def _occlusion(points: FloatArray) -> vtkSSAOPass:
    half = 0.5 * float(np.linalg.norm(np.ptp(points, axis=0)))
    found = vtkSSAOPass()
    found.SetRadius(_NEAR * half)
    found.SetBias(_BIAS * half)
    found.SetKernelSize(_SAMPLES)
    found.BlurOn()
    found.SetDelegatePass(vtkRenderStepsPass())
    return found


def _actor(skin: Skin) -> vtkActor:
    data = vtkPolyData()
    points = vtkPoints()
    points.SetData(_to_vtk(np.ascontiguousarray(skin.points), deep=True))
    data.SetPoints(points)
    cells = vtkCellArray()
    starts = np.arange(0, skin.triangles.size + 1, 3)
    cells.SetData(
        _to_vtk_ids(starts, deep=True),
        _to_vtk_ids(np.ascontiguousarray(skin.triangles).reshape(-1), deep=True),
    )
    data.SetPolys(cells)
    normals = np.ascontiguousarray(skin.normals, dtype=np.float32)
    data.GetPointData().SetNormals(_to_vtk(normals, deep=True))
    # What the shader multiplies light with: shares of light, not as screens encode them.
    shares = np.rint(skin.colours * 255.0).astype(np.uint8)
    data.GetCellData().SetScalars(_to_vtk(shares, deep=True))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    mapper.SetColorModeToDirectScalars()
    actor = vtkActor()
    actor.SetMapper(mapper)
    look = actor.GetProperty()
    look.SetInterpolationToPBR()
    look.SetMetallic(0.0)
    look.SetRoughness(_ROUGHNESS)
    look.SetBaseIOR(_REFRACTION)
    return actor


def _ground(camera: Camera, bodies: Sequence[FloatArray]) -> vtkActor:
    """Return the piece of ground that everything stands on, with its shadow."""
    level = min(float(points[:, 1].min()) for points in bodies)
    side = _SHADOW_SPAN * camera.radius_mm
    corner = camera.aim_mm[[0, 2]] - 0.5 * side
    shade = _shade(camera, bodies, level, corner, side)
    # As screens encode it: the ground is drawn as it is, without light.
    bright = np.rint((1.0 - _SHADOW * shade) ** (1.0 / 2.2) * 255.0).astype(np.uint8)
    plane = vtkPlaneSource()
    plane.SetOrigin(corner[0], level, corner[1])
    plane.SetPoint1(corner[0] + side, level, corner[1])
    plane.SetPoint2(corner[0], level, corner[1] + side)
    mapper = vtkPolyDataMapper()
    mapper.SetInputConnection(plane.GetOutputPort())
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.SetTexture(_texture(np.repeat(bright[..., None], 3, axis=-1)))
    actor.GetProperty().LightingOff()
    return actor


def _shade(
    camera: Camera,
    bodies: Sequence[FloatArray],
    level_mm: float,
    corner_mm: FloatArray,
    side_mm: float,
) -> FloatArray:
    """Return the share (1) of light that bodies (mm) keep from a square of ground: z by x."""
    from PIL.Image import new
    from PIL.ImageDraw import Draw

    hulls = [points[ConvexHull(points).vertices] for points in bodies]
    total, whole = np.zeros((_SHADOW_PX, _SHADOW_PX)), 0.0
    for light, white in _lights(camera):
        picture = new("L", (_SHADOW_PX, _SHADOW_PX))
        for hull in hulls:
            fallen = hull - ((hull[:, 1] - level_mm) / light[1])[:, None] * light
            flat = (fallen[:, [0, 2]] - corner_mm) * (_SHADOW_PX / side_mm)
            ring = flat[ConvexHull(flat).vertices]
            Draw(picture).polygon([(float(x), float(z)) for x, z in ring], fill=1)
        total += white * np.asarray(picture, dtype=np.float64)
        whole += white
    soft = gaussian_filter(total / whole, 1.5)
    # Fading to nothing at the rim, beyond which the ground is white.
    way = np.abs(np.linspace(-1.0, 1.0, _SHADOW_PX))
    fade = np.clip((1.0 - way) / 0.4, 0.0, 1.0)
    return np.asarray(soft * np.minimum(fade[:, None], fade[None, :]))


def _lights(camera: Camera) -> Iterator[tuple[FloatArray, float]]:
    """Yield the directions (1) from which light falls on the ground, and how much it gets (1)."""
    for light in spread(_SKY_LIGHTS, _UP, 0.47 * math.pi):
        yield light, float(light[1]) / _SKY_LIGHTS
    for light in spread(_LAMP_LIGHTS, _lamp_way(camera), _LAMP_HALF_RAD):
        yield light, float(light[1]) / _LAMP_LIGHTS


def _texture(pixels: NDArray[Any]) -> vtkTexture:
    """Return pixels (rows from below, columns, 3) as a texture."""
    rows, columns, _ = pixels.shape
    image = vtkImageData()
    image.SetDimensions(columns, rows, 1)
    flat = np.ascontiguousarray(pixels.reshape(-1, 3))
    image.GetPointData().SetScalars(_to_vtk(flat, deep=True))
    found = vtkTexture()
    found.SetInputData(image)
    found.SetColorModeToDirectScalars()
    found.InterpolateOn()
    return found
