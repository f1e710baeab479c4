"""The slat stack of a row: slopes, gaps and heights, and what is refused about them."""

from __future__ import annotations

from typing import Final

from vent_family.base.limits import (
    BANK_GAP_MAX,
    BANKS_MAX,
    EDGE_MIN,
    GAP_MIN,
    OVERLAP_MIN,
    SIGHT_MARGIN_MIN,
    SLAT_MIN_UPRIGHT,
    STRAND_MIN,
)
from vent_family.catalog.columns import COLUMNS
from vent_family.spec.changes import Change, gaps_text, numbers_of, on_step, step_of
from vent_family.spec.choice import StackChoice
from vent_family.spec.feet import Feet
from vent_family.spec.forms import FORMS, IN, OUT
from vent_family.spec.refusals import Refusals
from vent_family.spec.row import FilledRow
from vent_family.spec.section import Section
from vent_family.spec.stack import (
    Stack,
    narrow_places,
    uncovered_fraction,
)

_TOUCH_MM: Final = 0.005
"""A sight margin that is told as 0.00 mm."""
_PITCHES_MORE: Final = 8
"""Pitches tried, in steps, from the least one at which passages are wide enough."""
_PITCH_SHARE: Final = 0.15
"""A given pitch that would grow by more than this share is left as it is where that is possible."""
_MORE_SIGHT: Final = (
    "bank_count",
    "slat_thickness_mm",
    "sill_height_mm",
    "drain_height_mm",
    "floor_slope_deg",
)
"""What else closes a straight path, besides the slats' height, pitch and places."""


def stacks(row: FilledRow, refusals: Refusals, *, quick: bool = False) -> StackChoice | None:
    """Return the slat stack, slopes and gaps to be chosen where left blank; ``None`` if refused.

    ``quick`` is that of :class:`StackChoice`.
    """
    form, t, pitch = row.slat_form, row.slat_thickness_mm, row.pitch_mm
    banks, shift = row.bank_count, row.bank_stagger
    before = len(refusals)
    if row.print_orientation == "upright" and t < SLAT_MIN_UPRIGHT.value:
        refusals.refuse(
            "slats.thickness.upright",
            "slat_thickness_mm",
            f"slats of {t:g} mm are too thin to print upright, where layers cross the slat's root",
            allowed=f"{SLAT_MIN_UPRIGHT.value:g} mm or more when upright",
            guesses=(
                {"slat_thickness_mm": SLAT_MIN_UPRIGHT.value},
                {"print_orientation": "face_down"},
            ),
            columns=("slat_thickness_mm",),
        )
    thinnest = FORMS[form].thinnest
    if row.print_orientation == "face_down" and t < thinnest.value:
        refusals.refuse(
            "slats.thickness.down",
            "slat_thickness_mm",
            f"{form} slats of {t:g} mm are too thin to print: they begin with a strand less than"
            f" {STRAND_MIN.value:g} mm, two beads, wide",
            allowed=f"{thinnest.value:g} mm or more for {form} slats printed face down",
            guesses=({"slat_thickness_mm": thinnest.value},),
            columns=("slat_thickness_mm", "slat_form"),
            lack=thinnest.value - t,
        )
    _feet(row, refusals)
    gaps = _gaps(row, refusals)
    slopes = _slopes(row, refusals)
    share = uncovered_fraction(shift, banks)
    height = _slat_height(row, refusals, share)
    if len(refusals) > before:
        return None
    refusals.next_stage()
    stack = Stack(form, t, pitch, height, gaps, shift, slopes, row.slat_foot_mm)
    height_column = "slat_height_mm" if row.slat_height_mm is not None else "overlap_mm"
    _overlap(row, refusals, stack, share, height_column)
    least = stack.shape.least_height_mm(t)
    if height < least:
        now = height if row.slat_height_mm is not None else row.overlap_mm
        higher = on_step(COLUMNS[height_column], now + least - height, upwards=True)
        refusals.refuse(
            "slats.height.low",
            height_column,
            f"slats {height:.1f} mm high are too low for their thickness of {t:g} mm",
            guesses=({height_column: higher},),
            columns=(height_column, "slat_thickness_mm", "pitch_mm"),
            lack=least - height,
        )
    _apron_gap(row, refusals, gaps)
    if share == 1.0 and stack.passage_mm <= 0.0:
        what = f"{banks} banks at one height" if banks > 1 else "a single bank"
        refusals.refuse(
            "slats.banks.shut",
            "bank_stagger" if banks > 1 else "bank_count",
            f"{what} of {form} slats shuts the vent: what closes it to a level line must be spread"
            " over banks that are shifted in height",
            guesses=({"bank_stagger": None},) if banks > 1 else _more_banks(row),
            columns=("bank_count", "bank_stagger", "slat_form"),
        )
        return None
    for name, width in narrow_places(stack):
        is_gap = name.startswith("gap")
        refusals.refuse(
            "slats.gap.narrow" if is_gap else "slats.passage.narrow",
            "bank_gaps_mm" if is_gap else "pitch_mm",
            f"the {name} is {width:.2f} mm wide: a water film would bridge it"
            if width > 0.0
            else "slats as high and thick as these leave no passage at this pitch",
            allowed=f"{GAP_MIN.value:g} mm or more",
            guesses=({"bank_gaps_mm": gaps_text([max(g, GAP_MIN.value) for g in gaps])},)
            if is_gap
            else _wider_passages(row, width, stack),
            columns=("bank_gaps_mm",)
            if is_gap
            else ("pitch_mm", "slat_thickness_mm", height_column, "slat_form"),
            lack=GAP_MIN.value - width,
            which=name if is_gap else "",
        )
    if len(refusals) > before:
        return None
    return StackChoice(
        stack,
        free_slopes=row.slopes == "auto",
        free_gaps=row.bank_gaps_mm is None,
        quick=quick,
    )


