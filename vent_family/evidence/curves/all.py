"""All curves of a part."""

from __future__ import annotations

from vent_family.evidence.context import PartContext
from vent_family.evidence.curves.curve import Curves
from vent_family.evidence.curves.part import bridge_curves, weak_curves
from vent_family.evidence.curves.water import sight_curves, water_curves
from vent_family.evidence.printing.kind import PRINTING
from vent_family.evidence.strength.kind import STRENGTH
from vent_family.evidence.water.kind import WATER


def quick_curves(context: PartContext, x_mm: float) -> tuple[Curves, ...]:
    """Return what is known without a solid; plane curves lie at ``x_mm``, mm."""
    section = context.spec.section
    return (*sight_curves(section, x_mm), *weak_curves(context.of(STRENGTH)))


def all_curves(context: PartContext, x_mm: float) -> tuple[Curves, ...]:
    """Return everything that is drawn of a part; plane curves lie at ``x_mm``, mm."""
    section = context.spec.section
    return (
        *sight_curves(section, x_mm),
        *water_curves(section, context.of(WATER), x_mm),
        *bridge_curves(context.of(PRINTING)),
        *weak_curves(context.of(STRENGTH)),
    )
