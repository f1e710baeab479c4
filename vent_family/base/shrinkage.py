"""What a printed part comes out as against its drawing, by material; a table of ``shop.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from vent_family.base.by_material import ByMaterial, with_materials
from vent_family.base.frozen import Frozen


class Shrinkage(Frozen):
    """What comes out shorter than drawn: shares of lengths in the layers and across them.

    ``scatter_mm`` is what any length may be off besides, either way, mm.
    """

    in_plane: Annotated[float, Field(ge=0.0, le=0.05)]
    in_height: Annotated[float, Field(ge=0.0, le=0.05)]
    scatter_mm: Annotated[float, Field(ge=0.0, le=1.0)]


if TYPE_CHECKING:
    Shrinkages = ByMaterial[Shrinkage]
else:
    Shrinkages = with_materials(ByMaterial, __name__, "Shrinkages", Shrinkage)
