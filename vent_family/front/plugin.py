"""CadQuery front end: place a catalogue vent on a face, cut its opening, get its assembly.

Nothing is patched on import. :func:`register` adds two methods to ``cadquery.Workplane``; calling
it again only changes the default catalogue. The methods are thin wrappers: the same parts and
tools can be had from a :class:`Parts` object as plain shapes.
"""

from __future__ import annotations

from os import PathLike
from typing import Any, Final

import cadquery as cq

from vent_family.enclosure.members import Detail
from vent_family.front.parts import Parts

CUT_DEPTH_SHARE: Final = 1.5
"""A blank cut depth is this multiple of the thickness that the part was laid out for."""
_default: Parts | None = None


def register(catalog: str | PathLike[str] | Parts = "catalog.csv") -> Parts:
    """Add ``placeVent`` and ``cutVentOpening`` to ``cadquery.Workplane``; return the parts.

    ``catalog``, a file or parts made of one, becomes the default of both methods. May be called
    again at any time.

    Raises
    ------
    InputError
        if the catalogue cannot be read; nothing is registered then
    """
    global _default
    _default = catalog if isinstance(catalog, Parts) else Parts(catalog)
    cq.Workplane.placeVent = _place_vent
    cq.Workplane.cutVentOpening = _cut_vent_opening
    return _default


def assembly(
    part_number: str,
    *,
    parts: Parts | None = None,
    panel: bool = False,
    detail: Detail = "exact",
) -> cq.Assembly:
    """Return vent, gasket and locknut of a part as one assembly, as fitted.

    ``panel`` and ``detail`` are those of :meth:`Parts.assembly`.

    Raises
    ------
    RuntimeError
        if no catalogue was registered and no ``parts`` are given
    InputError
        if there is no such part, or its row has problems
    ValueError
        if there is no such detail
    """
    return _parts(parts).assembly(part_number, panel=panel, detail=detail)


def _parts(parts: Parts | None) -> Parts:
    chosen = parts or _default
    if chosen is None:
        raise RuntimeError("call vent_family.register() with a catalogue first")
    return chosen


def _place_vent(
    self: Any, part_number: str, *, parts: Parts | None = None, detail: Detail = "exact"
) -> Any:
    """Place a catalogue vent at every point on the stack, outer panel face on the workplane.

    The workplane's x is the vent's right, its y the vent's TOP; its normal points outwards.
    Returns a Workplane holding one solid per point. ``detail`` is that of :meth:`Parts.vent`.
    """
    solid = _parts(parts).vent(part_number, detail=detail)
    return self.eachpoint(solid, useLocalCoordinates=True, combine=False, clean=False)


def _cut_vent_opening(
    self: Any, part_number: str, depth_mm: float | None = None, *, parts: Parts | None = None
) -> Any:
    """Cut a catalogue vent's opening at every point on the stack, into the solid behind.

    ``depth_mm`` is how deep to cut, by default 1.5 times the row's panel thickness.
    """
    chosen = _parts(parts)
    if depth_mm is None:
        depth_mm = CUT_DEPTH_SHARE * chosen.panel_mm(part_number)
    tool = chosen.opening(part_number, depth_mm)
    return self.eachpoint(tool, useLocalCoordinates=True, combine="cut", clean=True)
