"""Compiled functions work where machine code cannot be kept."""

from __future__ import annotations

import pytest
from numba.core import caching

from vent_family.base.compiled import compiled


def third(value: float) -> float:
    return value / 3.0


def test_without_a_place_to_keep_machine_code_functions_are_compiled_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(caching.CacheImpl, "_locator_classes", [])
    anew = compiled(error_model="numpy")(third)
    assert anew(1.0) == 1.0 / 3.0
    # It really is machine code, by the options asked for.
    assert anew.made().signatures
    assert compiled(error_model="numpy")(lambda x: 1.0 / x)(0.0) == float("inf")
