"""A requirement is read whole, or refused with one clear sentence for each fault."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from vent_family.base.problems import InputError
from vent_family.proposing.requirement import read_requirement, requirement_of
from vent_family.proposing.sizes import sides_mm, up_to

WHOLE = """
name = "Feed hall drive cabinet"
[opening]
size = "160x120"
in_front_most_mm = 40
[cabinet]
heat_w = 240
ambient_c = 35
limit_c = 50
sunlit_m2 = 0.6
[air]
fan = ["pump-hall-120", "tank-hall-92"]
fan_position = "outlet"
[water]
exposure = "rain/hose_down"
at_least = "marginal"
[order]
quantity = 2000
material = "PETG"
[cells]
screw = "M5"
"""


def said(text: str) -> list[str]:
    """Return the sentences with which a text is refused."""
    with pytest.raises(InputError) as refused:
        requirement_of(tomllib.loads(text), "hall.toml")
    return [p.sentence() for p in refused.value.problems]


def test_every_entry_reaches_the_row(tmp_path: Path) -> None:
    path = tmp_path / "hall.toml"
    path.write_text(WHOLE, encoding="utf-8")
    asked = read_requirement(path)
    cells = asked.row_cells("flanged", "160x120", "PETG", "tank-hall-92")
    assert cells == {
        "family": "flanged",
        "size": "160x120",
        "status": "draft",
        "material": "PETG",
        "panel_thickness_mm": 2.0,
        "exposure": "rain/hose_down",
        "fan": "tank-hall-92",
        "fan_position": "outlet",
        "screw": "M5",
    }
    assert asked.cabinet is not None
    assert asked.cabinet.cabinet().allowed_rise_k == 15.0
    assert asked.cabinet.cabinet().sun_w > 0.0


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("heat_w = 240", "heat_kw = 0.24", "cabinet.heat_kw: there is no entry of this name"),
        ("heat_w = 240", 'heat_w = "240 W"', "cabinet.heat_w: an entry is not usable"),
        ("limit_c = 50", "limit_c = 323", "cabinet.limit_c: the temperature limit is out of range"),
        ("limit_c = 50", "limit_c = 30", "outside air cannot cool below itself"),
        ('"160x120"', '"160 x 120 mm"', "width x height as 80x60"),
        ('"160x120"', '"M50"', "as M32x1.5"),
        ("in_front_most_mm = 40", 'at_most = "200x150"', "either size (one or several"),
        ("in_front_most_mm = 40", 'families = ["round"]', "families that take 160x120"),
        ("in_front_most_mm = 40", "in_front_most_in = 2", "Did you mean in_front_most_mm?"),
        ('"rain/hose_down"', '"rain/hoses"', "water.exposure: the catalogue does not take this"),
        ('"rain/hose_down"', '"dry"', "cannot be asked to hold any"),
        ('"marginal"', '"good"', "water.at_least"),
        ("quantity = 2000", "quantity = 0", "order.quantity"),
        ('"PETG"', '"WOOD"', "material from ASA"),
        ('screw = "M5"', 'screw = "M9"', "cells.screw: the catalogue does not take this value"),
        ('screw = "M5"', 'skrew = "M5"', "Did you mean screw?"),
        ('screw = "M5"', "head_diameter_mm = 70", "has this column"),
        ('screw = "M5"', 'fan = "pump-hall-120"', "decided by another entry"),
        ('fan_position = "outlet"', "draught_height_m = 1.0", "either a fan or draught_height_m"),
        ("[order]", "[orders]", "Did you mean order?"),
    ],
)
def test_a_fault_is_told_with_what_to_do(old: str, new: str, told: str) -> None:
    assert old in WHOLE
    sentences = said(WHOLE.replace(old, new, 1))
    assert any(told in s for s in sentences), sentences
    assert all(s.startswith("hall.toml, ") for s in sentences)


def test_nothing_that_carries_the_heat_is_a_contradiction() -> None:
    text = WHOLE.replace('fan = ["pump-hall-120", "tank-hall-92"]\nfan_position = "outlet"', "")
    assert any("nothing carries the heat away" in s for s in said(text))
    requirement_of(tomllib.loads(text.replace("limit_c = 50", "limit_c = 50\nwall_w_k = 4.0")))


def test_a_missing_section_and_a_broken_file_are_told(tmp_path: Path) -> None:
    assert "section opening: a section is missing" in said("name = 'x'")[0]
    path = tmp_path / "hall.toml"
    path.write_text("[opening\n", encoding="utf-8")
    with pytest.raises(InputError, match="is not valid TOML"):
        read_requirement(path)
    with pytest.raises(InputError, match="cannot be read"):
        read_requirement(tmp_path / "none.toml")


def test_all_faults_are_told_at_once() -> None:
    text = WHOLE.replace("heat_w = 240", "heat_kw = 1").replace("quantity = 2000", "quantity = -1")
    assert len(said(text)) == 3


def test_smaller_openings_are_the_rounded_ones_below() -> None:
    sizes = up_to("92x60")
    assert sizes[0] == "92x60"
    assert {s.split("x")[1] for s in sizes} == {"60", "55", "50", "45", "40", "35", "30", "25"}
    assert "90x60" in sizes
    assert "95x60" not in sizes
    assert all(w <= 92 and h <= 60 for w, h in map(sides_mm, sizes))
    assert len(set(sizes)) == len(sizes)


def test_vents_of_a_draught_share_no_fan_in_their_rows() -> None:
    # The column says so many vents share a fan: without one a row with it is refused.
    asked = requirement_of(tomllib.loads('[opening]\nsize = "80x60"\n[air]\nvents = 2\n'))
    assert "vents_in_parallel" not in asked.row_cells("flanged", "80x60", "ASA", None)
    assert asked.row_cells("flanged", "80x60", "ASA", "x")["vents_in_parallel"] == 2
