"""A CadQuery assembly as a tree of products, each thing once.

Members are one product if they have one part number, or, without numbers, if they hold the same
solid (the same shape of the kernel, wherever it lies) and say the same of it. What all uses of a
product say alike is an attribute of the product, what only some say is one of those uses; so it is
with colours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final, TypeVar, cast

import cadquery as cq
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS_Shape

from vent_family.enclosure.metadata import MemberData, given_name, told_by
from vent_family.files.step.attributes import Attribute
from vent_family.files.step.parts import (
    Colour,
    StepAssembly,
    StepPart,
    not_solids,
    place_numbers,
    turns_only,
)
from vent_family.geometry.fingerprint import Fingerprint, differences, fingerprint

_COLOUR_DIGITS: Final = 6
"""Decimals of a colour's shares: the kernel keeps them in single precision."""
_IDENTITY: Final = ("part_number", "name", "revision", "description")
_SUBSTANCE: Final = ("material", "material_description", "density_g_cm3")

Outline = tuple[tuple[int, tuple[float, ...]], ...]
"""What a part consists of: numbers of bare solids, and the places where they stand in it."""


@dataclass(slots=True, eq=False)
class _Part:
    """A part in the making."""

    told: MemberData
    shape: cq.Shape
    outline: Outline
    called: str
    uses: list[_Use] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class _Whole:
    """An assembly in the making."""

    told: MemberData
    children: tuple[_Use, ...]
    called: str
    uses: list[_Use] = field(default_factory=list)

    def key(self) -> tuple[object, ...]:
        """Return what must be the same in the same assembly."""
        return tuple(
            (id(use.item), place_numbers(use.place), use.instance, use.attributes, use.colour)
            for use in self.children
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Use:
    """One use of a product: its place in what holds it, and what is said of this use."""

    item: _Part | _Whole
    place: cq.Location
    instance: str
    attributes: tuple[Attribute, ...]
    colour: Colour | None


_Item = TypeVar("_Item", "_Part", "_Whole")


def step_tree(
    assembly: cq.Assembly,
    *,
    part_number: str = "",
    revision: str = "",
    description: str = "",
    unnamed: str = "assembly",
) -> StepPart | StepAssembly:
    """Return any CadQuery assembly as what a STEP file is made from.

    Parameters
    ----------
    assembly
        the assembly; its members' ``metadata`` is read as :mod:`vent_family.enclosure.metadata`
        says
    part_number, revision, description
        of the whole, in place of what its own metadata say
    unnamed
        what the whole is called if neither they nor its name say it

    Returns
    -------
    a part if the whole is one object without members

    Raises
    ------
    ValueError
        if a member holds anything but solids, is mirrored or scaled, or says what cannot be
        written; if one part number stands for two different things; if there is no solid at all
    """
    builder = _Builder()
    where = given_name(assembly) or unnamed
    told = told_by(assembly, where)
    told = replace(
        told,
        part_number=part_number or told.part_number,
        revision=revision or told.revision,
        description=description or told.description,
    )
    whole = builder.item(assembly, told, where, None)
    if whole is None:
        raise ValueError(f"{where} holds no solid, so there is nothing to export")
    return _Finisher(builder, unnamed).finished(whole, assembly)


class _Builder:
    """Goes through an assembly and tells which of its members are one product."""

    def __init__(self) -> None:
        self.by_number: dict[str, _Part | _Whole] = {}
        self._others: dict[object, _Part | _Whole] = {}
        self._bare: dict[int, list[tuple[int, TopoDS_Shape]]] = {}
        self._prints: dict[Outline, Fingerprint] = {}
        self._count = 0

    def item(
        self, member: cq.Assembly, told: MemberData, where: str, colour: Colour | None
    ) -> _Use | None:
        """Return a member as a use of a product, or ``None`` if it holds nothing."""
        if not turns_only(member.loc):
            raise ValueError(f"{where} is mirrored or scaled; a part can be moved and turned only")
        colour = _rgb(member.color) or colour
        children = []
        for child in member.children:
            inner = f"{where}/{given_name(child) or 'unnamed'}"
            use = self.item(child, told_by(child, inner), inner, colour)
            if use is not None:
                children.append(use)
        if member.shapes and not children:
            return self._part(member.shapes, told, where, colour, member.loc)
        if member.shapes:
            body = replace(told.of_body(), instance=f"{told.instance or 'assembly'}-body")
            if told.part_number:
                body = replace(body, part_number=f"{told.part_number}-body")
            held = self._part(member.shapes, body, where, colour, cq.Location())
            return self._whole(told.of_whole(), (held, *children), where, member.loc)
        if children:
            return self._whole(self._without_substance(told, where), children, where, member.loc)
        if told != MemberData(instance=told.instance):
            raise ValueError(
                f"{where} says something about itself but holds no solid; give it one, or leave it"
                " out"
            )
        return None

    @staticmethod
    def _without_substance(told: MemberData, where: str) -> MemberData:
        if told.of_whole() != told:
            raise ValueError(
                f"{where} has a material but no solid of its own; give it to the members that are"
                " made of it"
            )
        return told

    def _part(
        self,
        shapes: Sequence[cq.Shape],
        told: MemberData,
        where: str,
        colour: Colour | None,
        place: cq.Location,
    ) -> _Use:
        for shape in shapes:
            amiss = not_solids(shape)
            if amiss:
                raise ValueError(f"{where} holds {amiss}; a part is one or more closed solids")
        shape, inner = _at_origin(shapes)
        if not turns_only(inner):
            raise ValueError(f"{where} is mirrored or scaled; a part can be moved and turned only")
        part = _Part(told, shape, self._outline(shape), told.instance)
        known = self._known(part, where, part.outline)
        if known is not part and known.outline != part.outline:
            found = differences(self._print(known), self._print(part))
            if found:
                raise ValueError(
                    f"{where}: another solid has the part number {told.part_number!r}, too"
                    f" ({'; '.join(found[:2])}); give one of them another number, or place the same"
                    " solid by its location"
                )
        return self._use(known, place * inner, told, colour)

    def _whole(
        self, told: MemberData, children: Sequence[_Use], where: str, place: cq.Location
    ) -> _Use:
        whole = _Whole(told, tuple(children), told.instance)
        known = self._known(whole, where, whole.key())
        if known is not whole and known.key() != whole.key():
            raise ValueError(
                f"{where}: another assembly has the part number {told.part_number!r}, too, and"
                " holds other members, places, colours or attributes; give one of them another"
                " number"
            )
        return self._use(known, place, told, None)

    def _known(self, item: _Item, where: str, key: object) -> _Item:
        """Return the product this is, itself if it is new."""
        told = item.told
        if not told.part_number:
            said = tuple(getattr(told, name) for name in (*_IDENTITY, *_SUBSTANCE))
            return cast(_Item, self._others.setdefault((type(item), said, key), item))
        known = self.by_number.setdefault(told.part_number, item)
        if not isinstance(known, type(item)):
            raise ValueError(
                f"{where}: the part number {told.part_number!r} is that of both a part and an"
                " assembly"
            )
        for name in (*_IDENTITY, *_SUBSTANCE):
            one, other = getattr(known.told, name), getattr(told, name)
            if one != other:
                raise ValueError(
                    f"{where}: the part number {told.part_number!r} stands elsewhere with"
                    f" {name} {one!r}, here with {other!r}; what has one number is one thing"
                )
        return known

    @staticmethod
    def _use(
        item: _Part | _Whole, place: cq.Location, told: MemberData, colour: Colour | None
    ) -> _Use:
        use = _Use(item, place, told.instance, told.attributes, colour)
        item.uses.append(use)
        return use

    def _outline(self, shape: cq.Shape) -> Outline:
        return tuple(
            (self._number(solid.wrapped), place_numbers(cq.Location(solid.wrapped.Location())))
            for solid in shape.Solids()
        )

    def _number(self, solid: TopoDS_Shape) -> int:
        """Return the number of a solid's shape, whatever its place; numbers count from one up."""
        bare = solid.Located(TopLoc_Location())
        alike = self._bare.setdefault(hash(bare), [])
        for number, other in alike:
            if other.IsEqual(bare):
                return number
        self._count += 1
        alike.append((self._count, bare))
        return self._count

    def _print(self, part: _Part) -> Fingerprint:
        if part.outline not in self._prints:
            self._prints[part.outline] = fingerprint(part.shape)
        return self._prints[part.outline]


class _Finisher:
    """Gives every product its number, every use its name, and makes the tree of them."""

    def __init__(self, builder: _Builder, unnamed: str) -> None:
        self._unnamed = unnamed
        self._taken = set(builder.by_number)
        self._made: dict[int, StepPart | StepAssembly] = {}

    def finished(self, use: _Use, assembly: cq.Assembly) -> StepPart | StepAssembly:
        """Return the whole; where it stands is part of it."""
        item = use.item
        if isinstance(item, _Part):
            part = self._part(item)
            return replace(part, shape=part.shape.moved(use.place))
        if item.called == "":
            item.called = self._unnamed
        if place_numbers(assembly.loc) == place_numbers(cq.Location()):
            return self._whole(item)
        return self._whole(
            replace(
                item,
                children=tuple(replace(u, place=use.place * u.place) for u in item.children),
            )
        )

    def _item(self, item: _Part | _Whole) -> StepPart | StepAssembly:
        if id(item) not in self._made:
            self._made[id(item)] = (
                self._part(item) if isinstance(item, _Part) else self._whole(item)
            )
        return self._made[id(item)]

    def _part(self, part: _Part) -> StepPart:
        told, number = part.told, self._number(part, "part")
        return StepPart(
            shape=part.shape,
            part_number=number,
            name=told.name or number,
            revision=told.revision,
            description=told.description,
            colour_rgb=_first_colour(part),
            material=told.material,
            density_g_cm3=told.density_g_cm3,
            attributes=_common(part),
            material_description=told.material_description,
        )

    def _whole(self, whole: _Whole) -> StepAssembly:
        told, number = whole.told, self._number(whole, "assembly")
        children, colours, said = [], {}, {}
        names: set[str] = set()
        for use in whole.children:
            item = self._item(use.item)
            name = _free(use.instance or item.part_number, names)
            children.append((item, use.place, name))
            if isinstance(use.item, _Part) and use.colour not in (None, _first_colour(use.item)):
                colours[name] = use.colour
            own = tuple(a for a in use.attributes if a not in _common(use.item))
            if own:
                said[name] = own
        return StepAssembly(
            part_number=number,
            name=told.name or number,
            revision=told.revision,
            description=told.description,
            children=tuple(children),
            attributes=_common(whole),
            colours=colours,
            said=said,
        )

    def _number(self, item: _Part | _Whole, fallback: str) -> str:
        return item.told.part_number or _free(item.called or fallback, self._taken)


def _free(name: str, taken: set[str]) -> str:
    """Return a name that is not taken yet, the name itself if it is free, and take it."""
    found, count = name, 1
    while found in taken:
        count += 1
        found = f"{name}-{count}"
    taken.add(found)
    return found


def _common(item: _Part | _Whole) -> tuple[Attribute, ...]:
    """Return what all uses say alike, in the order of the first."""
    first, *others = item.uses
    kept = [set(use.attributes) for use in others]
    return tuple(a for a in first.attributes if all(a in said for said in kept))


def _first_colour(part: _Part) -> Colour | None:
    return next((use.colour for use in part.uses if use.colour is not None), None)


def _rgb(colour: cq.Color | None) -> Colour | None:
    if colour is None:
        return None
    red, green, blue, opacity = (round(share, _COLOUR_DIGITS) for share in colour.toTuple())
    return (red, green, blue) if opacity >= 1.0 else (red, green, blue, opacity)


def _at_origin(shapes: Sequence[cq.Shape]) -> tuple[cq.Shape, cq.Location]:
    """Return the solids as one shape without a place, and its place.

    A compound around one solid is that solid.
    """
    solids = [solid for shape in shapes for solid in shape.Solids()]
    if len(solids) == 1:
        (found,) = solids
    elif len(shapes) == 1:
        (found,) = shapes
    else:
        found = cq.Compound.makeCompound(solids)
    place = found.wrapped.Location()
    return cq.Shape.cast(found.wrapped.Located(TopLoc_Location())), cq.Location(place)
