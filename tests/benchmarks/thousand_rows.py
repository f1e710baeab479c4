"""Writes a catalogue of many different sizes, one row in ten refused; the same from the same seed.

    python tests/benchmarks/thousand_rows.py thousand.csv --rows 1000 --seed hatchery

Rows are drawn over all families and slat forms, with columns filled as in a real catalogue: few in
most rows. Nine of ten are drawn until the rules between columns accept them; of the tenths, one in
two has a cell that cannot be read, the other breaks a rule between columns; the faults take turns.
A row that a changed rule no longer accepts is drawn anew, so that a file is compared between two
states of the code by writing it once.
"""

from __future__ import annotations

import argparse
import csv
import io
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from vent_family.catalog.columns import COLUMNS  # noqa: E402
from vent_family.catalog.model import ROUND_THREADS, CatalogRow  # noqa: E402
from vent_family.catalog.reader import parse_catalog  # noqa: E402
from vent_family.spec.resolve import refusals_of  # noqa: E402

Cells = dict[str, str]
REFUSED = 10
"""One row in so many is refused."""
ROOMS = ("Nursery hall", "Raceway", "Egg room", "Pump hall", "Ozone room", "Drum filter", "Store")
DEVICES = ("feeder", "oxygen sensors", "blower", "recirculation pump", "lights", "alarm", "valves")
EXPOSURES = (
    *("dry", "rain", "rain/splashing", "splashing", "spraying", "driving_rain", "dripping"),
    *("hose_down", "heavy_rain/splashing"),
)


def good(random: Random, number: int) -> Cells:
    """Return the cells of one row as somebody would write it; its rules are not looked at."""
    family = random.choice(("rectangular", "rectangular", "flanged", "round"))
    form = random.choice(("", "inclined", "folded", "flat", "channel"))
    cells = {
        "part_number": f"TH-{number:04d}",
        "family": family,
        "status": random.choice(("draft", "released", "released", "released")),
        "revision": random.choice("ABCD"),
        "description": f"{random.choice(ROOMS)}, {random.choice(DEVICES)}",
        "material": random.choice(("", "ASA", "ASA", "PETG", "PC", "PA", "PP")),
        "colour": random.choice(("", "light_grey", "black", "white", "dark_grey")),
        "slat_form": form,
        "panel_thickness_mm": random.choice(("", "1.5", "2", "2.5", "3")),
        "exposure": random.choice(EXPOSURES),
    }
    if family == "round":
        cells["size"] = f"{random.choice(ROUND_THREADS)}x1.5"
        if random.random() < 0.6:
            least = 2 * int(cells["size"][1:3]) + 8
            cells["head_diameter_mm"] = str(random.randint(least, least + 60))
        cells["step_thread"] = random.choice(("", "plain"))
    else:
        cells["size"] = f"{random.randint(36, 320)}x{random.randint(36, 220)}"
        cells["screw"] = random.choice(("", "", "M4", "M5"))
    for name, share, draw in EXTRAS:
        if family in COLUMNS[name].families and random.random() < share:
            cells[name] = draw(random)
    if cells.get("banks_outside"):
        cells |= {"slat_form": "channel", "drain_height_mm": "8", "sill_height_mm": "26"}
    if cells.get("print_orientation") == "upright":
        cells["slat_thickness_mm"] = random.choice(("1.2", "1.5"))
    return cells


EXTRAS: tuple[tuple[str, float, Callable[[Random], str]], ...] = (
    ("pitch_mm", 0.25, lambda r: f"{r.uniform(6.2, 9.5):.1f}"),
    ("overlap_mm", 0.2, lambda r: f"{r.uniform(2.6, 4.5):.1f}"),
    ("slat_thickness_mm", 0.3, lambda r: r.choice(("1", "1.1", "1.2", "1.4", "1.5"))),
    ("bank_count", 0.2, lambda r: str(r.randint(2, 4))),
    ("bank_gaps_mm", 0.1, lambda r: f"{r.uniform(2.7, 5.0):.1f}"),
    ("rib_thickness_mm", 0.2, lambda r: r.choice(("1.2", "1.5", "2"))),
    ("wall_mm", 0.2, lambda r: r.choice(("1.5", "2", "2.5"))),
    ("drain_height_mm", 0.1, lambda r: r.choice(("4", "4.5", "5", "6"))),
    ("floor_slope_deg", 0.1, lambda r: r.choice(("4", "5", "6", "8"))),
    ("print_orientation", 0.1, lambda r: r.choice(("face_down", "upright"))),
    ("fixing", 0.1, lambda r: r.choice(("snap", "screw"))),
    ("locating_key", 0.2, lambda _: "notch"),
    ("seal", 0.1, lambda _: "gasket"),
    ("screen_mm", 0.1, lambda r: r.choice(("0.8", "1", "2"))),
    ("banks_outside", 0.05, lambda _: "1"),
    ("fan", 0.08, lambda r: r.choice(("tank-hall-92", "pump-hall-120"))),
    ("face_velocity_m_s", 0.08, lambda r: f"{r.uniform(0.2, 1.5):.1f}"),
)
"""Columns that some rows fill: name, share of the rows, and what is written."""

