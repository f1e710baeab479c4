"""Figures, margins and rows of a proposal as they are told: each rounded once, words made of them.

Money has two decimals, temperatures and lengths one, water none but where little passes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from vent_family.base.said import said
from vent_family.catalog.model import DRY, CatalogRow
from vent_family.catalog.spelled import row_cells
from vent_family.evidence.outcomes import RANK, Outcome
from vent_family.proposing.enquiry import Enquiry
from vent_family.proposing.ladder import PRICE, RUNGS, SIGHT, TEMPERATURE, WATER, Candidate, Margin
from vent_family.spec.families import filled_row
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

NONE_PASSES_ML: Final = 0.05
"""Less water than this is told as none, mL."""
WRITTEN_WITH_THE_ROW: Final = ("part_number", "status", "revision", "description")
"""Cells that a row gets when it is added to a catalogue."""


@dataclass(frozen=True, slots=True)
class MarginTold:
    """How a row stands to one constraint.

    ``value`` and ``limit`` are in the unit that ``unit`` names; ``left_percent`` is what is left of
    the limit, or of what is needed, below 0 where it is not kept. ``words`` say it whole.
    """

    name: str
    value: float
    limit: float
    unit: str
    left_percent: float
    words: str


@dataclass(frozen=True, slots=True)
class FiguresTold:
    """The figures by which rows are chosen; ``None`` where nothing is asked or none was found.

    ``price`` is per part in the order asked for, money. ``inside_c`` is the temperature inside,
    degC, ``rise_k`` what that is above the outside, K. Depths count from the wall's outer face, mm.
    ``passed_ml`` is the water that passes at most, mL, of a full jet in a minute; ``water`` what is
    predicted of it. ``mass_g`` as printed, g. ``words`` say all of them.
    """

    price: float | None
    inside_c: float | None
    rise_k: float | None
    in_front_mm: float | None
    behind_mm: float | None
    passed_ml: float | None
    water: Outcome | None
    mass_g: float | None
    words: str


def margin_told(margin: Margin) -> MarginTold:
    """Return a margin as it is told.

    Examples
    --------
    >>> margin_told(Margin("strength: slat under a thumb", 1.403, 1.5, "1", -0.065)).words
    'slat under a thumb: 0.94 of the safety needed'
    >>> margin_told(Margin("strength: heat", 55.0, 15.0, "K", 2.6)).words
    'heat: 55 K, 15 K needed'
    >>> margin_told(Margin("temperature", 45.75, 55.0, "degC", 0.58)).words
    'temperature: 45.8 degC with all that is uncertain, at most 55'
    """
    digits = _DIGITS.get(margin.unit, 2)
    value, limit = (round(v, digits) + 0.0 for v in (margin.value, margin.limit))
    name = margin.name.removeprefix("strength: ")
    return MarginTold(
        margin.name,
        value,
        limit,
        margin.unit,
        round(100.0 * margin.share, 1) + 0.0,
        f"{name}: {_margin_words(margin)}",
    )


_DIGITS: Final[Mapping[str, int]] = {"degC": 1, "K": 1, "mL": 1, "mm": 2, "1": 3}
"""Decimals by unit; money has two."""


def _margin_words(margin: Margin) -> str:
    value, limit, unit = margin.value, margin.limit, margin.unit
    if margin.name == SIGHT:
        return f"no straight line comes through, by {said(value)} mm"
    if margin.name == TEMPERATURE:
        if not margin.kept and value <= limit:
            return f"{value:.1f} degC, but the fan may stall, or settle at less air"
        return f"{value:.1f} degC with all that is uncertain, at most {limit:g}"
    if margin.name == WATER:
        return water_words(value)
    if margin.name == PRICE:
        return f"{value:.2f} {unit}, at most {limit:.2f}"
    if margin.name.startswith("depth"):
        return f"{value:.1f} mm, at most {limit:g}"
    if not limit:
        return "as needed" if margin.kept else "not as needed"
    if unit == "1":
        return f"{_ratio(value / limit)} of the safety needed"
    return f"{said(value)} {unit}, {said(limit)} {unit} needed"


def _ratio(ratio: float) -> str:
    """Return a ratio with two decimals, rounded so that less than one never reads as one."""
    text = f"{ratio:.2f}"
    return f"{ratio:.4f}" if ratio < 1.0 <= float(text) else text


def water_words(passed_ml: float | None) -> str:
    """Return in words how much water passes, mL.

    Examples
    --------
    >>> water_words(0.0), water_words(0.26), water_words(310.4)
    ('nothing passes', 'up to 0.3 mL pass', 'up to 310 mL pass')
    """
    if passed_ml is None or passed_ml < NONE_PASSES_ML:
        return "nothing passes"
    return (
        f"up to {passed_ml:.1f} mL pass" if passed_ml < 10.0 else f"up to {passed_ml:.0f} mL pass"
    )


def figures_told(
    candidate: Candidate, enquiry: Enquiry, spec: VentSpec | None = None
) -> FiguresTold:
    """Return a row's figures as they are told; ``spec`` is its vent where that is known.

    Raises
    ------
    InputError
        if the row breaks a rule, and ``spec`` is not given
    """
    found, cabinet = candidate.figures, enquiry.cabinet
    spec = spec or resolve(candidate.row, enquiry.attached(candidate.row))
    rise = None if found.rise_k is None else round(found.rise_k, 1)
    inside = None if rise is None or cabinet is None else round(cabinet.ambient_c + rise, 1)
    told = FiguresTold(
        price=None if found.price is None else round(found.price, 2),
        inside_c=inside,
        rise_k=rise,
        in_front_mm=round(spec.in_front_mm, 1),
        behind_mm=round(spec.behind_mm, 1),
        passed_ml=None if found.passed_ml is None or not enquiry.wet else round(found.passed_ml, 1),
        water=_outcome(candidate, spec),
        mass_g=None if found.mass_g is None else round(found.mass_g, 1),
        words="",
    )
    return _with_words(told, enquiry)


def _outcome(candidate: Candidate, spec: VentSpec) -> Outcome | None:
    """Return what is predicted of the water; ``None`` where there is none, or it was not met."""
    if spec.row.exposure == DRY or candidate.rung != RUNGS[-1] or not candidate.kept:
        return None
    return max((water.outcome for water in candidate.waters), key=RANK.__getitem__, default=None)


def _with_words(told: FiguresTold, enquiry: Enquiry) -> FiguresTold:
    shop, quantity = enquiry.rates.shop, enquiry.asked.order.quantity
    parts = []
    if told.price is not None:
        parts.append(f"{told.price:.2f} {shop.currency} each at {quantity:,}")
    if told.inside_c is not None:
        parts.append(f"{told.inside_c:.1f} degC inside, {told.rise_k:.1f} K above the outside")
    parts.append(f"{told.in_front_mm:.1f} mm in front of the wall, {told.behind_mm:.1f} mm behind")
    if told.water is not None:
        parts.append(f"water: {told.water}, {water_words(told.passed_ml)}")
    if told.mass_g is not None:
        parts.append(f"{told.mass_g:.1f} g")
    return FiguresTold(
        told.price, told.inside_c, told.rise_k, told.in_front_mm, told.behind_mm, told.passed_ml,
        told.water, told.mass_g, "; ".join(parts),
    )  # fmt: skip


def row_words(spec: VentSpec) -> str:
    """Return what a vent is, as the trade says it.

    Examples
    --------
    >>> cells = {"part_number": "A", "family": "round", "size": "M32x1.5", "status": "draft"}
    >>> row_words(resolve(CatalogRow(**cells, slat_form="flat")))
    'round, M32x1.5, ASA, printed face down: 4 banks of flat slats 1.5 mm thick, pitch 12 mm, 9 and
    4 mm between banks; head 65 mm; wall 2.4 mm'
    """
    stack, row = spec.section.stack, spec.row
    banks = "1 bank" if stack.bank_count == 1 else f"{stack.bank_count} banks"
    form = f"{banks} of {stack.form} slats {said(stack.thickness_mm)} mm thick"
    slats = [form, f"pitch {said(stack.pitch_mm)} mm"]
    if stack.gaps_mm:
        gaps = dict.fromkeys(said(gap) for gap in stack.gaps_mm)
        slats.append(f"{' and '.join(gaps)} mm between banks")
    if row.banks_outside:
        slats.append(f"{row.banks_outside} outside the trough")
    rest = []
    head = spec.body.facts.get("head diameter mm")
    if head is not None:
        rest.append(f"head {said(head)} mm")
    rest.append(f"wall {said(filled_row(row).wall_mm)} mm")
    if row.seal:
        rest.append(str(row.seal))
    if row.fan:
        rest.append(f"fan {row.fan}")
    way = spec.print_orientation.replace("_", " ")
    head_words = f"{spec.family}, {row.size}, {spec.material.name}, printed {way}"
    return "; ".join([f"{head_words}: {', '.join(slats)}", *rest])


def proposed_cells(row: CatalogRow) -> dict[str, str]:
    """Return the filled cells of a proposed row, without those that it gets when it is added."""
    return {n: v for n, v in row_cells(row).items() if n not in WRITTEN_WITH_THE_ROW}
