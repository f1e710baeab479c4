"""The figures of a part that its page, the index and the comparison show.

They are taken from the part's record as it was written. A record of an earlier version may lack a
field: what is not there is not shown. Numbers have the texts that sheets and report have.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from vent_family.base.said import grams, rounded_off, said, three, within
from vent_family.catalog.own import PREFIX

Record = Mapping[str, Any]

RATED_PA: Final = 25.0
"""Pressure at which flows are compared, Pa."""
ORDER: Final = 100
"""Size of the order whose price is compared (parts)."""
OUTCOMES: Final = ("holds", "marginal", "fails")
"""Predicted outcomes from the best to the worst."""


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """A figure: name, what it is, and the text with its unit.

    ``value`` is a number to sort by, if there is any, in the text's unit (mm2, m3/h, g, USD, 1).
    """

    name: str
    label: str
    text: str
    value: float | None = None


@dataclass(frozen=True, slots=True)
class ToldWater:
    """What is predicted under one exposure, and what decides."""

    name: str
    outcome: str
    limited_by: str
    reason: str
    change: str
    test: str


Made = Callable[[Record], KeyFigure | None]


def found(record: Any, path: str) -> Any:
    """Return what stands at a place of a record, ``None`` where there is nothing.

    Examples
    --------
    >>> found({"air": {"k_in": 3.5}}, "air.k_in"), found({"air": None}, "air.k_in.low")
    (3.5, None)
    """
    for name in path.split("."):
        record = record.get(name) if isinstance(record, Mapping) else None
    return record


_POWERS: Final = re.compile(r"\b(mm|cm|m)([23])\b")
_SUPERSCRIPT: Final = {"2": "²", "3": "³"}


def typeset(text: str) -> str:
    """Return words of a record with units as they are set in print.

    Examples
    --------
    >>> typeset("16.4 m3/h at 20 degC through 12 mm2, M32x1.5")
    '16.4 m³/h at 20 °C through 12 mm², M32x1.5'
    """
    raised = _POWERS.sub(lambda unit: unit[1] + _SUPERSCRIPT[unit[2]], text)
    return raised.replace(" degC", " °C")


def words(text: str) -> str:
    """Return a value of the catalogue as words.

    Examples
    --------
    >>> words("driving_rain")
    'driving rain'
    """
    return text.replace("_", " ")


def _number(
    name: str, label: str, path: str, unit: str, told: Callable[[float], str] = said
) -> Made:
    def made(record: Record) -> KeyFigure | None:
        value = found(record, path)
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        return KeyFigure(name, label, f"{told(float(value))}{unit}", float(value))

    return made


def _across(diameter_mm: float) -> str:
    return f"⌀ {said(diameter_mm)}"


def _text(name: str, label: str, path: str) -> Made:
    def made(record: Record) -> KeyFigure | None:
        value = found(record, path)
        return KeyFigure(name, label, typeset(value)) if isinstance(value, str) and value else None

    return made


def _option(name: str, label: str, path: str) -> Made:
    """Return a figure whose text is a value that cells of the catalogue accept."""

    def made(record: Record) -> KeyFigure | None:
        value = found(record, path)
        return KeyFigure(name, label, words(value)) if isinstance(value, str) and value else None

    return made


def _opening_size(record: Record) -> KeyFigure | None:
    width, height = found(record, "opening.width_mm"), found(record, "opening.height_mm")
    if width is None or height is None:
        return None
    if found(record, "opening.kind") == "circle":
        return KeyFigure(
            "opening", "Opening", f"⌀ {said(width)} mm", math.pi / 4.0 * width * height
        )
    return KeyFigure("opening", "Opening", f"{said(width)} × {said(height)} mm", width * height)


def _overall(record: Record) -> KeyFigure | None:
    low, high = found(record, "geometry.box_min_mm"), found(record, "geometry.box_max_mm")
    if low is None or high is None:
        return None
    x, y, z = (b - a for a, b in zip(low, high, strict=True))
    return KeyFigure(
        "overall", "Width × height × depth over all", f"{said(x)} × {said(y)} × {said(z)} mm"
    )


def _behind(record: Record) -> KeyFigure | None:
    low, high = found(record, "geometry.box_min_mm"), found(record, "geometry.box_max_mm")
    if low is None or high is None:
        return None
    text = f"{said(high[2])} mm outwards, {said(-low[2])} mm inwards"
    return KeyFigure("reach", "Reaches from the panel's outer face", text)


def _free_area(record: Record) -> KeyFigure | None:
    area, share = found(record, "louvre.free_area_mm2"), found(record, "louvre.free_area_percent")
    if area is None or share is None:
        return None
    text = f"{three(area)} mm² ({three(share)} % of core)"
    return KeyFigure("free_area", "Free area", text, float(area))


def flow_at(record: Record, pressure_pa: float) -> Record | None:
    """Return the line of the flow table at a pressure (Pa), ``None`` if there is none."""
    lines = found(record, "air.flows") or []
    return next((line for line in lines if line.get("pressure_pa") == pressure_pa), None)


def ends(line: Record, way: str) -> str:
    """Return a flow of the table, ``in`` or ``out``, with the ends of what is known of it."""
    return within(*(line[f"flow_{way}{end}_m3_h"] for end in ("", "_low", "_high"))) + " m³/h"


def _flow(way: str, label: str) -> Made:
    def made(record: Record) -> KeyFigure | None:
        line = flow_at(record, RATED_PA)
        if line is None:
            return None
        name = f"{label} at {RATED_PA:g} Pa"
        return KeyFigure(f"flow_{way}", name, ends(line, way), float(line[f"flow_{way}_m3_h"]))

    return made


def _half_clogged(record: Record) -> KeyFigure | None:
    line = flow_at(record, RATED_PA)
    if line is None:
        return None
    flow = line["flow_in_half_clogged_m3_h"]
    label = f"Air drawn in at {RATED_PA:g} Pa, half clogged"
    return KeyFigure("flow_clogged", label, f"{three(flow)} m³/h", float(flow))


def exposures(record: Record) -> list[ToldWater]:
    """Return what is predicted under each exposure of the row."""
    told = []
    for each in found(record, "water.exposures") or []:
        verdict = each["verdict"]
        limited = "" if verdict["mechanism"] == "none" else verdict["mechanism"]
        told.append(
            ToldWater(
                name=words(each["name"]),
                outcome=verdict["outcome"],
                limited_by=limited,
                reason=typeset(verdict["reason"]),
                change=typeset(verdict["change"]),
                test=verdict["deciding_test"],
            )
        )
    return told


def _predicted(record: Record) -> KeyFigure | None:
    told = exposures(record)
    if not told:
        return KeyFigure("predicted", "Water, predicted", "the row says dry: not checked")
    worst = max(OUTCOMES.index(e.outcome) for e in told)
    text = "; ".join(f"{e.name}: {e.outcome}" for e in told)
    # The worst outcome first, then the part that is predicted to bear more waters.
    return KeyFigure("predicted", "Water, predicted", text, worst - len(told) / 100.0)


def _torque(record: Record) -> KeyFigure | None:
    gasket = found(record, "joint.gasket")
    if not gasket:
        return None
    by_hand, least = gasket["torque_by_hand_n_m"], gasket["torque_n_m"]
    if by_hand >= least:
        text = f"{three(by_hand)} N m by hand: enough to press the gasket flush"
    else:
        text = f"{three(least)} N m or more: {three(by_hand)} N m by hand do not press the gasket"
        text += " flush"
    return KeyFigure("torque", "Tighten to", text, float(by_hand))


def _gasket(record: Record) -> KeyFigure | None:
    gasket = found(record, "joint.gasket")
    if not gasket:
        return None
    text = f"{said(gasket['thickness_mm'])} mm, pressed to {said(gasket['compressed_mm'])} mm"
    return KeyFigure("gasket", "Gasket", text)


def _material(record: Record) -> KeyFigure | None:
    name, colour = found(record, "material.name"), found(record, "identity.colour")
    return (
        KeyFigure("material", "Material", f"{name}, {words(colour)}") if name and colour else None
    )


def _time(record: Record) -> KeyFigure | None:
    seconds = found(record, "printing.time_s")
    if seconds is None:
        return None
    text = f"{seconds / 3600.0:.1f} h alone on the plate"
    return KeyFigure("time", "Printing time", text, float(seconds))


def orders(record: Record) -> list[tuple[int, str, str]]:
    """Return the sizes of orders with the price of each part, and the days they take."""
    currency = found(record, "printing.cost.currency") or ""
    return [
        (line["parts"], f"{currency} {line['price']:.2f}", f"{line['days']:.1f}")
        for line in found(record, "printing.cost.orders") or []
    ]


def _price(parts: int) -> Made:
    def made(record: Record) -> KeyFigure | None:
        lines = found(record, "printing.cost.orders") or []
        line = next((each for each in lines if each["parts"] == parts), None)
        if line is None:
            return None
        text = f"{found(record, 'printing.cost.currency') or ''} {line['price']:.2f}"
        label = "Price of one" if parts == 1 else f"Price each, of {parts:,}"
        return KeyFigure(f"price_{parts}", label, text, float(line["price"]))

    return made


def writers_columns(record: Record) -> list[tuple[str, str]]:
    """Return what the catalogue says in columns of its writer's own, each with its name in words.

    Examples
    --------
    >>> writers_columns({"own": {"x_drawer_no": "12"}, "catalogue": {"pitch_mm": 7.0}})
    [('drawer no', '12')]
    """
    cells = found(record, "own") or {}
    return [(words(name.removeprefix(PREFIX)), str(value)) for name, value in cells.items()]


def _slat_safety(record: Record) -> KeyFigure | None:
    for member in found(record, "printing.strength") or []:
        if member["name"] == "slat under a thumb":
            text = f"{member['verdict']}: safety {member['safety']:.2f}, {member['least']:g} needed"
            return KeyFigure("thumb", "A slat under a thumb", text, float(member["safety"]))
    return None


GROUPS: Final[tuple[tuple[str, tuple[Made, ...]], ...]] = (
    (
        "Opening and fit",
        (
            _opening_size,
            _text("cut", "Cut into the panel", "opening.text"),
            _number(
                "corner",
                "Corner radius of the opening, at most",
                "opening.corner_radius_max_mm",
                " mm",
            ),
            _number("panel", "Panel thickness", "opening.panel_thickness_mm", " mm"),
            _overall,
            _behind,
            _text("thread", "Neck thread", "thread.designation"),
            _gasket,
            _torque,
        ),
    ),
    (
        "Air",
        (
            _free_area,
            _flow("in", "Air drawn in"),
            _half_clogged,
            _flow("out", "Air blown out"),
            _number("k_in", "Loss coefficient K on the opening, drawing in", "air.k_in", "", three),
            _text("louvre", "Louvre classes of EN 13030, predicted", "louvre.classes_predicted"),
        ),
    ),
    (
        "Water",
        (
            _predicted,
            _number("sill", "Sill above the floor", "geometry.sill_height_mm", " mm"),
            _number("drain", "Area of the drain", "drain_area_mm2", " mm²", three),
            _number(
                "overflow",
                "Suction that lifts water over the sill",
                "water.overflow_depression_pa",
                " Pa",
                rounded_off,
            ),
            _number("sight", "Margin by which straight lines miss", "water.sight.margin_mm", " mm"),
            _number("probe", "Largest ball that gets in", "water.access.sphere_mm", " mm", _across),
        ),
    ),
    (
        "Making",
        (
            _material,
            _number("mass", "Mass as printed", "printing.printed_mass_g", " g", grams),
            _option("lying", "Lies on the bed", "print_orientation"),
            _time,
            _text("fits", "As printed, decides", "printing.as_printed_words"),
            _slat_safety,
            _text("heat", "Heat in the sun", "printing.heat_verdict_in_sun"),
            _text("uv", "Sunlight", "printing.uv"),
            _text("flammability", "Burning class", "printing.flammability"),
        ),
    ),
    ("Price", (_price(1), _price(ORDER), _price(1000), _price(10_000))),
)
"""Groups of figures with their headings, as on a part's page and in the comparison."""


HEADINGS: Final = tuple(heading for heading, makes in GROUPS for _ in makes)
"""The heading under which each figure of :func:`aligned` stands."""


def aligned(record: Record) -> list[KeyFigure | None]:
    """Return the figures of a record in the order of all groups, ``None`` for what it has not."""
    return [make(record) for _, makes in GROUPS for make in makes]


def groups_of(figures: Sequence[KeyFigure | None]) -> list[tuple[str, list[KeyFigure]]]:
    """Return figures in the order of all groups by group, without those that are missing."""
    groups: dict[str, list[KeyFigure]] = {}
    for heading, figure in zip(HEADINGS, figures, strict=True):
        if figure is not None:
            groups.setdefault(heading, []).append(figure)
    return list(groups.items())
