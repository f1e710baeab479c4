"""A row resolved for the other orientation: refused in the rules' words, or changed and told."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.rows import row
from vent_family.base.problems import InputError
from vent_family.catalog.reader import read_catalog
from vent_family.spec.other_way import other_way
from vent_family.spec.resolve import resolve

ROWS = {s.row.part_number: s for s in read_catalog(Path(__file__).parents[2] / "catalog.csv").rows}


def refusal(**cells: object) -> str:
    with pytest.raises(InputError) as caught:
        resolve(row(**cells), advise=False)  # type: ignore[arg-type]
    return caught.value.problems[0].message


@pytest.mark.parametrize("stated", ["face_down", "upright"])
def test_both_ways_are_designs_of_their_own(stated: str) -> None:
    """Upright, the lip ends in a short leg below; face down it reaches round all four sides."""
    found = other_way(resolve(row(print_orientation=stated)))
    assert found.spec is not None
    assert (found.refused, found.change) == ((), "")
    assert {stated, found.spec.print_orientation} == {"face_down", "upright"}
    below = found.spec.body.cover.reach_mm[2]
    assert below == pytest.approx(60.0 / 2 + 6.0 if stated == "upright" else 60.0 / 2 + 1.5)
    assert found.spec == resolve(row(print_orientation=found.print_orientation))


@pytest.mark.parametrize("family", ["round", "flanged"])
def test_a_family_that_prints_one_way_says_why(family: str) -> None:
    found = other_way(resolve(row(family)))
    assert found.spec is None
    assert found.refused == (refusal(family=family, size=row(family).size, **UPRIGHT),)


UPRIGHT = {"print_orientation": "upright"}


@pytest.mark.parametrize(
    ("cells", "change"),
    [
        ({"locating_key": "notch"}, {"locating_key": "none"}),
        ({"fixing": "snap"}, {"fixing": "screw"}),
        ({"slat_form": "flat", "slat_thickness_mm": 0.8}, {"slat_thickness_mm": 1.2}),
        # Two rules, refused one after the other.
        (
            {"slat_form": "flat", "slat_thickness_mm": 0.8, "locating_key": "notch"},
            {"locating_key": "none", "slat_thickness_mm": 1.2},
        ),
    ],
)
def test_what_stands_in_the_way_is_told_with_a_change_that_was_tried(
    cells: dict[str, object], change: dict[str, object]
) -> None:
    own = resolve(row(**cells))
    found = other_way(own)
    assert found.spec is not None
    assert found.refused[0] == refusal(**cells, print_orientation=found.print_orientation)
    turned = {**cells, **change, "print_orientation": found.print_orientation}
    assert found.spec.row == row(**turned)
    for column, value in change.items():
        assert f"{column} to {value}" in found.change


def test_every_row_of_the_demo_has_an_answer() -> None:
    for source in ROWS.values():
        vent = resolve(source.row, source.attached)
        found = other_way(vent)
        assert found.print_orientation != vent.print_orientation
        assert bool(found.refused) or found.spec is not None
        assert bool(found.change) == bool(found.refused and found.spec)
