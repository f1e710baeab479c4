"""What a fan behind the vent is refused for: true of the row, and its advice helps."""

from __future__ import annotations

from typing import Any

import pytest

from tests.helpers.following import advised_cells, problems_of, read_row
from tests.helpers.rows import row
from tests.spec.test_fan_mount import SPACINGS
from vent_family.spec.fan_mount import FRAMES
from vent_family.spec.resolve import resolve

REFUSED: list[tuple[str, str, dict[str, Any], str, str]] = [
    ("pattern", "flanged", {"size": "92x92", "fan_mount": "120"}, "fan_mount", "115.6 mm"),
    ("bore", "flanged", {"size": "115x140", "fan_mount": "120"}, "fan_mount", "115.6 mm"),
    ("small fan", "flanged", {"size": "150x150", "fan_mount": "60"}, "fan_mount", "40 mm or less"),
    ("sill", "rectangular", {"size": "60x39", "fan_mount": "40", "sill_height_mm": 14.0},
     "fan_mount", "50 % or more"),
    ("snap", "rectangular", {"size": "60x60", "fan_mount": "60", "fixing": "snap"}, "fixing",
     "snap arms work loose"),
    ("upright", "rectangular", {"size": "60x60", "fan_mount": "60", "print_orientation": "upright"},
     "print_orientation", "face_down"),
    ("outlet", "flanged", {"fan_mount": "92", "fan": "tank-hall-92", "air_direction": "out"},
     "fan_position", "outlet"),
    ("shared", "flanged", {"fan_mount": "92", "fan": "tank-hall-92", "vents_in_parallel": 2},
     "vents_in_parallel", "cannot share"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("family", "cells", "column", "words"),
    [case[1:] for case in REFUSED],
    ids=[c[0] for c in REFUSED],
)
def test_refused_with_advice_that_helps(
    family: str, cells: dict[str, Any], column: str, words: str
) -> None:
    tried = row(family, **cells)
    (problem,) = (p for p in problems_of(tried, advise=True) if p.column == column)
    assert words in problem.sentence()
    advised = advised_cells(problem.suggestion)
    assert advised
    kept = tried.model_dump(exclude_none=True) | advised
    mended = read_row(kept)
    assert not problems_of(mended)
    # Every one of these can keep a fan.
    assert mended.fan_mount is not None


def test_smallest_openings_that_fit() -> None:
    """The size told is the one at which it fits: a tenth less does not."""
    for name, frame in FRAMES.items():
        bore = frame.bore_mm / 2.0
        screws = SPACINGS[name] / 2.0 + 0.4 * frame.screw_mm + 1.2
        least = 2.0 * (max(bore, screws) + 0.3)
        for more, fits in ((0.01, True), (-0.1, False)):
            side = f"{least + more:.2f}"
            found = problems_of(row("flanged", size=f"{side}x150", fan_mount=name))
            assert any("pass the opening" in p.message for p in found) != fits


def test_out_with_the_fan_at_the_outlet() -> None:
    vent = resolve(
        row(
            "flanged",
            fan_mount="92",
            fan="tank-hall-92",
            air_direction="out",
            fan_position="outlet",
        )
    )
    assert vent.fan_duct is not None
