"""Rows as a search for a vent draws them: every column that it may turn, in ranges worth a look."""

from __future__ import annotations

from random import Random
from typing import Any

from vent_family.catalog.model import ROUND_THREADS
from vent_family.spec.forms import FORMS

OPENINGS = ("60x50", "80x60", "92x92", "120x92", "160x120", "220x160", "320x200")


def candidate_cells(random: Random, family: str, size: str | None = None) -> dict[str, Any]:
    """Return the cells of one candidate of a family, of an opening or thread where that is given.

    Rows are dense where vents are made, and now and then have what few have: a fan's mount, a
    screen, banks outside, a gasket, snap arms, a key, slopes and feet of their own.
    """
    form = random.choice([member.name for member in FORMS])
    cells: dict[str, Any] = {
        "part_number": "C-1",
        "family": family,
        "status": "draft",
        "slat_form": form,
        "exposure": random.choice(("dry", "rain", "rain/splashing", "hose_down")),
        "panel_thickness_mm": random.choice((1.0, 1.5, 2.0, 3.0)),
        "material": random.choice(("ASA", "ASA", "PETG", "PC", "PA", "PP")),
    }

    def draw(name: str, share: float, least: float, most: float, digits: int = 1) -> None:
        if random.random() < share:
            cells[name] = round(random.uniform(least, most), digits)

    def choose(name: str, share: float, *choices: object) -> None:
        if random.random() < share:
            cells[name] = random.choice(choices)

    draw("pitch_mm", 0.85, 5.0, 14.0)
    if random.random() < 0.2:
        draw("slat_height_mm", 1.0, 3.0, 12.0)
    else:
        draw("overlap_mm", 0.7, 0.4, 5.0)
    draw("slat_thickness_mm", 0.8, 0.6, 2.2)
    choose("bank_count", 0.8, 1, 2, 2, 3, 3, 4, 5)
    banks = cells.get("bank_count", 2)
    if random.random() < 0.6:
        count = max(banks - 1, 1) if random.random() < 0.3 else 1
        cells["bank_gaps_mm"] = "/".join(f"{random.uniform(2.5, 9.0):.1f}" for _ in range(count))
    choose("bank_stagger", 0.15, 0.0, 0.25, 0.33, 0.4, 0.67)
    draw("slat_foot_mm", 0.15, 0.0, 1.2)
    if FORMS[form].slopes_chosen and random.random() < 0.15:
        cells["slopes"] = "-".join(random.choice(("out", "in")) for _ in range(banks))
    draw("rib_thickness_mm", 0.3, 1.2, 2.4)
    choose("rib_count", 0.15, 0, 1, 2, 3, 4, 6)
    draw("wall_mm", 0.5, 1.2, 3.0)
    draw("plate_mm", 0.4, 1.2, 3.0)
    draw("drain_height_mm", 0.4, 2.7, 9.0)
    draw("sill_height_mm", 0.25, 5.0, 30.0)
    draw("floor_slope_deg", 0.3, 3.0, 10.0)
    choose("banks_outside", 0.12, 1, 1, 2)
    choose("screen_mm", 0.12, 0.8, 1.0, 2.0)
    choose("locating_key", 0.1, "notch")
    if family == "round":
        cells["size"] = size or f"{random.choice(ROUND_THREADS)}x1.5"
        nominal = float(cells["size"][1:3])
        if random.random() < 0.7:
            cells["head_diameter_mm"] = float(round(random.uniform(1.3, 2.6) * nominal + 8.0))
        draw("back_plate_mm", 0.15, 1.6, 3.0)
        draw("neck_length_mm", 0.1, 8.0, 20.0)
        return cells
    cells["size"] = size or random.choice(OPENINGS)
    choose("print_orientation", 0.25, "upright")
    choose("fan_mount", 0.12, "40", "60", "80", "92", "120")
    choose("screw", 0.2, "M3", "M4", "M5", "M6")
    if family == "flanged":
        draw("flange_thickness_mm", 0.3, 3.0, 6.0)
    else:
        draw("lip_thickness_mm", 0.4, 1.6, 4.0)
        draw("lip_width_mm", 0.3, 4.0, 14.0)
        choose("fixing", 0.1, "snap")
        choose("seal", 0.1, "gasket")
    return cells
