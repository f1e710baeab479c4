"""What is shown, as a picture: drawn off screen, with its legend below."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
)

from vent_family.base.arrays import FloatArray, IntArray
from vent_family.base.materials import Rgb
from vent_family.evidence.curves.curve import Curves
from vent_family.front.view.shown import ShownBody, ShownPart, Stage

# Which also registers the off-screen renderer, and picks one that needs no display.
from vent_family.mesh.product import Camera, camera_of
from vent_family.mesh.scene import pixels_of
from vent_family.mesh.skin import Piece, Skin, sharp_edges, skin_of

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont, ImageFont

SIZE_PX: Final = (1000, 760)
"""Columns and rows of the view."""
_FINER: Final = 2
"""Pixels are rendered so many times finer than they are shown, so that lines come out smooth."""
_CHORD_MM: Final = 0.06
_ANGLE_RAD: Final = 0.2
_EDGE_RAD: Final = 0.44
_EDGE: Final[Rgb] = (0.33, 0.35, 0.37)
_LINE_PX: Final = 1.5
_THICK_PX: Final = 3.2
_THROUGH: Final = 0.35
"""Opacity of thick curves where something hides them."""
_LETTER_PX: Final = 17
_HEAD_PX: Final = 21
_ROW_PX: Final = 24
_PAD_PX: Final = 14
_SWATCH_PX: Final = 34
_WIDTH_LETTERS: Final = 112
_INK: Final = (34, 34, 34)
_FAINT: Final = (95, 99, 104)
STAGE_WORDS: Final[dict[Stage, str]] = {
    "section": "its section, from the row; the solid follows",
    "solid": "the exact solid",
    "evidence": "the exact solid, and what is predicted of it",
}
# VTK's helpers carry no types.
_to_vtk: Final[Any] = numpy_to_vtk
_to_vtk_ids: Final[Any] = numpy_to_vtkIdTypeArray


def picture(shown: ShownPart) -> bytes:
    """Return what is shown as a PNG image.

    Raises
    ------
    RuntimeError
        if the kernel could not mesh a shape
    """
    # Imported here: it takes a while to load.
    from PIL import Image, ImageDraw, ImageFont

    view = Image.fromarray(view_pixels(shown))
    rows = _rows(shown)
    head = _HEAD_PX + 2 * _PAD_PX
    height = head + view.height + (len(rows) * _ROW_PX + 2 * _PAD_PX if rows else 0)
    sheet = Image.new("RGB", (view.width, height), "white")
    sheet.paste(view, (0, head))
    draw = ImageDraw.Draw(sheet)
    big, plain = (ImageFont.load_default(size) for size in (_HEAD_PX, _LETTER_PX))
    draw.text((_PAD_PX, _PAD_PX), shown.title, fill=_INK, font=big)
    stage = STAGE_WORDS[shown.stage]
    width = draw.textlength(stage, font=plain)
    draw.text((view.width - _PAD_PX - width, head), stage, fill=_FAINT, font=plain)
    _legend(draw, rows, head + view.height + _PAD_PX, plain)
    stream = io.BytesIO()
    sheet.save(stream, "png")
    return stream.getvalue()


@dataclass(frozen=True, slots=True)
class _Row:
    """A line of the legend, with the curves whose colour stands before it, if it is their first."""

    words: str
    curves: Curves | None = None
    faint: bool = False


def _rows(shown: ShownPart) -> list[_Row]:
    """Return the lines of the legend."""
    rows: list[_Row] = []
    for curves in shown.curves:
        first, *others = textwrap.wrap(curves.legend, _WIDTH_LETTERS)
        rows += [_Row(first, curves), *map(_Row, others)]
    for note in shown.notes:
        rows += [_Row(line, faint=True) for line in textwrap.wrap(note, _WIDTH_LETTERS)]
    return rows


def _legend(
    draw: ImageDraw,
    rows: Sequence[_Row],
    top: int,
    font: FreeTypeFont | ImageFont,
) -> None:
    left = 2 * _PAD_PX + _SWATCH_PX
    for k, row in enumerate(rows):
        y, curves = top + k * _ROW_PX, row.curves
        if curves is not None:
            middle, half = y + _ROW_PX // 2 - 1, 4 if curves.thick else 2
            place = (_PAD_PX, middle - half, _PAD_PX + _SWATCH_PX, middle + half)
            draw.rectangle(place, fill=curves.colour)
        draw.text((left, y), row.words, fill=_FAINT if row.faint else _INK, font=font)


def view_pixels(shown: ShownPart) -> NDArray[np.uint8]:
    """Return the view alone: (rows from the top, columns, 3).

    Raises
    ------
    RuntimeError
        if the kernel could not mesh a shape
    """
    skins = [
        (body, skin_of(Piece(body.shape, body.colour), _CHORD_MM, _ANGLE_RAD))
        for body in shown.bodies
    ]
    points = np.concatenate(
        [skin.points for _, skin in skins] + [p for c in shown.curves for p in c.lines]
    )
    camera = camera_of(points, shown.towards, SIZE_PX)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(True)
    window.SetMultiSamples(0)
    window.SetAlphaBitPlanes(True)
    columns, rows = SIZE_PX
    window.SetSize(_FINER * columns, _FINER * rows)
    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 1.0, 1.0)
    for body, skin in skins:
        for actor in _body(body, skin, camera):
            renderer.AddActor(actor)
    for curves in shown.curves:
        renderer.AddActor(_curves(curves))
    _light(renderer)
    window.AddRenderer(renderer)
    camera.look(renderer)
    window.AddRenderer(_behind(shown, renderer))
    window.SetNumberOfLayers(2)
    fine = pixels_of(window).reshape(rows, _FINER, columns, _FINER, 3).astype(np.float64)
    window.Finalize()
    return np.asarray(fine.mean(axis=(1, 3)) + 0.5).astype(np.uint8)


def _light(renderer: vtkRenderer) -> None:
    """Light a scene from the viewer's place, more from above, and a little from below."""
    lights = (((0.0, 0.0, 1.0), 0.45), ((-0.7, 1.0, 0.8), 0.45), ((0.5, -1.0, 0.5), 0.25))
    for place, bright in lights:
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(*place)
        light.SetFocalPoint(0.0, 0.0, 0.0)
        light.SetIntensity(bright)
        renderer.AddLight(light)


