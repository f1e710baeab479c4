"""CadQuery front end: place a catalogue vent on a face, cut its opening, get its assembly.

Nothing is patched on import. :func:`register` adds two methods to ``cadquery.Workplane``; calling
it again only changes the default catalogue. The methods are thin wrappers: the same parts and
tools can be had from a :class:`Parts` object as plain shapes.

>>> import cadquery as cq
>>> import vent_family
>>> vent_family.register("catalog.csv")
>>> wall = cq.Workplane().box(200, 150, 2).faces(">Z").workplane()
>>> wall = wall.cutVentOpening("HV-N32")
>>> vent = cq.Workplane().box(200, 150, 2).faces(">Z").workplane().placeVent("HV-N32")
"""

from __future__ import annotations

from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import Any, Final

import cadquery as cq

from vent_family.base.materials import COLOURS, GASKET_COLOUR, PANEL_COLOUR
from vent_family.base.problems import InputError, Problem
from vent_family.catalog.reader import read_catalog
from vent_family.geometry.opening import opening_tool
from vent_family.geometry.vent import VentSolids, assembled, build_solids
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

CUT_DEPTH_SHARE: Final = 1.5
"""A blank cut depth is this multiple of the row's panel thickness."""


class Parts:
    """The parts of one catalogue, built on demand and kept.

    Raises :class:`InputError` if the catalogue cannot be read. Rows with problems are left out;
    asking for one of them raises :class:`InputError` with its problems.
    """

    def __init__(self, catalog: str | PathLike[str] = "catalog.csv") -> None:
        self.path = Path(catalog)
        self._file = read_catalog(self.path)
        self._rows = {s.row.part_number: s for s in self._file.rows}
        self.solids = lru_cache(maxsize=32)(self._build)
        self.spec = lru_cache(maxsize=None)(self._resolve)

    @property
    def part_numbers(self) -> tuple[str, ...]:
        """The part numbers of all readable rows, in the catalogue's order."""
        return tuple(self._rows)

    def _resolve(self, part_number: str) -> VentSpec:
        source = self._rows.get(part_number)
        if source is None:
            own = [p for p in self._file.problems if p.part_number == part_number]
            raise InputError(
                own
                or [
                    Problem(
                        "no row has this part number",
                        file=self._file.path_name,
                        column="part_number",
                        value=part_number,
                        allowed=", ".join(self._rows) or "none, the catalogue is empty",
                    )
                ]
            )
        return resolve(source.row)

    def _build(self, part_number: str) -> VentSolids:
        return build_solids(self.spec(part_number))

    def vent(self, part_number: str) -> cq.Solid:
        """Return the vent's solid at its datum (outer panel face at z = 0); mm."""
        return self.solids(part_number).vent_step

    def opening(self, part_number: str, depth_mm: float | None = None) -> cq.Compound:
        """Return the tool that cuts the vent's opening from z = 0 down to ``-depth_mm``.

        ``depth_mm`` defaults to 1.5 times the row's panel thickness.
        """
        spec = self.spec(part_number)
        return opening_tool(spec, depth_mm or CUT_DEPTH_SHARE * spec.panel_thickness_mm)

    def assembly(self, part_number: str, *, panel: bool = False) -> cq.Assembly:
        """Return an assembly of vent, gasket and locknut as fitted, at the vent's datum.

        With ``panel`` a piece of panel with its opening is part of it.
        """
        spec, solids = self.spec(part_number), self.solids(part_number)
        colours = {
            "": COLOURS[spec.colour],
            "locknut": COLOURS[spec.colour],
            "gasket": GASKET_COLOUR,
            "panel": PANEL_COLOUR,
        }
        result = cq.Assembly(name=f"{part_number}-assembly")
        for placed in assembled(spec, solids):
            if placed.name == "panel" and not panel:
                continue
            name = f"{part_number}-{placed.name}" if placed.name else part_number
            result.add(
                placed.shape,
                name=name,
                loc=placed.location,
                color=cq.Color(*colours[placed.name]),
            )
        return result


_default: Parts | None = None


def register(catalog: str | PathLike[str] = "catalog.csv") -> Parts:
    """Add ``placeVent`` and ``cutVentOpening`` to ``cadquery.Workplane``; return the parts.

    ``catalog`` becomes the default catalogue of both methods. May be called again at any time.

    Raises
    ------
    InputError
        if the catalogue cannot be read; nothing is registered then
    """
    global _default
    _default = Parts(catalog)
    cq.Workplane.placeVent = _place_vent
    cq.Workplane.cutVentOpening = _cut_vent_opening
    return _default


def assembly(part_number: str, *, parts: Parts | None = None, panel: bool = False) -> cq.Assembly:
    """Return vent, gasket and locknut of a part as one assembly, as fitted."""
    return _parts(parts).assembly(part_number, panel=panel)


def _parts(parts: Parts | None) -> Parts:
    chosen = parts or _default
    if chosen is None:
        raise RuntimeError("call vent_family.register() with a catalogue first")
    return chosen


def _place_vent(self: Any, part_number: str, *, parts: Parts | None = None) -> Any:
    """Place a catalogue vent at every point on the stack, outer panel face on the workplane.

    The workplane's x is the vent's right, its y the vent's TOP; its normal points outwards.
    Returns a Workplane holding one solid per point.
    """
    solid = _parts(parts).vent(part_number)
    return self.eachpoint(solid, useLocalCoordinates=True, combine=False, clean=False)


def _cut_vent_opening(
    self: Any, part_number: str, depth_mm: float | None = None, *, parts: Parts | None = None
) -> Any:
    """Cut a catalogue vent's opening at every point on the stack, into the solid behind.

    ``depth_mm`` is how deep to cut, by default 1.5 times the row's panel thickness.
    """
    tool = _parts(parts).opening(part_number, depth_mm)
    return self.eachpoint(tool, useLocalCoordinates=True, combine="cut", clean=True)
