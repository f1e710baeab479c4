"""The standing list: by its rules, and not stale."""

from __future__ import annotations

import ast
from collections import Counter

import pytest

from tests.faults.fault import Fault
from tests.faults.listed import FAULTS

AREAS = ("spec", "geometry", "water", "air", "printing", "strength", "cost", "records")


def test_ten_faults_or_more_in_every_area_count() -> None:
    counted = [f for f in FAULTS if not f.equivalent]
    assert len(counted) >= 80
    per_area = Counter(f.area for f in counted)
    assert all(per_area[area] >= 10 for area in AREAS)
    assert per_area["named"] == 12
    assert len({f.id for f in FAULTS}) == len(FAULTS)
    assert {f.rule for f in FAULTS} == {
        "factor", "sign", "dropped", "min max", "unit", "column", "off by one",
    }  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS, ids=[f.id for f in FAULTS])
def test_the_old_text_stands_once_and_the_new_one_is_code(fault: Fault) -> None:
    text = fault.path().read_text(encoding="utf-8")
    planted = fault.planted(text)
    assert ast.dump(ast.parse(planted)) != ast.dump(ast.parse(text))
    assert fault.breaks


def test_equivalent_faults_are_argued() -> None:
    argued = [f for f in FAULTS if f.equivalent]
    assert argued
    assert all(len(f.equivalent) > 60 for f in argued)
    assert len({f.equivalent for f in argued}) == len(argued)
