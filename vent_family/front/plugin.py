"""CadQuery front end: vents on workplanes and in assemblies.

Nothing is patched on import. :func:`register` adds methods to ``cadquery.Workplane`` and
``cadquery.Assembly``; calling it again only changes the defaults. The methods are thin wrappers of
the plain functions in :mod:`vent_family.enclosure.fitting`.

TOP is always up: gravity decides, not the workplane's y.

>>> import cadquery as cq
>>> import vent_family
>>> text = "part_number,family,size,status\\nV-N20,round,M20x1.5,released\\n"
>>> parts = vent_family.register(vent_family.Parts.from_text(text))
>>> cabinet = cq.Workplane().box(200, 120, 150).faces("<Z").shell(-2)
>>> cut = cabinet.faces("<Y").workplane(centerOption="CenterOfMass").cutVentOpening("V-N20")
>>> round(cabinet.val().Volume() - cut.val().Volume(), 1)
666.6
>>> held = cabinet.faces("<Y").workplane(centerOption="CenterOfMass").fitVent("V-N20")
>>> [part.name for part in held.children], [part.name for part in held.children[1].children]
(['wall', 'V_N20'], ['vent', 'gasket', 'locknut'])
"""

from __future__ import annotations

from collections.abc import Collection
from os import PathLike
from typing import Any

import cadquery as cq

from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.fitting import FittedVent, cut_for, fitted
from vent_family.enclosure.members import Detail, node_name, place_within
from vent_family.enclosure.room import Neighbour
from vent_family.enclosure.upright import UP, WORLD_UP, Stance, VectorLike, stance
from vent_family.enclosure.vents import Vents
from vent_family.front.parts import Parts

WALL: str = "wall"
"""Name of the cut body in the assembly that ``fitVent`` makes of a workplane."""


class _Defaults:
    """What the methods take where nothing is said."""

    vents: Vents | None = None
    up: VectorLike = WORLD_UP


def register(
    catalog: str | PathLike[str] | Vents = "catalog.csv", *, up: VectorLike = WORLD_UP
) -> Vents:
    """Add ``placeVent``, ``cutVentOpening`` and ``fitVent`` to CadQuery; return the parts.

    Parameters
    ----------
    catalog
        a catalogue's file, or parts or a library made already: the default of all methods
    up
        against gravity, in the coordinates that are drawn in: the default of all methods

    Raises
    ------
    InputError
        if the catalogue cannot be read, or ``up`` is no direction; nothing is registered then
    """
    vents = catalog if isinstance(catalog, Vents) else Parts(catalog)
    stance((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), up, (0.0, 0.7, 0.7))
    _Defaults.vents, _Defaults.up = vents, up
    cq.Workplane.placeVent = _place_vent
    cq.Workplane.cutVentOpening = _cut_vent_opening
    cq.Workplane.fitVent = _fit_vent
    cq.Assembly.fitVent = _fit_into
    return vents


def assembly(
    part_number: str,
    *,
    parts: Vents | None = None,
    panel_mm: float | None = None,
    panel: bool = False,
    detail: Detail = "exact",
) -> cq.Assembly:
    """Return a vent and what is fitted with it as one assembly, at the vent's datum.

    ``panel_mm`` (mm), ``panel`` and ``detail`` are those of :meth:`Vents.assembly`.

    Raises
    ------
    RuntimeError
        if no catalogue was registered and no ``parts`` are given
    InputError
        if there is no such part, it cannot be had, or it does not suit the wall
    ValueError
        if there is no such detail
    """
    return _vents(parts).assembly(part_number, panel_mm=panel_mm, panel=panel, detail=detail)


def _vents(given: Vents | None) -> Vents:
    chosen = given or _Defaults.vents
    if chosen is None:
        raise RuntimeError("call vent_family.register() with a catalogue first")
    return chosen


def _places(plane: cq.Workplane) -> list[tuple[cq.Vector, cq.Vector]]:
    """Return centre and outward normal of every point on a workplane's stack."""
    here = plane.plane.location
    found = []
    for item in plane.objects or [cq.Location()]:
        if isinstance(item, cq.Location):
            local = here * item
        else:
            centre = item if isinstance(item, cq.Vector) else item.Center()
            local = cq.Location(cq.Plane(centre, plane.plane.xDir, plane.plane.zDir))
        there = cq.Plane(local)
        found.append((there.origin, there.zDir))
    return found


def _stances(plane: cq.Workplane, up: VectorLike | None, top: VectorLike | None) -> list[Stance]:
    """Return how a vent stands at every point on a workplane's stack."""
    against = _Defaults.up if up is None else up
    return [stance(centre, outward, against, top) for centre, outward in _places(plane)]


def _fitted_all(
    self: cq.Workplane, part_number: str, vents: Vents, up: VectorLike | None, **further: Any
) -> tuple[cq.Shape, list[FittedVent]]:
    """Return the body behind a workplane and the vents fitted at every point of its stack."""
    body = self.findSolid()
    held: list[FittedVent] = []
    places = _places(self)
    for number, (centre, outward) in enumerate(places, 1):
        name = node_name(part_number) + (f"_{number}" if len(places) > 1 else "")
        others = [n for one in held for n in one.neighbours]
        held.append(
            fitted(
                vents,
                part_number,
                body,
                centre,
                outward=outward,
                up=_Defaults.up if up is None else up,
                neighbours=others,
                name=name,
                **further,
            )
        )
    return body, held