def _feet(row: FilledRow, refusals: Refusals) -> None:
    """Refuse feet that do not print, and those of slats without acute corners."""
    foot, t, form = row.slat_foot_mm, row.slat_thickness_mm, FORMS[row.slat_form]
    feet = Feet.of(form, t, row.print_orientation)
    if form.foot_most_mm(t) is None:
        if row.given("slat_foot_mm"):
            refusals.refuse(
                "slats.feet.none",
                "slat_foot_mm",
                f"{form.name} slats have no acute corners that could end in flats",
                guesses=({"slat_foot_mm": None},),
            )
    elif 0.0 < foot < EDGE_MIN.value:
        refusals.refuse(
            "slats.feet.hairline",
            "slat_foot_mm",
            f"feet of {foot:g} mm are too narrow to be drawn, let alone printed",
            allowed=f"0, or {EDGE_MIN.value:g} mm or more",
            guesses=({"slat_foot_mm": 0.0}, {"slat_foot_mm": EDGE_MIN.value}),
            columns=("slat_foot_mm",),
        )
    elif foot < feet.least_mm:
        refusals.refuse(
            "slats.feet.narrow",
            "slat_foot_mm",
            f"feet of {foot:g} mm are too narrow to print upright, where slats begin with them",
            allowed=f"{feet.least_mm:g} mm or more when upright",
            guesses=({"slat_foot_mm": None}, {"print_orientation": "face_down"}),
            columns=("slat_foot_mm",),
            lack=feet.least_mm - foot,
        )
    elif foot > feet.most_mm + 1e-9:
        most = feet.held_mm(foot)
        thicker = (foot + STRAND_MIN.value) * t / (feet.most_mm + STRAND_MIN.value)
        refusals.refuse(
            "slats.feet.wide",
            "slat_foot_mm",
            f"feet of {foot:g} mm leave slats of {t:g} mm ends less than {STRAND_MIN.value:g} mm,"
            " two beads, high",
            allowed=f"{most:g} mm or less for slats of {t:g} mm",
            guesses=(
                {"slat_foot_mm": most},
                {"slat_thickness_mm": on_step(COLUMNS["slat_thickness_mm"], thicker, upwards=True)},
            ),
            columns=("slat_foot_mm", "slat_thickness_mm"),
            lack=foot - feet.most_mm,
        )


def _more_banks(row: FilledRow) -> tuple[Change, ...]:
    """Return more banks, as many as the form has by itself or one after the other."""
    clear = {"bank_gaps_mm": None} if row.given("bank_gaps_mm") else {}
    clear |= {"slopes": None} if row.given("slopes") else {}
    counts = (None, *range(2, int(BANKS_MAX.value) + 1))
    return tuple({"bank_count": count, **clear} for count in counts)


