"""Members of a vent as its row says today: nothing is published, every solid is made anew."""

from __future__ import annotations

from typing import Any, Final

from vent_family.enclosure.members import VENT, BodyData, Detail, FittedBody
from vent_family.evidence.context import PartContext
from vent_family.evidence.facts import stated
from vent_family.evidence.fan.kind import FAN
from vent_family.evidence.installed.kind import INSTALLED
from vent_family.evidence.kind import Kind
from vent_family.evidence.rounding import worth
from vent_family.geometry.vent import Placed, as_envelopes, assembled
from vent_family.release.bodies import body_made
from vent_family.release.cautions import CAUTION
from vent_family.spec.vent import DATUM

_STATED: Final[tuple[Kind[Any], ...]] = (FAN, INSTALLED)
"""What is known of a vent without judging it."""
LIVE: Final = "made from the row as it stands, not released"
"""What the attribute ``standing`` says of such a vent."""


def live_members(context: PartContext, detail: Detail) -> tuple[FittedBody, ...]:
    """Return the members of a part, fitted in a wall of its row's thickness, the vent first.

    Raises
    ------
    GeometryError
        if the kernel does not return one solid where one is needed
    """
    spec, solids = context.spec, context.solids
    if detail == "envelope":
        solids = as_envelopes(spec, solids, context.envelope)
    return tuple(
        _member(context, placed) for placed in assembled(spec, solids) if placed.name != "panel"
    )


def _member(context: PartContext, placed: Placed) -> FittedBody:
    spec, body = context.spec, placed.name
    number, made = spec.part_number, body_made(spec, body)
    data = BodyData(
        f"{number}-{body}" if body else number,
        spec.revision,
        made.words_as_fitted if body else made.words,
        made.material.name,
        made.material.density_g_cm3,
        {"belongs_to": number} if body else _attributes(context),
    )
    return FittedBody(body or VENT, placed.shape, placed.location, made.colour, data)


def _attributes(context: PartContext) -> dict[str, str | int | float]:
    spec = context.spec
    told: dict[str, str | int | float] = {
        "datum": DATUM,
        "opening": spec.opening.text(),
        "panel_thickness_mm": spec.panel_thickness_mm,
    }
    for kind in _STATED:
        told |= {s.name: worth(s.value, s.unit) for s in stated(context.record(kind), "attribute")}
    return told | {"standing": LIVE, "caution": CAUTION}
