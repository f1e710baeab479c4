"""Changes of a row against water that need no trough: less air, more banks, other slats."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.evidence.water.conditions import Conditions
from vent_family.spec.changes import Change, on_step
from vent_family.spec.families import filled_row
from vent_family.spec.forms import FORMS

LIP_LOW_MM: Final = 4.0
"""A lip as narrow as that still holds its mark and covers round corners of the opening."""
_VELOCITIES_M_S: Final = (2.0, 1.5, 1.0, 0.75, 0.5, 0.25)


def slower(conditions: Conditions) -> Iterator[Change]:
    """Yield lower face velocities, where no fan says what it is."""
    now = conditions.calm.face_velocity_m_s
    if conditions.calm.source == "fan" or conditions.drive is None:
        return
    lower = [v for v in _VELOCITIES_M_S if v < now]
    yield from ({"face_velocity_m_s": v} for v in lower[:: max(1, len(lower) // 2)])


def closer(row: CatalogRow) -> Iterator[Change]:
    """Yield a narrower lip, under which less water stands over the opening's edge, and a gasket."""
    if row.family not in COLUMNS["seal"].families or row.seal == "gasket":
        return
    if row.lip_width_mm is None or row.lip_width_mm > LIP_LOW_MM:
        yield {"lip_width_mm": LIP_LOW_MM}
    blank = ("lip_width_mm", "lip_thickness_mm", "fixing", "print_orientation")
    yield {"seal": "gasket"} | {n: None for n in blank if getattr(row, n) is not None}


def less_suction(conditions: Conditions) -> Iterator[Change]:
    """Yield less of what sucks besides the fan."""
    extra = conditions.calm.extra_pa
    if conditions.drive is not None and extra > 0.0:
        yield from ({"extra_depression_pa": float(math.floor(extra * s))} for s in (0.5, 0.0))


def drops(row: CatalogRow) -> Iterator[Change]:
    """Yield more banks, more overlap, and forms whose slopes are chosen bank by bank."""
    filled = filled_row(row)
    count = filled.bank_count
    for more in (1, 2):
        change: dict[str, Any] = {"bank_count": count + more}
        blank = [n for n in ("bank_gaps_mm", "slopes") if getattr(row, n) is not None]
        yield change | dict.fromkeys(blank)
    if row.slat_height_mm is None:
        higher = on_step(COLUMNS["overlap_mm"], 1.25 * filled.overlap_mm, upwards=True)
        yield {"overlap_mm": higher}
    if not FORMS[filled.slat_form].slopes_chosen:
        names = ("pitch_mm", "bank_gaps_mm", "bank_count", "slat_height_mm", "overlap_mm")
        blank = [n for n in names if getattr(row, n) is not None]
        for form in FORMS:
            if form.slopes_chosen:
                yield {"slat_form": form.name} | dict.fromkeys(blank)