def _place_vent(
    self: Any,
    part_number: str,
    *,
    up: VectorLike | None = None,
    top: VectorLike | None = None,
    parts: Vents | None = None,
    detail: Detail = "exact",
) -> Any:
    """Place a vent at every point on the stack, its datum there, TOP up; nothing is checked.

    The workplane's normal points out of the cabinet. Returns a Workplane with one solid per point.
    ``detail`` is that of :meth:`Vents.vent`, ``up`` and ``top`` those of
    :func:`vent_family.enclosure.fitting.fitted`.

    Raises
    ------
    InputError
        if there is no such part, or nothing says where TOP is
    """
    solid = _vents(parts).vent(part_number, detail=detail)
    return self.newObject([solid.moved(one.location) for one in _stances(self, up, top)])


def _cut_vent_opening(
    self: Any,
    part_number: str,
    depth_mm: float | None = None,
    *,
    up: VectorLike | None = None,
    top: VectorLike | None = None,
    allow: Collection[str] = (),
    parts: Vents | None = None,
) -> Any:
    """Cut a vent's opening at every point on the stack through the wall that is there.

    The wall's thickness is measured and must be one that the vent suits. With ``depth_mm`` the
    opening is cut so deep (mm) into whatever is there, and nothing is checked.

    Raises
    ------
    InputError
        as :func:`vent_family.enclosure.fitting.fitted` raises it
    ValueError
        if the depth is not above zero
    """
    vents = _vents(parts)
    if depth_mm is None:
        body, held = _fitted_all(self, part_number, vents, up, top=top, allow=allow)
        return self.newObject([cut_for(body, held)])
    tool = vents.opening(part_number, depth_mm)
    tools = [
        solid.moved(stood.location) for stood in _stances(self, up, top) for solid in tool.Solids()
    ]
    return self.newObject([self.findSolid().cut(*tools)])


def _fit_vent(
    self: Any,
    part_number: str,
    *,
    up: VectorLike | None = None,
    top: VectorLike | None = None,
    allow: Collection[str] = (),
    parts: Vents | None = None,
    detail: Detail = "exact",
    fasteners: bool = True,
) -> cq.Assembly:
    """Cut, place, seal and fasten a vent at every point on the stack; return the assembly.

    The body with its openings is the assembly's ``wall``, every vent an assembly of its own.

    Raises
    ------
    InputError
        as :func:`vent_family.enclosure.fitting.fitted` raises it
    """
    body, held = _fitted_all(
        self,
        part_number,
        _vents(parts),
        up,
        top=top,
        allow=allow,
        detail=detail,
        fasteners=fasteners,
    )
    result = cq.Assembly()
    result.add(cut_for(body, held), name=WALL)
    for one in held:
        result.add(one.assembly)
    return result


def _fit_into(
    self: cq.Assembly,
    part_number: str,
    wall: str,
    at: VectorLike,
    *,
    outward: VectorLike | None = None,
    up: VectorLike | None = None,
    top: VectorLike | None = None,
    allow: Collection[str] = (),
    parts: Vents | None = None,
    detail: Detail = "exact",
    fasteners: bool = True,
    name: str = "",
) -> cq.Assembly:
    """Cut, place, seal and fasten a vent in an assembly; return the assembly.

    Parameters
    ----------
    part_number
        the part
    wall
        name of the node whose body the vent goes into; it is cut
    at
        a point on the wall's outer face, in the assembly's coordinates, mm
    outward, top, allow, detail, fasteners
        as :func:`vent_family.enclosure.fitting.fitted` takes them
    up
        against gravity; by default what the assembly's metadata say under ``up``, or what was
        registered
    name
        name of the vent's assembly; by default the part number with underscores, and a number
        where that is taken

    Raises
    ------
    InputError
        if there is no such node, or as :func:`vent_family.enclosure.fitting.fitted` raises it;
        nothing is changed then
    """
    node = self.objects.get(wall)
    if node is None or node.obj is None:
        raise InputError([_no_node(self, wall)])
    body = cq.Compound.makeCompound(node.shapes) if len(node.shapes) != 1 else node.shapes[0]
    place = place_within(self, node)
    against = up if up is not None else self.metadata.get(UP, _Defaults.up)
    held = fitted(
        _vents(parts),
        part_number,
        body.moved(place),
        at,
        outward=outward,
        up=against,
        top=top,
        neighbours=_others(self, node),
        allow=allow,
        detail=detail,
        fasteners=fasteners,
        name=name or _free_name(self, node_name(part_number)),
    )
    node.obj = cut_for(body.moved(place), [held]).moved(place.inverse)
    self.add(held.assembly)
    return self


def _no_node(whole: cq.Assembly, wall: str) -> Problem:
    return Problem(
        "wall.node.unknown",
        "the assembly has no body of this name",
        column="wall",
        value=wall,
        allowed=", ".join(n for n, node in whole.objects.items() if node.obj is not None) or "none",
        place="option",
    )


def _others(whole: cq.Assembly, wall: cq.Assembly) -> list[Neighbour]:
    """Return everything in an assembly but one node, in place."""
    found = []
    for path, node in whole.objects.items():
        if node is wall or node.obj is None:
            continue
        place = place_within(whole, node)
        found += [Neighbour(path, shape.moved(place)) for shape in node.shapes]
    return found


def _free_name(whole: cq.Assembly, wanted: str) -> str:
    taken = {child.name for child in whole.children}
    number, name = 1, wanted
    while name in taken:
        number += 1
        name = f"{wanted}_{number}"
    return name
