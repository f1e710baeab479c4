"""Tags by which CadQuery's constraints put a vent into a cabinet."""

from __future__ import annotations

from typing import Final

import cadquery as cq

from vent_family.evidence.installed.record import InstallationRecord

PANEL_FACE: Final = "panel_face"
"""The plane that lies on the wall's outer face; its normal points into the cabinet."""
OUTWARD: Final = "outward"
"""A line from the opening's centre outwards."""
TOP: Final = "top"
"""A line from the opening's centre to TOP."""
DRAIN: Final = "drain"
"""A line down from where water leaves the vent."""
NECK_AXIS: Final = "neck_axis"
"""The axis of a threaded neck, into the cabinet."""
TAGS: Final = (PANEL_FACE, OUTWARD, TOP, DRAIN, NECK_AXIS)
_REACH_MM: Final = 10.0


def tagged(shape: cq.Shape, installation: InstallationRecord) -> cq.Workplane:
    """Return a vent's shape as a Workplane with the tags of :data:`TAGS`, at the vent's datum.

    A vent without a neck has no ``neck_axis``.

    Examples
    --------
    >>> import vent_family
    >>> text = "part_number,family,size,status\\nV-30,rectangular,30x30,released\\n"
    >>> parts = vent_family.Parts.from_text(text)
    >>> held = tagged(parts.vent("V-30"), parts.installation("V-30"))
    >>> held._getTagged("outward").val().tangentAt(0).toTuple()
    (0.0, 0.0, 1.0)
    """
    origin = cq.Vector(0.0, 0.0, 0.0)
    water = cq.Vector(*installation.drain_mm)
    flat = cq.Plane(origin=(0.0, 0.0, 0.0), xDir=(1.0, 0.0, 0.0), normal=(0.0, 0.0, -1.0))
    mates: dict[str, cq.Shape] = {
        PANEL_FACE: cq.Face.makePlane(_REACH_MM, _REACH_MM, basePnt=flat.origin, dir=flat.zDir),
        OUTWARD: cq.Edge.makeLine(origin, cq.Vector(0.0, 0.0, _REACH_MM)),
        TOP: cq.Edge.makeLine(origin, cq.Vector(0.0, _REACH_MM, 0.0)),
        DRAIN: cq.Edge.makeLine(water, water - cq.Vector(0.0, _REACH_MM, 0.0)),
    }
    if installation.nut is not None:
        mates[NECK_AXIS] = cq.Edge.makeLine(origin, cq.Vector(0.0, 0.0, -_REACH_MM))
    plane = cq.Workplane(shape)
    for name, mate in mates.items():
        plane.newObject([mate]).tag(name)
    return plane