UNREADABLE: tuple[tuple[str, str], ...] = (
    ("pitch_mm", "7.5 mm wide"),
    ("slat_form", "foldet"),
    ("status", "ready"),
    ("material", "ABSX"),
    ("size", "80by60"),
    ("exposure", "rain/splashin"),
    ("rib_count", "2.5"),
    ("slopes", "out in out"),
    ("panel_thickness_mm", "900"),
    ("bank_count", "TRUE"),
    ("pitch_mm", "=B2*2"),
    ("revision", "b"),
    ("family", ""),
    ("part_number", "TH 17/4"),
    ("overlap_mm", "3-Feb"),
    ("description", "x" * 121),
    ("opposite_vent", "TH-NONE"),
    ("fan", "no-such-fan"),
)
"""Cells that cannot be read, by column."""
BROKEN: tuple[Mapping[str, str], ...] = (
    {"pitch_mm": "9.2", "slat_form": "flat", "overlap_mm": "", "slat_height_mm": "4.2"},
    {"rib_count": "40"},
    {"slat_thickness_mm": "0.5", "slat_form": "inclined"},
    {"pitch_mm": "5", "slat_thickness_mm": "2.4", "slat_form": "inclined"},
    {"bank_gaps_mm": "4/4/4/4", "bank_count": "3"},
    {"slopes": "out-in", "bank_count": "2", "slat_form": "inclined"},
    {"rib_count": "0", "material": "PP"},
    {"slat_height_mm": "6", "overlap_mm": "3"},
    {"slat_foot_mm": "0.9", "slat_form": "flat"},
    {"sill_height_mm": "3", "drain_height_mm": "9"},
    {"bank_stagger": "0", "bank_count": "3", "slat_form": "flat"},
    {"fan_position": "intake", "air_direction": "out", "fan": "tank-hall-92"},
    {"lip_width_mm": "4", "screw": "M6", "fixing": "screw"},
    {"flange_width_mm": "10", "screw": "M6"},
    {"head_diameter_mm": "42", "size": "M63x1.5"},
    {"print_orientation": "upright", "fixing": "screw", "slat_thickness_mm": "0.8"},
    {"fan_mount": "120", "size": "60x60"},
    {"bank_gaps_mm": "4", "slat_form": "flat", "bank_count": "4", "pitch_mm": "12"},
)
"""Cells that together break a rule; those of another family's columns are left out."""


def catalogue(rows: int, seed: str) -> str:
    """Return the text of a catalogue of so many rows."""
    names = ["part_number", "family", "size", "status"]
    lines: list[Cells] = []
    met: set[tuple[str, str]] = set()
    for i in range(rows):
        random = Random(f"{seed}-{i}")
        turn = i // REFUSED
        while True:
            cells = good(random, i + 1)
            kind = (cells["family"], cells["size"] + cells.get("head_diameter_mm", ""))
            if kind in met and cells["family"] != "round":
                continue
            if i % REFUSED == REFUSED // 2:
                if turn % 2:
                    cells |= dict([UNREADABLE[turn // 2 % len(UNREADABLE)]])
                else:
                    cells |= BROKEN[turn // 2 % len(BROKEN)]
                wanted = False
            else:
                wanted = True
            if accepted(cells) is wanted:
                break
        met.add(kind)
        lines.append(cells)
    names += [n for n in COLUMNS if n not in names and any(cells.get(n) for cells in lines)]
    out = io.StringIO()
    writer = csv.DictWriter(out, names, restval="", extrasaction="raise", lineterminator="\n")
    writer.writeheader()
    writer.writerows(lines)
    return out.getvalue()


def accepted(cells: Cells) -> bool:
    """Return whether a row's cells can be read and break no rule."""
    names = [n for n in cells if n]
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([names, [cells[n] for n in names]])
    file = parse_catalog(out.getvalue(), folder=ROOT)
    rows: tuple[CatalogRow, ...] = tuple(s.row for s in file.rows)
    return not file.problems and bool(rows) and not any(refusals_of(row) for row in rows)


def main() -> None:
    """Write the catalogue that the arguments name."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("file", type=Path, help="CSV file to write")
    parser.add_argument("--rows", type=int, default=1000)
    parser.add_argument("--seed", default="hatchery", help="text that the rows are drawn from")
    options = parser.parse_args()
    options.file.write_text(catalogue(options.rows, options.seed), encoding="utf-8")


if __name__ == "__main__":
    main()
