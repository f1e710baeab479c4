"""What the bodies of a fitted vent are called and made of: one table for files and assemblies."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from vent_family.base.materials import (
    COLOURS,
    GASKET_COLOUR,
    GASKET_MATERIAL,
    MESH_COLOUR,
    PANEL_COLOUR,
    PANEL_MATERIAL,
    Material,
    Rgb,
    mesh_material,
)
from vent_family.spec.vent import VentSpec

FREE: Final = "free thickness"
"""What a gasket's words say of it as it is cut."""
AS_FITTED: Final = "drawn as fitted"
"""What they say of it between cover and wall."""
_WORDS: Final = MappingProxyType(
    {
        "locknut": "locknut for {}",
        "gasket": f"gasket for {{}}, {FREE}",
        "screen-frame": "frame of the insect screen for {}",
        "mesh": "woven wire mesh for {}, drawn as a sheet two wires thick",
        "panel": "piece of panel for {}",
    }
)


@dataclass(frozen=True, slots=True)
class BodyMade:
    """A body of a fitted vent: its description, its colour (1), what it is made of."""

    words: str
    colour: Rgb
    material: Material

    @property
    def words_as_fitted(self) -> str:
        """The description of it as it is fitted."""
        return self.words.replace(FREE, AS_FITTED)


def body_words(part_number: str, body: str) -> str:
    """Return the description of a body that goes with a vent.

    Raises
    ------
    KeyError
        if there is no such body

    Examples
    --------
    >>> body_words("V-1", "gasket")
    'gasket for V-1, free thickness'
    """
    return _WORDS[body].format(part_number)


def body_made(spec: VentSpec, body: str) -> BodyMade:
    """Return how a body of a fitted vent is made; the vent's own name is empty.

    Raises
    ------
    KeyError
        if there is no such body
    """
    words = body_words(spec.part_number, body) if body else spec.description
    if body == "gasket":
        return BodyMade(words, GASKET_COLOUR, GASKET_MATERIAL)
    if body == "panel":
        return BodyMade(words, PANEL_COLOUR, PANEL_MATERIAL)
    if body == "mesh" and spec.body.screen is not None:
        mesh = spec.body.screen.mesh
        return BodyMade(words, MESH_COLOUR, mesh_material(mesh.opening_mm, mesh.wire_mm))
    return BodyMade(words, COLOURS[spec.colour], spec.material)
