"""What is said of a straight line that gets through, touches or nearly does."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests.helpers.rows import row
from vent_family.spec.families import filled_row
from vent_family.spec.stack_rules import sight


@pytest.mark.parametrize(
    ("margin", "words"),
    [
        (-0.31, "a straight path 0.31 mm wide exists"),
        (-0.004, "only just touches"),
        (-0.0, "only just touches"),
        (0.004, "only just touches"),
        (0.006, "misses by only 0.01 mm"),
        (0.1, "misses by only 0.10 mm"),
    ],
)
def test_a_margin_is_never_told_as_nothing(margin: float, words: str) -> None:
    seen = SimpleNamespace(margin_mm=margin, elevation_deg=30.0)
    near = cast(Any, SimpleNamespace(closed=False, sight=seen))
    said: list[str] = []

    class Told:
        def refuse(self, rule: str, column: str, message: str, **_: object) -> None:
            said.append(message)

    sight(filled_row(row(size="80x60")), cast(Any, Told()), near)
    assert words in said[0]
    assert "0.00" not in said[0]
