"""How much of a vent faces the water: open face, floor width and bays, from the resolved part."""

from __future__ import annotations

from dataclasses import dataclass

from vent_family.base.problems import InputError, Problem
from vent_family.spec.section import Section
from vent_family.spec.vent import VentSpec


@dataclass(frozen=True, slots=True)
class Frontage:
    """Open face (m2, ribs taken off), clear floor width (mm) and how many floors share it.

    ``bay_mm`` is the widest bay, ``height_mm`` that of the open face.
    """

    face_m2: float
    floor_width_mm: float
    bays: int
    bay_mm: float
    height_mm: float


def frontage(vent: VentSpec) -> Frontage:
    """Return the frontage of a vent."""
    section = vent.section
    low, high = section.drain_mm[0], section.ceiling_mm
    body = vent.body
    widest = max(b - a for a, b in vent.bays)
    half = body.clear_half_width_mm(section.brink[1])
    clear = [min(b, half) - max(a, -half) for a, b in body.floor_spans_mm(vent.bays)]
    widths = [c for c in clear if c > 0.0]
    area = sum(body.clear_area_mm2(bay, (low, high)) for bay in vent.bays)
    return Frontage(area * 1e-6, sum(widths), len(widths), widest, high - low)


def check_drain(section: Section, part_number: str = "") -> None:
    """Refuse a section without a drain, or with a drain that is not at its bottom.

    Raises
    ------
    InputError
        naming the part and what is wrong
    """
    bottom, top = section.drain_mm

    def refuse(code: str, message: str, suggestion: str) -> None:
        raise InputError(
            [
                Problem(
                    code,
                    message,
                    part_number=part_number,
                    column="drain_height_mm",
                    value=f"{top - bottom:g}",
                    suggestion=suggestion,
                )
            ]
        )

    if not top > bottom:
        refuse(
            "water.drain.none",
            "the stack has no drain: what it catches can only run inside",
            "give it a drain",
        )
    floor = section.brink[1]
    if bottom > floor + 1e-6:
        where = "at the top" if bottom > 0.5 * (floor + section.ceiling_mm) else "above the floor"
        refuse(
            "water.drain.high",
            f"the drain lies {where}: water stands below it and rain can enter through it",
            "put the drain at the bottom, and only there",
        )
    if not section.sill_top_mm > section.floor_inner_mm:
        refuse(
            "water.sill.none",
            "no sill keeps the pool from the inside",
            "raise sill_height_mm above zero",
        )
