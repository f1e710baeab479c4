"""One builder for each part family: from a resolved vent to its exact solid.

A builder is registered together with its family, so that every row that can be read can be built.
Gaskets, locknuts and screw holes follow from the body and need no builder.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final, Protocol

import cadquery as cq

from vent_family.catalog.vocabulary import Vocabulary
from vent_family.geometry.families.block import BlockBuilder
from vent_family.geometry.families.round import RoundBuilder
from vent_family.spec.families import FAMILIES, Family
from vent_family.spec.registry import Registry
from vent_family.spec.vent import VentSpec


class Builder(Protocol):
    """What makes a family's solids."""

    @property
    def name(self) -> str:
        """The family's name."""
        ...

    def vent(self, spec: VentSpec, true_thread: bool) -> cq.Solid:
        """Return the vent in use position (datum: z = 0), its thread true or a plain stand-in."""
        ...

    def envelope(self, spec: VentSpec) -> cq.Solid:
        """Return a solid of few faces that encloses the vent: its outer form, thread plain, with
        gasket seat and screw holes, but without cavity, slats and mark."""
        ...

    def opening(self, spec: VentSpec, z_mm: tuple[float, float]) -> cq.Solid:
        """Return what to cut from a panel between two z, screw holes left out."""
        ...


BUILDERS: Final = Registry[Builder, None](
    Builder, Vocabulary[None]("builder of the family", {}), lambda builder: None
)
"""The builder of every family, by the family's name."""
for _builder in (BlockBuilder("rectangular"), BlockBuilder("flanged"), RoundBuilder()):
    BUILDERS.register(_builder)


def register_family(family: Family, builder: Builder | None) -> None:
    """Add a family and the builder of its solids, both or neither.

    Raises
    ------
    TypeError
        if there is no builder, or family, body or builder lacks a member
    ValueError
        if the builder is another family's, or the name is taken or cannot stand in a cell
    """
    if builder is None:
        raise TypeError(f"the family {family.name} lacks a builder")
    if getattr(builder, "name", family.name) != family.name:
        raise ValueError(f"the builder {builder.name} is not the family {family.name}'s")
    FAMILIES.register(family)
    try:
        BUILDERS.register(builder)
    except BaseException:
        FAMILIES.withdraw(family.name)
        raise


@contextmanager
def registered_family(family: Family, builder: Builder | None) -> Iterator[Family]:
    """Have a family for the length of a ``with`` block; raises as :func:`register_family`."""
    register_family(family, builder)
    try:
        yield family
    finally:
        BUILDERS.withdraw(family.name)
        FAMILIES.withdraw(family.name)
