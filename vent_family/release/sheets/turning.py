"""The model of a part that turns on its page."""

from __future__ import annotations

from typing import Final

from vent_family.base.materials import COLOURS, Rgb
from vent_family.evidence.context import PartContext
from vent_family.files.packed import packed_script

_DARK: Final = 0.3
"""Colours darker than this (1) hide what shades tell of the form."""
_PALER: Final[Rgb] = (0x8A / 255, 0x90 / 255, 0x96 / 255)
_SHARE: Final = 0.25
"""Towards what, and how far (1), dark ones are lightened. Found by trial, no source."""


def turning_model(context: PartContext) -> bytes:
    """Return the vent's mesh, the one that is printed, as the script that its page reads."""
    vertices, triangles = context.meshes[""]
    return packed_script(vertices, triangles, shown_colour(COLOURS[context.spec.colour]))


def shown_colour(colour: Rgb) -> str:
    """Return a part's colour as a page writes it, a dark one lightened.

    Examples
    --------
    >>> shown_colour((1.0, 0.5, 0.0)), shown_colour((0.12, 0.12, 0.13))
    ('#ff8000', '#393b3e')
    """
    if max(colour) < _DARK:
        red, green, blue = (c + _SHARE * (p - c) for c, p in zip(colour, _PALER, strict=True))
        colour = (red, green, blue)
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour)
