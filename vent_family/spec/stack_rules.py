"""The slat stack of a row: slopes, gaps and heights, and what is refused about them."""

from __future__ import annotations

import math
from dataclasses import replace

from vent_family.base.limits import (
    BANK_GAP_MAX,
    GAP_MIN,
    SIGHT_MARGIN_MIN,
    SLAT_MIN_UPRIGHT,
)
from vent_family.spec.forms import FORMS, IN, OUT
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section
from vent_family.spec.stack import (
    Stack,
    closing_stacks,
    endless_margin,
    narrow_places,
    uncovered_fraction,
)


def stacks(row: FilledRow, refusals: Refusals) -> list[Stack]:
    """Return slat stacks to try, slopes and gaps chosen by computation where left blank."""
    form, t, pitch = row.slat_form, row.slat_thickness_mm, row.pitch_mm
    banks, shift = row.bank_count, row.bank_stagger
    before = len(refusals)
    if row.print_orientation == "upright" and t < SLAT_MIN_UPRIGHT.value:
        refusals.refuse(
            "slat_thickness_mm",
            f"slats of {t:g} mm are too thin to print upright, where layers cross the slat's root",
            "print face_down, or thicken the slats",
            f"{SLAT_MIN_UPRIGHT.value:g} mm or more when upright",
        )
    gaps = _gaps(row, refusals)
    slopes = _slopes(row, refusals)
    share = uncovered_fraction(shift, banks)
    height = _slat_height(row, refusals, share)
    if len(refusals) > before:
        return []
    stack = Stack(form, t, pitch, height, gaps, shift, slopes)
    _overlap(refusals, stack, share)
    least = stack.shape.least_height_mm(t)
    if height < least:
        refusals.refuse(
            "slat_height_mm" if row.slat_height_mm is not None else "overlap_mm",
            f"slats {height:.1f} mm high are too low for their thickness of {t:g} mm",
            f"raise the overlap by {least - height:.1f} mm or thin the slats",
        )
    for name, width in narrow_places(stack):
        refusals.refuse(
            "bank_gaps_mm" if name.startswith("gap") else "pitch_mm",
            f"the {name} is {width:.2f} mm wide: a water film would bridge it",
            _widen(name, width, stack),
            f"{GAP_MIN.value:g} mm or more",
        )
    if len(refusals) > before:
        return []
    return closing_stacks(
        stack,
        free_slopes=row.slopes == "auto",
        free_gaps=row.bank_gaps_mm is None,
    )


def _widen(name: str, width: float, stack: Stack) -> str:
    """Return what to change so that a narrow place becomes wide enough."""
    lack = GAP_MIN.value - width
    if name.startswith("gap"):
        return f"increase this gap by {lack:.1f} mm"
    # What a pitch 1 mm greater gains, slats growing with it so that they overlap as much.
    grown = stack.slat_height_mm + uncovered_fraction(stack.shift, stack.bank_count)
    wider = stack.shape.passage_mm(stack.pitch_mm + 1.0, grown, stack.thickness_mm)
    need = stack.pitch_mm + lack / max(wider - stack.passage_mm, 0.1)
    return (
        f"raise the pitch to {math.ceil(need * 10 - 1e-6) / 10:.1f} mm or more,"
        f" or {stack.shape.widen_hint}"
    )


def _gaps(row: FilledRow, refusals: Refusals) -> tuple[float, ...]:
    """Return one clear distance per gap between banks."""
    banks = row.bank_count
    if row.bank_gaps_mm is None:
        return (row.bank_gap_mm,) * (banks - 1)
    gaps = _numbers(row.bank_gaps_mm)
    if max(gaps) > BANK_GAP_MAX.value:
        most = f"{BANK_GAP_MAX.value:g} mm or less"
        refusals.refuse("bank_gaps_mm", "a gap between banks is absurdly wide", f"use {most}", most)
    if len(gaps) == 1:
        return gaps * (banks - 1)
    if len(gaps) != banks - 1:
        refusals.refuse(
            "bank_gaps_mm",
            f"{len(gaps)} gaps are given but {banks} banks have {banks - 1} gaps between them",
            "give one number for all gaps, or one number per gap",
        )
    return gaps