def _wider_passages(row: FilledRow, width: float, stack: Stack) -> tuple[Change, ...]:
    """Return what may widen a passage so wide (mm): a greater pitch, or lower and thinner slats.

    Where the pitch would grow by much, what was left blank is changed before it.
    """
    least = _wide_pitch_mm(width, stack)
    step = step_of(COLUMNS["pitch_mm"])
    pitches = [{"pitch_mm": round(least + i * step, 6)} for i in range(_PITCHES_MORE)]
    lack = GAP_MIN.value - width
    leaner = [
        {name: on_step(COLUMNS[name], getattr(row, name) - lack, upwards=False)}
        for name in ("overlap_mm", "slat_thickness_mm")
        if not row.given(name) and (name != "overlap_mm" or row.slat_height_mm is None)
    ]
    if row.given("pitch_mm") and least > (1.0 + _PITCH_SHARE) * row.pitch_mm:
        return (*leaner, *pitches)
    return (*pitches, *leaner)


def _wide_pitch_mm(width: float, stack: Stack) -> float:
    """Return a pitch (mm) at which a passage so wide (mm) may be wide enough."""
    lack = GAP_MIN.value - width
    # What a pitch 1 mm greater gains, slats growing with it so that they overlap as much.
    grown = stack.slat_height_mm + uncovered_fraction(stack.shift, stack.bank_count)
    grown += sum(stack.shape.cuts_mm(stack.foot_mm))
    wider = stack.shape.passage_mm(stack.pitch_mm + 1.0, grown, stack.thickness_mm)
    need = stack.pitch_mm + lack / max(wider - stack.passage_mm, 0.1)
    return float(on_step(COLUMNS["pitch_mm"], need, upwards=True))


def _gaps(row: FilledRow, refusals: Refusals) -> tuple[float, ...]:
    """Return one clear distance per gap between banks."""
    banks = row.bank_count
    if row.bank_gaps_mm is None:
        return tuple(max(row.bank_gap_mm, least) for least in row.least_gaps_mm)
    gaps = numbers_of(row.bank_gaps_mm)
    if max(gaps) > BANK_GAP_MAX.value:
        refusals.refuse(
            "slats.gap.wide",
            "bank_gaps_mm",
            "a gap between banks is absurdly wide",
            allowed=f"{BANK_GAP_MAX.value:g} mm or less",
            guesses=({"bank_gaps_mm": gaps_text([min(g, BANK_GAP_MAX.value) for g in gaps])},),
            columns=("bank_gaps_mm",),
        )
    if len(gaps) == 1:
        return gaps * (banks - 1)
    if len(gaps) != banks - 1:
        fitting = (*gaps, *[gaps[-1]] * banks)[: banks - 1]
        refusals.refuse(
            "slats.gap.count",
            "bank_gaps_mm",
            f"{len(gaps)} gaps are given but {banks} banks have {banks - 1} gaps between them",
            allowed="one number for all gaps, or one number per gap",
            guesses=(
                {"bank_gaps_mm": gaps_text(fitting) if fitting else None},
                {"bank_gaps_mm": None},
                {"bank_count": len(gaps) + 1},
            ),
        )
    return gaps


def _apron_gap(row: FilledRow, refusals: Refusals, gaps: tuple[float, ...]) -> None:
    """Refuse gaps between banks too narrow for the apron that stands in one of them."""
    for i, (gap, least) in enumerate(zip(gaps, row.least_gaps_mm, strict=True)):
        if least > GAP_MIN.value and gap < least - 1e-9:
            wide = [max(pair) for pair in zip(gaps, row.least_gaps_mm, strict=True)]
            refusals.refuse(
                "slats.gap.apron",
                "bank_gaps_mm",
                f"the gap behind bank {i + 1} is {gap:g} mm wide: too narrow for the apron behind"
                " the banks outside the trough",
                allowed=f"{least:g} mm or more there",
                guesses=({"bank_gaps_mm": gaps_text(wide)}, {"bank_gaps_mm": None}),
                columns=("bank_gaps_mm", "banks_outside"),
                lack=least - gap,
            )


def _slopes(row: FilledRow, refusals: Refusals) -> tuple[int, ...]:
    """Return one slope per bank; all out where they do not matter or are still to be chosen."""
    text, form, banks = row.slopes, row.slat_form, row.bank_count
    if text == "auto":
        return (OUT,) * banks
    if not FORMS[form].slopes_chosen:
        refusals.refuse(
            "slats.slope.none",
            "slopes",
            f"{form} slats have no slope to choose",
            guesses=({"slopes": None},),
        )
        return (OUT,) * banks
    slopes = tuple(OUT if word == "out" else IN for word in text.split("-"))
    if len(slopes) != banks:
        refusals.refuse(
            "slats.slope.count",
            "slopes",
            f"{len(slopes)} slopes are given for {banks} banks",
            allowed="one slope per bank, from outside in",
            guesses=(
                *({"slopes": s} for s in [_slopes_text(slopes, banks)] if s),
                {"slopes": None},
                {"bank_count": len(slopes)},
            ),
        )
    elif slopes[-1] == IN:
        refusals.refuse(
            "slats.slope.inward",
            "slopes",
            "the innermost bank slopes in: what it catches runs into the cabinet",
            guesses=({"slopes": _slopes_text(slopes, banks)}, {"slopes": None}),
        )
    return slopes


