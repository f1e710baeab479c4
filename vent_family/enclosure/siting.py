"""Where the vents of a cabinet stand, and what of that works against its cooling."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import cadquery as cq

from vent_family.base.limits import FACE_DEG, FACE_MM, FACING_DEG, LEVEL_MM
from vent_family.base.problems import InputError, Problem
from vent_family.enclosure.members import VENT, place_within
from vent_family.enclosure.upright import VectorLike, direction
from vent_family.evidence.air.airway import Direction


@dataclass(frozen=True)
class PlacedVent:
    """A vent where it stands in the cabinet's coordinates.

    Parameters
    ----------
    part_number
        the part
    origin_mm
        centre of its opening on the wall's outer face, mm
    outward
        out of the cabinet, normal to the wall, of any length (1)
    air
        ``in`` for a vent that is to draw air in, ``out`` for one that is to let it out
    name
        what it is called in answers; by default the part number
    """

    part_number: str
    origin_mm: tuple[float, float, float]
    outward: tuple[float, float, float]
    air: Direction
    name: str = ""

    def height_mm(self, up: cq.Vector) -> float:
        """Return how high its middle stands, mm."""
        return float(cq.Vector(*self.origin_mm).dot(up))

    @property
    def normal(self) -> cq.Vector:
        """Out of the cabinet, of length one.

        Raises
        ------
        InputError
            if it gives no direction
        """
        return direction(self.outward, "outward")


def placed_in(whole: cq.Assembly, air: Mapping[str, Direction]) -> tuple[PlacedVent, ...]:
    """Return the vents that stand in an assembly, by the names of their own assemblies.

    Parameters
    ----------
    whole
        the assembly; each vent's own stands in it as :mod:`vent_family.enclosure.fitting` puts it,
        in any depth
    air
        names of the vents' assemblies, as the assembly's ``objects`` has them, and which way the
        air goes by each: ``in`` or ``out``

    Raises
    ------
    InputError
        naming what stands in the assembly, if no vent of a name does
    """
    return tuple(_placed_of(whole, name, way) for name, way in air.items())


def _placed_of(whole: cq.Assembly, name: str, way: Direction) -> PlacedVent:
    node = whole.objects.get(name)
    vent = None if node is None else next((c for c in node.children if c.name == VENT), None)
    if node is None or vent is None:
        known = [n for n, one in whole.objects.items() if any(c.name == VENT for c in one.children)]
        raise InputError(
            [
                Problem(
                    "cabinet.vent.unknown",
                    "no vent of this name stands in the assembly",
                    column="air",
                    value=name,
                    allowed=", ".join(known) or "none, no vent was fitted",
                    place="option",
                )
            ]
        )
    plane = place_within(whole, node).plane
    return PlacedVent(
        str(vent.metadata["part_number"]),
        plane.origin.toTuple(),
        plane.zDir.toTuple(),
        way,
        name,
    )


def named(placed: Sequence[PlacedVent]) -> dict[str, PlacedVent]:
    """Return vents by names of their own: those of the same name are numbered.

    Examples
    --------
    >>> one = PlacedVent("V", (0, 0, 0), (0, 1, 0), "in")
    >>> list(named([one, one]))
    ['V', 'V (2)']
    """
    found: dict[str, PlacedVent] = {}
    for vent in placed:
        name = base = vent.name or vent.part_number
        number = 1
        while name in found:
            number += 1
            name = f"{base} ({number})"
        found[name] = vent
    return found


def siting_warnings(
    placed: Sequence[PlacedVent], up: VectorLike, sun: VectorLike | None = None
) -> list[str]:
    """Return what of the vents' places works against the cooling, one sentence each.

    Parameters
    ----------
    placed
        the vents
    up
        against gravity
    sun
        towards the sun; ``None`` where it does not matter

    Raises
    ------
    InputError
        if a direction is none
    """
    vents = named(placed)
    upwards = direction(up, "up")
    inlets = {name: vent for name, vent in vents.items() if vent.air == "in"}
    outlets = {name: vent for name, vent in vents.items() if vent.air == "out"}
    found = []
    if vents and not outlets:
        found.append("all vents are to draw air in: nothing lets it out")
    if vents and not inlets:
        found.append("all vents are to let air out: nothing draws it in")
    found += _above(inlets, outlets, upwards)
    found += _one_face(inlets, outlets)
    found += _facing(vents)
    if sun is not None:
        towards = direction(sun, "sun")
        found += [
            f"inlet {name} faces the sun: it draws in air that the wall has warmed, which is not"
            " counted; put it in the shade"
            for name, vent in inlets.items()
            if vent.normal.dot(towards) > math.cos(math.radians(90.0 - FACE_DEG.value))
        ]
    return found


def _above(
    inlets: dict[str, PlacedVent], outlets: dict[str, PlacedVent], up: cq.Vector
) -> Iterator[str]:
    """Yield a sentence for every inlet that sits above an outlet, with the lowest of these."""
    if not outlets:
        return
    lowest = min(outlets, key=lambda name: outlets[name].height_mm(up))
    for name, vent in inlets.items():
        over = vent.height_mm(up) - outlets[lowest].height_mm(up)
        if over > LEVEL_MM.value:
            yield (
                f"inlet {name} sits {over / 1000.0:.2f} m above outlet {lowest}: warm air gathers"
                " at the top; put inlets low and outlets high"
            )


def _one_face(inlets: dict[str, PlacedVent], outlets: dict[str, PlacedVent]) -> Iterator[str]:
    """Yield a sentence for every inlet on one face with an outlet, with the nearest of these."""
    for name, vent in inlets.items():
        beside = {
            other: _distance_mm(vent, outlets[other])
            for other in outlets
            if _on_one_face(vent, outlets[other])
        }
        if beside:
            nearest = min(beside, key=lambda other: beside[other])
            yield (
                f"inlet {name} and outlet {nearest} are on one face,"
                f" {beside[nearest] / 1000.0:.2f} m from middle to middle: air that leaves may be"
                " drawn in again, and fresh air may pass the heat by; put them on different faces"
            )


def _facing(vents: dict[str, PlacedVent]) -> Iterator[str]:
    """Yield a sentence for every two vents that look at each other."""
    every = list(vents.items())
    for i, (name, vent) in enumerate(every):
        for other_name, other in every[i + 1 :]:
            way = cq.Vector(*other.origin_mm) - cq.Vector(*vent.origin_mm)
            if way.Length < LEVEL_MM.value:
                continue
            near = math.cos(math.radians(FACING_DEG.value)) * way.Length
            if way.dot(vent.normal) >= near and -way.dot(other.normal) >= near:
                yield (
                    f"{name} and {other_name} face each other, {way.Length / 1000.0:.2f} m apart:"
                    " they blow or draw against each other, which is not counted"
                )


def _on_one_face(one: PlacedVent, other: PlacedVent) -> bool:
    alike = bool(one.normal.dot(other.normal) >= math.cos(math.radians(FACE_DEG.value)))
    way = cq.Vector(*other.origin_mm) - cq.Vector(*one.origin_mm)
    return alike and bool(abs(way.dot(one.normal)) <= FACE_MM.value)


def _distance_mm(one: PlacedVent, other: PlacedVent) -> float:
    return float((cq.Vector(*one.origin_mm) - cq.Vector(*other.origin_mm)).Length)