def _slopes(row: FilledRow, refusals: Refusals) -> tuple[int, ...]:
    """Return one slope per bank; all out where they do not matter or are still to be chosen."""
    text, form, banks = row.slopes, row.slat_form, row.bank_count
    if text == "auto":
        return (OUT,) * banks
    if not FORMS[form].slopes_chosen:
        refusals.refuse(
            "slopes", f"{form} slats have no slope to choose", "leave this cell blank or say auto"
        )
        return (OUT,) * banks
    slopes = tuple(OUT if word == "out" else IN for word in text.split("-"))
    if len(slopes) != banks:
        refusals.refuse(
            "slopes",
            f"{len(slopes)} slopes are given for {banks} banks",
            "give one slope per bank, from outside in",
        )
    elif slopes[-1] == IN:
        refusals.refuse(
            "slopes",
            "the innermost bank slopes in: what it catches runs into the cabinet",
            "let the innermost bank slope out",
        )
    return slopes


def _slat_height(row: FilledRow, refusals: Refusals, share: float) -> float:
    """Return the slat height, given directly or from the overlap."""
    if row.slat_height_mm is not None and row.given("overlap_mm"):
        refusals.refuse(
            "overlap_mm",
            "overlap_mm and slat_height_mm both say how high a slat is",
            "leave one of the two blank",
        )
    if row.slat_height_mm is not None:
        return row.slat_height_mm
    return share * row.pitch_mm + row.overlap_mm


def _overlap(refusals: Refusals, stack: Stack, share: float) -> None:
    """Refuse slat heights that leave a level straight path, in the trade's terms."""
    if stack.overlap_mm > 0.0:
        return
    most = math.floor(stack.slat_height_mm / share * 10) / 10
    advice = f"reduce the pitch to {most:.1f} mm or less"
    if uncovered_fraction(stack.shift, stack.bank_count + 1) < share - 1e-9:
        advice += ", or add a bank"
    refusals.refuse(
        "pitch_mm",
        f"slats overlap by {stack.overlap_mm:.1f} mm: a straight path exists",
        advice,
    )


def sight(row: FilledRow, refusals: Refusals, section: Section) -> None:
    """Refuse a section through which a straight line passes, or nearly."""
    if section.closed:
        return
    margin = section.sight.margin_mm
    angle = section.sight.elevation_deg
    what = (
        f"a straight path {-margin:.2f} mm wide exists"
        if margin < 0
        else f"a straight line misses by only {margin:.2f} mm"
    )
    refusals.refuse(
        "pitch_mm",
        f"{what} at {angle:.0f} degrees elevation",
        _closing_advice(row, section.stack),
        f"{SIGHT_MARGIN_MIN.value:g} mm margin or more",
    )


def _closing_advice(row: FilledRow, stack: Stack) -> str:
    """Return a change, found by trying, that closes the straight path of a stack."""
    free_slopes = stack.shape.slopes_chosen

    def closes(trial: Stack) -> bool:
        if narrow_places(trial):
            return False
        fixed = closing_stacks(trial, free_slopes=free_slopes, free_gaps=True)
        return endless_margin(fixed[0]).margin_mm >= SIGHT_MARGIN_MIN.value

    if (row.given("slopes") or row.given("bank_gaps_mm")) and closes(stack):
        return "leave slopes and bank_gaps_mm blank so that they are chosen to close it"
    for percent in range(95, 45, -5):
        pitch = math.floor(stack.pitch_mm * percent / 10) / 10
        if closes(replace(stack, pitch_mm=pitch)):
            return f"reduce the pitch to {pitch:.1f} mm or less at the same slat height"
    for more in (0.5, 1.0, 1.5, 2.0, 3.0, 4.0):
        if closes(replace(stack, slat_height_mm=stack.slat_height_mm + more)):
            return f"raise the overlap to {stack.overlap_mm + more:.1f} mm"
    return "reduce the pitch, raise the overlap, or add a bank"


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(float(part) for part in text.split("/"))