def _slopes_text(slopes: tuple[int, ...], banks: int) -> str:
    """Return slopes for so many banks as their cell holds them, the innermost one out."""
    fitting = (*slopes[:-1], *[OUT] * banks)[: banks - 1]
    return "-".join("out" if slope == OUT else "in" for slope in (*fitting, OUT))


def _slat_height(row: FilledRow, refusals: Refusals, share: float) -> float:
    """Return the slat height, given directly or from the overlap."""
    if row.slat_height_mm is not None and row.given("overlap_mm"):
        refusals.refuse(
            "slats.height.twice",
            "overlap_mm",
            "overlap_mm and slat_height_mm both say how high a slat is",
            guesses=({"overlap_mm": None}, {"slat_height_mm": None}),
        )
    if row.slat_height_mm is not None:
        return row.slat_height_mm
    return share * row.pitch_mm + row.overlap_mm


def _overlap(
    row: FilledRow, refusals: Refusals, stack: Stack, share: float, height_column: str
) -> None:
    """Refuse slat heights that leave a level straight path, in the trade's terms."""
    if stack.overlap_mm > 0.0:
        return
    reach = stack.slat_height_mm - OVERLAP_MIN.value
    now = stack.slat_height_mm if row.slat_height_mm is not None else row.overlap_mm
    higher = now - stack.overlap_mm + OVERLAP_MIN.value
    guesses = [
        {"pitch_mm": on_step(COLUMNS["pitch_mm"], reach / share, upwards=False)},
        {height_column: on_step(COLUMNS[height_column], higher, upwards=True)},
    ]
    refusals.refuse(
        "slats.overlap.none",
        "pitch_mm",
        f"slats overlap by {stack.overlap_mm:.1f} mm: a straight path exists",
        guesses=guesses,
        columns=("pitch_mm", height_column, "bank_stagger", "bank_count", "bank_gaps_mm"),
        lack=OVERLAP_MIN.value - stack.overlap_mm,
    )


def sill_below_ceiling(row: FilledRow, refusals: Refusals, section: Section) -> None:
    """Refuse a sill that leaves less than a gap that water closes under the ceiling found.

    A ceiling lies up to a pitch lower than the room would let it, so that no slat ends in a sliver.
    """
    over = section.sill_top_mm - (section.ceiling_mm - GAP_MIN.value)
    if over <= 0.0:
        return
    guesses: list[Change] = [{"sill_height_mm": None}]
    if row.sill_height_mm is not None:
        low = on_step(COLUMNS["sill_height_mm"], row.sill_height_mm - over, upwards=False)
        guesses.insert(0, {"sill_height_mm": low})
    refusals.refuse(
        "cavity.sill.high",
        "sill_height_mm",
        "the sill closes the inner side of the cavity",
        guesses=guesses,
        columns=("sill_height_mm", "pitch_mm", "floor_slope_deg", "drain_height_mm"),
        lack=over,
    )


def sight(row: FilledRow, refusals: Refusals, section: Section) -> None:
    """Refuse a section through which a straight line passes, or nearly."""
    if section.closed:
        return
    margin = section.sight.margin_mm
    angle = section.sight.elevation_deg
    if abs(margin) < _TOUCH_MM:
        what = "a straight line only just touches the slats"
    elif margin < 0.0:
        what = f"a straight path {-margin:.2f} mm wide exists"
    else:
        what = f"a straight line misses by only {margin:.2f} mm"
    heights = ("overlap_mm",) if row.slat_height_mm is None else ("slat_height_mm",)
    blank = {name: None for name in ("slopes", "bank_gaps_mm") if row.given(name)}
    refusals.refuse(
        "water.sight.open",
        "pitch_mm",
        f"{what} at {angle:.0f} degrees elevation",
        allowed=f"{SIGHT_MARGIN_MIN.value:g} mm margin or more",
        guesses=[*({name: None} for name in blank), *([blank] if len(blank) > 1 else [])],
        columns=(*heights, "pitch_mm", "bank_gaps_mm", "bank_stagger", *_MORE_SIGHT),
        lack=SIGHT_MARGIN_MIN.value - margin,
    )
