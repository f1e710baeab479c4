"""A library of invented parts for the tests of the site."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from vent_family.release.site.library import SiteFile, SiteLibrary, SitePart, SiteRelease

RECORD: dict[str, Any] = {
    "schema_version": "1.0",
    "caution": "Predicted values, not a certified IP rating.",
    "identity": {"description": "Feeder box", "colour": "light_grey", "family": "rectangular"},
    "catalogue": {"slat_form": "folded"},
    "material": {"name": "ASA", "description": "acrylonitrile styrene acrylate"},
    "print_orientation": "face_down",
    "opening": {
        "kind": "rectangle",
        "width_mm": 80.0,
        "height_mm": 60.0,
        "holes_mm": [[-45.5, 0.0, 4.5]],
        "corner_radius_max_mm": 2.2,
        "panel_thickness_mm": 2.0,
        "text": "rectangle 80 x 60 mm",
    },
    "geometry": {
        "box_min_mm": [-51.0, -36.0, -23.408],
        "box_max_mm": [51.0, 36.0, 2.0],
        "marked_outside": "arrow and TOP",
        "sill_height_mm": 8.0,
    },
    "air": {
        "k_in": 42.79,
        "basis": "predicted; not measured",
        "flows": [
            {
                "pressure_pa": 25.0,
                "flow_in_m3_h": 17.04,
                "flow_in_low_m3_h": 15.98,
                "flow_in_high_m3_h": 18.151,
                "flow_in_half_clogged_m3_h": 8.77,
                "flow_out_m3_h": 17.11,
                "flow_out_low_m3_h": 16.03,
                "flow_out_high_m3_h": 18.25,
            }
        ],
    },
    "louvre": {"free_area_mm2": 2093.82, "free_area_percent": 52.826, "classes_predicted": "C4"},
    "printing": {
        "printed_mass_g": 34.759,
        "time_s": 6566.0,
        "cost": {
            "currency": "USD",
            "orders": [
                {"parts": 1, "price": 17.508, "days": 0.076},
                {"parts": 100, "price": 2.684, "days": 1.02},
            ],
        },
    },
    "water": {
        "caution": "Predicted from geometry.",
        "upside_down": {"unsafe": True, "reason": "upside down it floods; never mount it so"},
        "exposures": [
            {
                "name": "driving_rain",
                "verdict": {
                    "outcome": "marginal",
                    "mechanism": "splash",
                    "reason": "0.10 to 1.1 mL pass; air 16.4 m3/h",
                    "change": "",
                    "deciding_test": "rain test to EN 13030",
                },
            }
        ],
    },
}
"""A record with what its page needs most, and nothing else."""


def altered(record: Mapping[str, Any], **places: Any) -> dict[str, Any]:
    """Return a copy of a record with other values at some places, ``_`` twice for a step down."""
    made = copy.deepcopy(dict(record))
    for place, value in places.items():
        *way, last = place.split("__")
        at = made
        for step in way:
            at = at[step]
        at[last] = value
    return made


def exposure(name: str, outcome: str, record: Mapping[str, Any] = RECORD) -> dict[str, Any]:
    """Return what a record says of one exposure."""
    first = copy.deepcopy(record["water"]["exposures"][0])
    first["name"], first["verdict"]["outcome"] = name, outcome
    return dict(first)


def part(
    number: str = "V-1",
    record: Mapping[str, Any] = RECORD,
    names: tuple[str, ...] = (),
    **given: Any,
) -> SitePart:
    """Return a part in force whose files, without any bytes, are named."""
    plain = SitePart(
        part_number=number,
        revision="B",
        issue=2,
        family="rectangular",
        status="current",
        standing="current",
        href=f"../../../parts/{number}/B.2-0123456789ab/",
        record=record,
        files=tuple(SiteFile(f"{number}{n}", 1234, "0" * 64) for n in names),
        history=(
            SiteRelease("B", 2, "2026-03-02", "evidence", ("price each: 2.68, was 2.50 USD",)),
            SiteRelease("A", 1, "2026-01-05", "first release"),
        ),
    )
    return replace(plain, **given)


def library(*parts: SitePart, archive: tuple[SitePart, ...] = ()) -> SiteLibrary:
    """Return a generation of some parts."""
    return SiteLibrary("g-0001", "2026-03-02 04:05 UTC", "Vents of the hatchery", parts, archive)


def published(
    out: Path,
    number: str,
    built: Path,
    record: Mapping[str, Any],
    left_out: tuple[str, ...] = (),
) -> SitePart:
    """Put a built part, but files with some endings, into a library under another number."""
    folder = out / "parts" / number / "B.2-0123456789ab"
    folder.mkdir(parents=True)
    files = []
    for path in sorted(built.iterdir()):
        if path.name.endswith(left_out or ("/",)):
            continue
        data = path.read_bytes()
        name = path.name.replace(built.name, number)
        (folder / name).write_bytes(data)
        files.append(SiteFile(name, len(data), sha256(data).hexdigest()))
    return part(number, record, files=tuple(files))
