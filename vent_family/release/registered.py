"""What has been registered beside the package's own, for worker processes that start without it."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from vent_family.catalog import model
from vent_family.spec.families import FAMILIES, Family
from vent_family.spec.forms import FORMS, SlatForm

if TYPE_CHECKING:
    from vent_family.evidence.kind import Kind
    from vent_family.geometry.families import Builder


@dataclass(frozen=True, slots=True)
class Registered:
    """Slat forms, families with their builders, and kinds of evidence that are not the package's.

    A worker is handed them by pickling, so they must be objects of classes that can be imported.
    """

    forms: tuple[SlatForm, ...] = ()
    families: tuple[tuple[Family, Builder], ...] = ()
    kinds: tuple[Kind[Any], ...] = ()


def registered_here() -> Registered:
    """Return what has been registered in this process."""
    # Builders and kinds load the kernel; where nobody has loaded it, none has been added.
    geometry = sys.modules.get("vent_family.geometry.families")
    evidence = sys.modules.get("vent_family.evidence.kinds")
    return Registered(
        forms=tuple(form for form in FORMS if form.name not in model.SLAT_FORMS.own),
        families=tuple(
            (family, geometry.BUILDERS[family.name])
            for family in FAMILIES
            if geometry is not None and family.name not in model.FAMILIES.own
        ),
        kinds=tuple(k for k in evidence.KINDS if k not in evidence.OWN) if evidence else (),
    )


def register_again(found: Registered) -> None:
    """Register in this process what another one had; what is known already is left alone."""
    for form in found.forms:
        if form.name not in FORMS:
            FORMS.register(form)
    for family, builder in found.families:
        from vent_family.geometry.families import register_family

        if family.name not in FAMILIES:
            register_family(family, builder)
    for kind in found.kinds:
        from vent_family.evidence.kinds import KINDS

        if type(kind) not in {type(known) for known in KINDS}:
            KINDS.register(kind)
