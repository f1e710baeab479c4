"""Choosing slopes and gaps: how many stacks are offered to the section, and how good they are."""

from __future__ import annotations

import itertools

import pytest

from tests.helpers.rows import spec
from vent_family.spec.choice import StackChoice, closing_stacks, endless_margin


@pytest.mark.parametrize("size", ["60x60", "150x120"])
def test_four_different_closed_stacks_are_offered(size: str) -> None:
    """The section tries one after the other where floor or ceiling spoil the first."""
    stack = spec("rectangular", size=size, slat_form="inclined").section.stack
    offered = list(closing_stacks(StackChoice(stack, free_slopes=True, free_gaps=True)))
    assert len(offered) == 4
    for one, other in itertools.combinations(offered, 2):
        assert one != other
    # Half a millimetre is the margin at which the search is content.
    assert all(endless_margin(s).margin_mm >= 0.5 for s in offered)


def test_longest_bridge_is_the_widest_bay() -> None:
    """75.4 mm between the side walls of an 80 mm opening, two ribs of 1.6 mm: (75.4 - 3.2) / 3."""
    part = spec("rectangular", size="80x60", rib_count=2)
    assert part.longest_bridge_mm == pytest.approx((75.4 - 3.2) / 3.0)
