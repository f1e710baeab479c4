"""Pictures as a product page shows a part: soft light, a white ground, round edges.

Everything stands on a white ground and is lit from a bright sky and a large lamp, both cut into
many lights from one direction each. For every light the nearest faces are found as seen from it
(:mod:`vent_family.mesh.raster`); what lies behind them is in its shadow. The sum over all lights
gives soft shadows and dark corners. Lengths mm, y upwards.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from vent_family.base.arrays import BoolArray, FloatArray, IntArray
from vent_family.mesh.raster import foremost, lit_share, shine, soft_normals
from vent_family.mesh.skin import Piece, Skin, encoded, skin_of

CHORD_MM: Final = 0.02
ANGLE_RAD: Final = 0.08
"""Arcs are drawn in chords so short that none is seen."""
FINER: Final = 2
"""Pixels are drawn so many times finer than they are shown, so that edges come out smooth."""
_OPENING_RAD: Final = math.radians(14.0)
"""Angle under which the viewer sees a ball around everything: that of a long lens."""
_MARGIN: Final = 0.06
"""Share of the picture left free on each side."""
_MAP_PX: Final = 768
_SKY: Final = 384
_LAMP: Final = 96
"""Lights from the sky all round and from the lamp."""
_LAMP_HALF_RAD: Final = math.radians(16.0)
_LAMP_WHITE: Final = 0.95
_SKY_WHITE: Final = 0.50
_GROUND_WHITE: Final = 0.30
"""What a white face turned to the lamp, or under the whole sky or the lit ground, sends (1)."""
_SHEEN: Final = 0.10
_EXPOSURE: Final = 0.80
_SHADOW: Final = 0.80
"""How much of the ground's shadow is shown (1)."""
_EDGE_MM: Final = 0.35
"""Radius with which edges are drawn, mm: printed and moulded ones are never sharp."""
_LINE: Final = 0.45
_CREASE: Final = 0.12
"""Share of light that lines take away, at outlines and at edges within them (1)."""
_UP: Final = np.array([0.0, 1.0, 0.0])


@dataclass(frozen=True, eq=False)
class Camera:
    """A viewer with a long lens, shifted so that what is seen fills the picture.

    Attributes
    ----------
    eye_mm : (3,) array
        Where the viewer is, mm.
    towards, right, up : (3,) arrays
        Unit vectors (1) to the viewer, to the right and up in the picture.
    scale_px : float
        Pixels per unit of an angle's tangent, px.
    corner_px : (2,) array
        Where the line of sight meets the picture, columns from the left and rows from the top, px.
    """

    eye_mm: FloatArray
    towards: FloatArray
    right: FloatArray
    up: FloatArray
    scale_px: float
    corner_px: FloatArray

    def seen(self, points: FloatArray) -> FloatArray:
        """Return points (n, 3), mm, as columns and rows, px, and nearness, 1/mm."""
        ways = points - self.eye_mm
        near = -1.0 / (ways @ self.towards)
        columns = self.corner_px[0] + self.scale_px * (ways @ self.right) * near
        rows = self.corner_px[1] - self.scale_px * (ways @ self.up) * near
        return np.stack([columns, rows, near], axis=1)

    def rays(self, rows: int, columns: int, step_px: int = 1) -> FloatArray:
        """Return the directions (rows, columns, 3) seen in the middle of each pixel, or block."""
        down, across = (np.mgrid[0:rows, 0:columns] + 0.5) * step_px
        x = (across - self.corner_px[0])[..., None] / self.scale_px
        y = (down - self.corner_px[1])[..., None] / self.scale_px
        return np.asarray(x * self.right - y * self.up - self.towards)


def camera_of(
    points: FloatArray, direction: tuple[float, float, float], size_px: tuple[int, int]
) -> Camera:
    """Return the viewer in a direction (1) who just sees points (n, 3), mm, in a picture (px)."""
    towards = np.array(direction) / np.linalg.norm(direction)
    right = np.cross(_UP, towards)
    right /= np.linalg.norm(right)
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    radius = float(np.linalg.norm(points - middle, axis=1).max())
    eye = middle + radius / math.sin(0.5 * _OPENING_RAD) * towards
    plain = Camera(eye, towards, right, np.cross(towards, right), 1.0, np.zeros(2))
    flat = plain.seen(points)[:, :2]
    low, high = flat.min(axis=0), flat.max(axis=0)
    size = np.array(size_px, dtype=np.float64)
    scale = float(((1.0 - 2.0 * _MARGIN) * size / (high - low)).min())
    corner = 0.5 * size - scale * 0.5 * (low + high)
    return Camera(eye, towards, right, plain.up, scale, corner)


