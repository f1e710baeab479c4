"""Which design was judged: that of the release in the library, or another one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.helpers.families import vent_of
from tests.release.releases import resized
from vent_family.evidence.context import PartContext
from vent_family.release.discipline import Before
from vent_family.release.earlier import fingerprints, is_released_design
from vent_family.release.entry import ReleaseEntry, entry_of

CELLS = {"size": "30x30", "slat_form": "folded"}


def context(**cells: object) -> PartContext:
    return PartContext(vent_of("rectangular", **CELLS | cells))


@pytest.fixture(scope="module")
def released() -> ReleaseEntry:
    """Return revision A of a part as the register has it."""
    made = context(revision="A")
    return replace(
        entry_of(made.spec, "a" * 16, "2026-03-04"), issue=1, geometry=fingerprints(made)
    )


@pytest.mark.parametrize(
    ("cells", "same"),
    [
        ({}, True),
        ({"exposure": "hose_down"}, True),
        # Its mark inside makes another solid of the same design.
        ({"revision": "B"}, True),
        ({"rib_thickness_mm": 1.8}, False),
        ({"panel_thickness_mm": 3.0}, False),
        ({"material": "PC"}, False),
    ],
)
def test_a_design_is_known_again(
    released: ReleaseEntry, cells: dict[str, object], same: bool
) -> None:
    now = context(**{"revision": "A"} | cells)
    before = Before((released,), "record", "A")
    assert is_released_design(now, before, "b" * 16) is same


def test_a_layout_that_other_code_reckons_is_told_by_its_solid(released: ReleaseEntry) -> None:
    words = dict(released.design.named)["slats"] + " as reckoned then"
    old = replace(released, design=resized(released.design, "slats", words))
    assert is_released_design(context(revision="A"), Before((old,), "record", "A"), "b" * 16)


def test_what_counts_is_the_release_in_the_library(released: ReleaseEntry) -> None:
    other = replace(released, revision="B", material="PC")
    now = context(revision="B")
    assert is_released_design(now, Before((released, other), "record", "A"), "b" * 16)
    assert not is_released_design(now, Before((released, other), "record", "B"), "b" * 16)
    for nothing in (Before(), Before((released,)), Before((released,), "record", "C")):
        assert not is_released_design(now, nothing, "b" * 16)
