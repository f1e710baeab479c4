"""Product pictures of a part: from outside, from inside, and cut open in its panel."""

from __future__ import annotations

from typing import Final

from vent_family.base.materials import COLOURS, GASKET_COLOUR, MESH_COLOUR, PANEL_COLOUR, Rgb
from vent_family.evidence.context import PartContext
from vent_family.geometry.primitives import box
from vent_family.geometry.projection import cut_x_mm
from vent_family.geometry.vent import assembled
from vent_family.mesh.product import png, product_pixels
from vent_family.mesh.skin import Piece
from vent_family.spec.vent import VentSpec

PICTURE_BYTES: Final = 150_000
"""A picture is no larger: it takes fewer colours then."""
_SIZE_PX: Final = (800, 700)
_CUT_SIZE_PX: Final = (800, 776)
_FRONT: Final = (0.55, 0.42, 1.0)
_BACK: Final = (0.55, 0.40, -1.0)
_SIDE: Final = (1.0, 0.28, 0.35)
CUT_COLOUR: Final[Rgb] = (0.93, 0.60, 0.33)
"""Of the faces where a part is cut open."""
_FAR_MM: Final = 1e3


def member_colour(spec: VentSpec, name: str) -> Rgb:
    """Return the colour (1) of a member of the assembly by its name, empty for the vent."""
    printed = COLOURS["dark_grey"]
    known = {"gasket": GASKET_COLOUR, "mesh": MESH_COLOUR, "panel": PANEL_COLOUR}
    return COLOURS[spec.colour] if not name else known.get(name, printed)


def front_picture(context: PartContext) -> bytes:
    """Return a vent as a PNG image, seen from outside."""
    return _vent_picture(context, _FRONT)


def back_picture(context: PartContext) -> bytes:
    """Return a vent as a PNG image, seen from inside the cabinet."""
    return _vent_picture(context, _BACK)


def cut_picture(context: PartContext) -> bytes:
    """Return a vent in its panel as a PNG image, cut open and seen from the side."""
    spec = context.spec
    x = cut_x_mm(spec.bays)
    beyond = box((x, _FAR_MM), (-_FAR_MM, _FAR_MM), (-_FAR_MM, _FAR_MM))
    pieces = [
        Piece(
            # What is left may be in several pieces.
            placed.shape.moved(placed.location).cut(beyond),
            member_colour(spec, placed.name),
            None if placed.name else CUT_COLOUR,
        )
        for placed in assembled(spec, context.solids)
    ]
    pixels = product_pixels(pieces, direction=_SIDE, size_px=_CUT_SIZE_PX, cut_x_mm=x)
    return png(pixels, PICTURE_BYTES)


def _vent_picture(context: PartContext, direction: tuple[float, float, float]) -> bytes:
    pieces = [Piece(context.solids.vent, COLOURS[context.spec.colour])]
    return png(product_pixels(pieces, direction=direction, size_px=_SIZE_PX), PICTURE_BYTES)