@dataclass(frozen=True, eq=False)
class Seen:
    """What is seen in each pixel that shows a part.

    Attributes
    ----------
    mask : (rows, columns) array
        Whether a pixel shows a part.
    triangles : (n,) array
        Which triangle it shows.
    places, normals, towards : (n, 3) arrays
        Where that is, mm, and unit vectors (1) off the surface and to the viewer there.
    """

    mask: BoolArray
    triangles: IntArray
    places: FloatArray
    normals: FloatArray
    towards: FloatArray


def seen_by(camera: Camera, skin: Skin, rows: int, columns: int) -> Seen:
    """Return what a viewer sees in each pixel of a picture."""
    ids, _ = foremost(camera.seen(skin.points), skin.triangles, rows, columns)
    mask = ids >= 0
    shown = ids[mask]
    corners = skin.triangles[shown]
    a, b, c = (skin.points[corners[:, i]] for i in range(3))
    square = np.cross(b - a, c - a)
    rays = camera.rays(rows, columns)[mask]
    way = _dot(a - camera.eye_mm, square) / _dot(rays, square)
    places = camera.eye_mm + way[:, None] * rays
    size = _dot(square, square)
    v = _dot(np.cross(places - a, c - a), square) / size
    w = _dot(np.cross(b - a, places - a), square) / size
    shares = np.stack([1.0 - v - w, v, w], axis=1)
    normals = np.einsum("ij,ijk->ik", shares, skin.normals[corners])
    return Seen(mask, shown, places, _unit(normals), -_unit(rays))


def lights(camera: Camera) -> Iterator[tuple[FloatArray, float]]:
    """Yield the direction (1) towards each light and what a white face square to it sends (1).

    The lamp stands above the viewer's left shoulder; light from below comes off the ground.
    """
    for light in spread(_SKY, _UP, math.pi):
        white = _GROUND_WHITE if light[1] < 0.0 else _SKY_WHITE + 0.25 * light @ camera.towards
        # Over half a sphere the mean of the cosine is 1/2, and half of the lights are there.
        yield light, float(white) * 4.0 / _SKY
    lamp = _unit(-0.60 * camera.right + 0.80 * _UP + 0.65 * camera.towards)
    for light in spread(_LAMP, lamp, _LAMP_HALF_RAD):
        yield light, _LAMP_WHITE / _LAMP


def spread(count: int, axis: FloatArray, half_rad: float) -> FloatArray:
    """Return unit vectors (count, 3) spread evenly within an angle (rad) around an axis (1).

    Examples
    --------
    Over a whole sphere they cancel one another:

    >>> bool(np.abs(spread(100, np.array([0.0, 1.0, 0.0]), math.pi).sum(axis=0)).max() < 1.0)
    True
    """
    right, up = _across(axis)
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
        Towards the viewer, of any length (1), not straight up.
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
    skin = skin_of(pieces, chord_mm, ANGLE_RAD, cut_x_mm)
    columns, rows = size_px
    camera = camera_of(skin.points, direction, (FINER * columns, FINER * rows))
    seen = seen_by(camera, skin, FINER * rows, FINER * columns)
    depths = np.full(seen.mask.shape, np.inf)
    depths[seen.mask] = (seen.places - camera.eye_mm) @ -camera.towards
    pixel_mm = float(depths[seen.mask].mean()) / camera.scale_px
    faces = np.zeros((*seen.mask.shape, 3))
    faces[seen.mask] = seen.normals
    soft = soft_normals(faces, depths, max(_EDGE_MM / pixel_mm, 1.0), 3.0 * _EDGE_MM)[seen.mask]
    floor, open_sky = _ground(camera, float(skin.points[:, 1].min()), rows, columns)
    sums, shade = _lit(skin, camera, seen, soft, floor)
    light = np.ones((rows, columns))
    light[open_sky] = 1.0 - _SHADOW * (1.0 - shade)
    picture = np.repeat(np.repeat(light, FINER, axis=0), FINER, axis=1)[..., None] * np.ones(3)
    picture[seen.mask] = _sent(skin.colours[seen.triangles], sums)
    picture *= _lines(faces, depths, pixel_mm)[..., None]
    fine = np.clip(picture, 0.0, 1.0).reshape(rows, FINER, columns, FINER, 3)
    return np.asarray(encoded(fine.mean(axis=(1, 3))) * 255.0 + 0.5).astype(np.uint8)