def _body(body: ShownBody, skin: Skin, camera: Camera) -> list[vtkActor]:
    """Return faces and edges of a body."""
    # The farthest triangle is blended in first, should the body be clear.
    depth = skin.points[skin.triangles].sum(axis=1) @ camera.towards
    data = _poly(skin.points, skin.triangles[np.argsort(depth, kind="stable")])
    data.GetPointData().SetNormals(
        _to_vtk(np.ascontiguousarray(skin.normals, dtype=np.float32), deep=True)
    )
    faces = _actor(data, body.colour)
    faces.GetProperty().SetOpacity(body.opacity)
    faces.GetProperty().SetAmbient(0.3)
    ends = sharp_edges(skin, _EDGE_RAD)
    lines = _actor(_polylines(list(ends)), _EDGE)
    lines.GetProperty().SetLineWidth(1.0)
    lines.GetProperty().SetOpacity(1.0 if body.opacity == 1.0 else 0.5)
    lines.GetProperty().LightingOff()
    return [faces, lines]


def _curves(curves: Curves) -> vtkActor:
    """Return curves, as bright as they are whatever the light."""
    red, green, blue = (int(curves.colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    actor = _actor(_polylines(curves.lines), (red, green, blue))
    # Lines that lie in a face are drawn before it.
    mapper = actor.GetMapper()
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(-2.0, -2.0)
    actor.GetProperty().SetLineWidth(_FINER * (_THICK_PX if curves.thick else _LINE_PX))
    actor.GetProperty().LightingOff()
    return actor


def _behind(shown: ShownPart, renderer: vtkRenderer) -> vtkRenderer:
    """Return thick curves once more, faint and before everything that may hide them."""
    above = vtkRenderer()
    above.SetLayer(1)
    above.SetActiveCamera(renderer.GetActiveCamera())
    for curves in shown.curves:
        if curves.thick:
            actor = _curves(curves)
            actor.GetProperty().SetOpacity(_THROUGH)
            above.AddActor(actor)
    return above


def _actor(data: vtkPolyData, colour: Rgb) -> vtkActor:
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    mapper.ScalarVisibilityOff()
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*colour)
    return actor


def _polylines(lines: Sequence[FloatArray]) -> vtkPolyData:
    """Return polylines, (n, 3) each, mm."""
    data, cells = vtkPolyData(), vtkCellArray()
    ends = np.cumsum([0, *(len(line) for line in lines)])
    cells.SetData(_to_vtk_ids(ends, deep=True), _to_vtk_ids(np.arange(ends[-1]), deep=True))
    data.SetPoints(_points(np.concatenate(lines)))
    data.SetLines(cells)
    return data


def _poly(points: FloatArray, triangles: IntArray) -> vtkPolyData:
    data, cells = vtkPolyData(), vtkCellArray()
    starts = np.arange(0, triangles.size + 1, 3)
    cells.SetData(
        _to_vtk_ids(starts, deep=True),
        _to_vtk_ids(np.ascontiguousarray(triangles).reshape(-1), deep=True),
    )
    data.SetPoints(_points(points))
    data.SetPolys(cells)
    return data


def _points(points: FloatArray) -> vtkPoints:
    found = vtkPoints()
    found.SetData(_to_vtk(np.ascontiguousarray(points, dtype=np.float64), deep=True))
    return found
