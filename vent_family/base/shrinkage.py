"""What a printed part comes out as against its drawing, by material; a table of ``shop.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field, create_model

from vent_family.base.frozen import Frozen
from vent_family.base.materials import MATERIALS


class Shrinkage(Frozen):
    """What comes out shorter than drawn: shares of lengths in the layers and across them.

    ``scatter_mm`` is what any length may be off besides, either way, mm.
    """

    in_plane: Annotated[float, Field(ge=0.0, le=0.05)]
    in_height: Annotated[float, Field(ge=0.0, le=0.05)]
    scatter_mm: Annotated[float, Field(ge=0.0, le=1.0)]


class _Shrinkages(Frozen):
    """Shrinkage of each printing material."""

    def of(self, material: str) -> Shrinkage:
        """Return the shrinkage of a material."""
        found: Shrinkage = getattr(self, material)
        return found


if TYPE_CHECKING:
    Shrinkages = _Shrinkages
else:
    Shrinkages = create_model(
        "Shrinkages",
        __base__=_Shrinkages,
        __doc__="Shrinkage of each printing material.",
        **dict.fromkeys(MATERIALS, (Shrinkage, ...)),
    )