def png(pixels: NDArray[np.uint8]) -> bytes:
    """Return pixels (rows from the top, columns, 3) as a PNG image."""
    # Imported here: the plotting library takes a while to load.
    from matplotlib.image import imsave

    stream = io.BytesIO()
    # Without the program's name, so that the bytes depend on nothing but what is drawn.
    unnamed: dict[str, Any] = {"Software": None}
    options = {"optimize": True}
    imsave(stream, pixels, format="png", metadata=unnamed, pil_kwargs=options)
    return stream.getvalue()


def _lit(
    skin: Skin, camera: Camera, seen: Seen, normals: FloatArray, floor: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the sums of :func:`shine` over all lights, and the share of light on the ground."""
    middle = 0.5 * (skin.points.min(axis=0) + skin.points.max(axis=0))
    mesh, places, floor = (p - middle for p in (skin.points, seen.places, floor))
    radius = 1.01 * float(np.linalg.norm(mesh, axis=1).max())
    scale, bias = _MAP_PX / (2.0 * radius), 1.5 * radius / _MAP_PX
    sums = np.zeros((len(places), 3))
    ground, whole = np.zeros(len(floor)), 0.0
    upwards = np.tile(_UP, (len(floor), 1))
    for light, white in lights(camera):
        right, up = _across(light)
        frame = np.stack([right, -up, light])
        flat = mesh @ frame.T
        flat[:, :2] = flat[:, :2] * scale + 0.5 * _MAP_PX
        _, heights = foremost(flat, skin.triangles, _MAP_PX, _MAP_PX)
        reached = lit_share(places, seen.normals, frame, 2.0 * radius, heights, bias)
        shine(reached, normals, seen.towards, light, white, sums)
        if light[1] > 0.0:
            share = lit_share(floor, upwards, frame, 2.0 * radius, heights, 0.0)
            ground += white * light[1] * share
            whole += white * light[1]
    return sums, ground / whole


def _ground(
    camera: Camera, level_mm: float, rows: int, columns: int
) -> tuple[FloatArray, BoolArray]:
    """Return where (n, 3), mm, the ground is seen in a picture, and in which pixels that is."""
    rays = camera.rays(rows, columns, FINER)
    downwards = rays[..., 1] < -1e-6
    found = rays[downwards]
    way = (level_mm - camera.eye_mm[1]) / found[:, 1]
    return camera.eye_mm + way[:, None] * found, downwards


def _sent(colours: FloatArray, sums: FloatArray) -> FloatArray:
    """Return what faces send, with the light that goes to and fro between them.

    That makes corners of bright parts less dark: Jimenez et al. 2016, "Practical Realtime
    Strategies for Accurate Indirect Occlusion", a cubic fitted to traced scenes.
    """
    dull, free, sheen = sums.T
    open_share = np.clip(dull / np.maximum(free, 1e-9), 0.0, 1.0)[:, None]
    a = 2.0404 * colours - 0.3324
    b = -4.7951 * colours + 0.6417
    c = 2.7552 * colours + 0.6903
    share = np.maximum(open_share, ((open_share * a + b) * open_share + c) * open_share)
    return np.asarray(_EXPOSURE * colours * share * free[:, None] + _SHEEN * sheen[:, None])


def _lines(normals: FloatArray, depths: FloatArray, pixel_mm: float) -> FloatArray:
    """Return the share of light (1) that thin lines leave, at outlines and at edges.

    An outline is where a pixel lies well before one beside it, more than a slant would bring.
    """
    taken = np.zeros(depths.shape)
    shown = np.isfinite(depths)
    finite = np.where(shown, depths, 1e9)
    for axis, way in ((0, 1), (0, -1), (1, 1), (1, -1)):
        other = np.roll(finite, way, axis=axis)
        before = shown & (other - finite > max(1.5, 8.0 * pixel_mm))
        taken = np.maximum(taken, _LINE * before)
        turn = (normals * np.roll(normals, way, axis=axis)).sum(axis=-1)
        edge = shown & (turn < math.cos(math.radians(30.0))) & (np.abs(other - finite) < 1.0)
        taken = np.maximum(taken, _CREASE * edge)
    return np.asarray(1.0 - taken)


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,ij->i", a, b))


def _unit(vectors: FloatArray) -> FloatArray:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))


def _across(axis: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two unit vectors (1) square to an axis and to one another."""
    side = _UP if abs(axis[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    right = _unit(np.cross(side, axis))
    return right, np.asarray(np.cross(axis, right))
