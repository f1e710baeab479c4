"""What a cabinet must offer a vent, as it stands in the record."""

from __future__ import annotations

from typing import Annotated

from vent_family.base.frozen import Frozen
from vent_family.evidence.facts import Fact


class ScrewPlace(Frozen):
    """A screw through cover and wall, in the part's coordinates."""

    x_mm: Annotated[float, Fact("right of the opening's centre", "mm")]
    y_mm: Annotated[float, Fact("above the opening's centre", "mm")]
    hole_mm: Annotated[float, Fact("diameter of its hole", "mm")]
    screw: Annotated[str, Fact("thread and nominal diameter")]


class GasketLand(Frozen):
    """Where the wall must be flat and clean."""

    ring: Annotated[bool, Fact("a ring, each size its diameter twice; else a frame")]
    inner_mm: Annotated[tuple[float, float], Fact("width and height inside", "mm")]
    outer_mm: Annotated[tuple[float, float], Fact("width and height outside", "mm")]
    fitted_mm: Annotated[float, Fact("thickness between cover and wall", "mm")]


class NutRoom(Frozen):
    """The locknut behind the wall, and what turns it."""

    thread: Annotated[str, Fact("its thread")]
    thickness_mm: Annotated[float, Fact("how high it stands on the wall", "mm")]
    across_flats_mm: Annotated[float, Fact("width across its flats", "mm")]
    across_corners_mm: Annotated[float, Fact("width across its corners", "mm")]
    head_flats_mm: Annotated[float, Fact("width across the flats of the vent's head", "mm")]
    pitch_mm: Annotated[float, Fact("how far one turn of the nut moves it along the neck", "mm")]


class FanRoom(Frozen):
    """The fan that the vent holds."""

    frame_mm: Annotated[float, Fact("side of its square frame", "mm")]
    centre_y_mm: Annotated[float, Fact("its axis above the opening's centre", "mm")]
    plane_z_mm: Annotated[float, Fact("plane that its frame stands on, z", "mm")]
    depth_mm: Annotated[float, Fact("how deep a fan of that size is, at most", "mm")]
    screw: Annotated[str, Fact("thread-forming screws, one in each corner")]
    hole_spacing_mm: Annotated[float, Fact("distance of the frame's holes", "mm")]
    bore_mm: Annotated[float, Fact("diameter of the way through the frame", "mm")]
    hub_mm: Annotated[float, Fact("diameter of its hub, a large one", "mm")]


class InstallationRecord(Frozen):
    """Opening, wall, and room in front and behind. Origin and axes are the part's own.

    The opening's edge runs counterclockwise as seen from outside from corner to corner of
    ``outline_mm``; ``bulges`` says of every side how it is bent: the tangent of a quarter of the
    angle it turns through, 0 if straight.
    """

    panel_least_mm: Annotated[
        float,
        Fact("thinnest wall that it fits", "mm", attribute="panel_thickness_least_mm"),
    ]
    panel_most_mm: Annotated[
        float,
        Fact("thickest wall that it fits", "mm", attribute="panel_thickness_most_mm"),
    ]
    panel_basis: Annotated[str, Fact("what bounds the wall's thickness")]
    outline_mm: Annotated[
        list[tuple[float, float]],
        Fact("corners (x, y) of the opening; none: a circle about the origin", "mm"),
    ]
    bulges: Annotated[list[float], Fact("how the side from each corner is bent", "1")]
    circle_mm: Annotated[float | None, Fact("diameter of the opening if it is one circle", "mm")]
    screws: Annotated[list[ScrewPlace], Fact("screws through the wall")]
    outside_mm: Annotated[
        list[tuple[float, float]],
        Fact("corners (x, y) of what it covers in front, to 0.05 mm", "mm"),
    ]
    inside_mm: Annotated[
        list[tuple[float, float]],
        Fact("corners (x, y) of what it takes up behind, to 0.05 mm", "mm"),
    ]
    front_mm: Annotated[float, Fact("how far it stands out from the wall's outer face", "mm")]
    behind_mm: Annotated[
        float, Fact("how deep it reaches behind the wall's outer face, a fan not counted", "mm")
    ]
    head_mm: Annotated[float, Fact("from the wall's outer face to the screws' heads", "mm")]
    gasket: Annotated[GasketLand | None, Fact("null: it has none")]
    nut: Annotated[NutRoom | None, Fact("null: no locknut holds it")]
    fan: Annotated[FanRoom | None, Fact("null: it holds no fan")]
    drain_mm: Annotated[tuple[float, float, float], Fact("where water leaves it: x, y, z", "mm")]
    tilt_deg: Annotated[float, Fact("lean it was judged in, face upwards", "deg")]
    roll_deg: Annotated[float, Fact("turn in the opening it was judged in", "deg")]
    spare_deg: Annotated[
        float, Fact("lean and roll besides that the verdict on water counts in", "deg")
    ]
