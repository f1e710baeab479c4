"""Any row a spreadsheet can hold is refused with a reason, or built and passes a release's checks.

Rows are drawn from the whole range of every column. ``tests/benchmarks/bench_any_row.py`` builds
a thousand of them.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from functools import cache
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.helpers.any_row import any_cells
from tests.helpers.rows import spec
from vent_family.base.limits import SIGHT_MARGIN_MIN
from vent_family.base.problems import InputError
from vent_family.catalog.columns import COLUMNS
from vent_family.catalog.model import CatalogRow
from vent_family.release.examine import CheckFailedError, check_part
from vent_family.spec.forms import DEFAULT_FORM
from vent_family.spec.resolve import resolve
from vent_family.spec.vent import VentSpec

BUILT = 24
KEPT = 2
LARGEST_MM = 150.0


def resolved_or_refused(cells: dict[str, Any]) -> VentSpec | None:
    """Return the spec, or ``None`` if the row is refused in the proper way."""
    try:
        found = resolve(CatalogRow(**cells), advise=False)
    except InputError as refusal:
        problems = refusal.problems
        assert problems
        for problem in problems:
            assert problem.column in COLUMNS, problem
            assert problem.message
        return None
    assert found.section.sight.margin_mm >= SIGHT_MARGIN_MIN.value - 1e-9
    return found


def test_rows_resolve_or_are_refused_with_reasons() -> None:
    seen: Counter[str] = Counter()

    @settings(max_examples=250, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(0, 10**9))
    def every_row(number: int) -> None:
        cells = any_cells(Random(number), LARGEST_MM)
        seen["refused" if resolved_or_refused(cells) is None else cells["family"]] += 1

    every_row()
    assert seen["refused"] > 25
    assert min(seen[family] for family in COLUMNS["family"].choices) > 5


def accepted() -> Iterator[dict[str, Any]]:
    for number in itertools.count():
        cells = any_cells(Random(f"any row {number}"), LARGEST_MM)
        if resolved_or_refused(cells) is not None:
            yield cells


@cache
def accepted_rows() -> list[dict[str, Any]]:
    """Return accepted rows as they come; the last places are kept for forms not met by then."""
    rows: list[dict[str, Any]] = []
    for cells in accepted():
        met = Counter(r.get("slat_form", DEFAULT_FORM) for r in rows)
        rare = [form for form in COLUMNS["slat_form"].choices if met[form] < KEPT]
        kept = len(rows) < BUILT - KEPT or not rare
        if kept or cells.get("slat_form", DEFAULT_FORM) in rare:
            rows.append(cells)
        if len(rows) == BUILT:
            break
    return rows


@pytest.mark.parametrize("place", range(BUILT))
def test_accepted_rows_pass_every_check_of_a_release(place: int) -> None:
    cells = accepted_rows()[place]
    try:
        checks = check_part(resolve(CatalogRow(**cells)))
    except CheckFailedError as error:
        pytest.fail(f"{cells}: {error}")
    assert {c.name for c in checks} >= {"valid solid", "print: no supports", "print: thinnest wall"}


def test_accepted_rows_cover_families_and_forms() -> None:
    for column in ("family", "slat_form"):
        found = {c.get(column, DEFAULT_FORM) for c in accepted_rows()}
        assert found == set(COLUMNS[column].choices), column


def test_a_thread_over_flat_slats_is_sliced_whole() -> None:
    """Its cone ends where a layer is cut: outlines that a hair of the cone bounds are kept."""
    check_part(spec("round", size="M25x1.5", slat_form="flat"))
