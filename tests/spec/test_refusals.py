"""What a refusal tells besides its sentence: the range allowed, and where a line passes."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.helpers.rows import row
from vent_family.base.problems import InputError, Problem
from vent_family.spec.resolve import resolve


def refused(column: str, family: str = "rectangular", **cells: Any) -> Problem:
    with pytest.raises(InputError) as caught:
        resolve(row(family, **cells))
    return next(p for p in caught.value.problems if p.column == column)


@pytest.mark.parametrize(
    ("cells", "column", "allowed"),
    [
        # Bridges to 50 mm, bays of 6 mm or more, 0.2 mm by which a line must miss: house rules.
        ({"size": "120x60", "rib_count": 1}, "rib_count", "bridges up to 50 mm in"),
        ({"rib_count": 12}, "rib_count", "bays of 6 mm or more"),
        ({"slopes": "out-out-out"}, "pitch_mm", "0.2 mm margin or more"),
    ],
)
def test_the_range_allowed_is_told_apart_from_the_mend(
    cells: dict[str, Any], column: str, allowed: str
) -> None:
    problem = refused(column, **cells)
    assert problem.allowed.startswith(allowed)
    assert problem.suggestion
    assert problem.suggestion != problem.allowed
    assert problem.value == ("" if column not in cells else f"{cells[column]:g}")


def test_the_elevation_of_a_straight_path_is_in_degrees() -> None:
    """Slats that all slope the same way at 45 degrees leave a path that runs along them.

    It climbs half a pitch more or less over a whole stack, so it lies between 25 and 65 degrees.
    """
    problem = refused("pitch_mm", slopes="out-out-out")
    told = re.search(r"straight path ([\d.]+) mm wide exists at (-?\d+) degrees", problem.message)
    assert told
    assert float(told.group(1)) > 0.1
    assert 25 <= abs(int(told.group(2))) <= 65
