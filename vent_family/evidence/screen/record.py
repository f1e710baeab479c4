"""What the record says of a part's insect screen."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact


class ScreenRecord(Frozen):
    """Mesh and frame of an insect screen, and water on it."""

    opening_mm: Annotated[
        float, Fact("clear opening of the mesh", "mm", attribute="screen_opening_mm")
    ]
    wire_mm: Annotated[float, Fact("its wire", "mm", attribute="screen_wire_mm")]
    open_share: Annotated[float, Fact("open part of the mesh", "1", attribute="screen_open_share")]
    window_mm2: Annotated[float, Fact("area of mesh that the air passes", "mm2")]
    sheet: Annotated[str, Fact("what to cut of the mesh", attribute="screen_mesh_to_cut")]
    held_by: Annotated[str, Fact("what holds it, and how it comes off")]
    frame_volume_mm3: Annotated[float, Fact("volume of the printed frame or ring", "mm3")]
    frame_mass_g: Annotated[
        float,
        Fact(
            "mass of the printed frame or ring, filled solid",
            "g",
            attribute="screen_frame_mass_g",
        ),
    ]
    film_pa: Annotated[
        float, Fact("pressure that a film of water over an opening bears before it bursts", "Pa")
    ]
    fan_pa: Annotated[
        float | None, Fact("the row's fan at shut-off, the most it has; null: no fan", "Pa")
    ]
    film: Annotated[str, Fact("does water that reaches the mesh close it", attribute="screen_wet")]


class ScreenSection(Frozen):
    """The screen of vents that have one."""

    screen: Annotated[ScreenRecord | None, Fact("null: the part has no screen")]
